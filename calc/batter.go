package calc

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strings"
	"sync"
)

// naohDensityCSV is the density of sodium hydroxide solution at 20 C by mass
// percent. Up to 40 % it holds published points; above, points from memory.
//
//go:embed naoh_density.csv
var naohDensityCSV string

type densityPoint struct {
	share   PPM
	density Density
}

var naohDensity = sync.OnceValue(func() []densityPoint {
	rows, err := csv.NewReader(strings.NewReader(naohDensityCSV)).ReadAll()
	if err != nil {
		panic("calc: the embedded density table is broken: " + err.Error())
	}
	points := make([]densityPoint, 0, len(rows))
	for _, row := range rows[1:] {
		points = append(points, densityPoint{
			share:   PPM(tableNumber(row[0], int64(Percent))),
			density: Density(tableNumber(row[1], int64(GramPerML))),
		})
	}
	return points
})

// LyeDensity is the density at 20 C of a solution holding c of NaOH by mass,
// on the straight line between the two nearest points of the embedded table. It gives
// FieldErrors at concentration outside 0 to 50 %.
func LyeDensity(c PPM) (Density, error) {
	points := naohDensity()
	for i := 1; i < len(points); i++ {
		from, to := points[i-1], points[i]
		if c >= from.share && c <= to.share {
			rise := mulDiv(int64(to.density-from.density), int64(c-from.share), int64(to.share-from.share))
			return from.density + Density(rise), nil
		}
	}
	return 0, fieldErr("concentration", "must lie between 0 and %s", maxConcentration)
}

// OilDensity estimates a liquid fat's density from its saponification value
// and its iodine value (in hundredths, so that 82 is 8200) at temperature t:
// specific gravity at 15 C of 0.8475 + 0.00030 SV + 0.00014 IV, against water
// of 0.9991 g/mL, falling by 0.00064 g/mL per degree (JAOCS 76, 1415, 1999;
// second-hand). It gives FieldErrors at sv, iodine_value and temperature.
func OilDensity(sv SV, iodineHundredths int64, t Temperature) (Density, error) {
	var errs FieldErrors
	SVRange{Used: sv}.check(&errs, "sv")
	if iodineHundredths < 0 || iodineHundredths > 25_000 {
		errs.add("iodine_value", "must lie between 0 and 250")
	}
	if t < 0 || t > 100*Celsius {
		errs.add("temperature", "must lie between 0 and 100 C")
	}
	if err := errs.Err(); err != nil {
		return 0, err
	}
	// In hundred-millionths: 0.00030 per mg/g is 30 per ug/g, 0.00014 per unit
	// is 140 per hundredth.
	gravity := 84_750_000 + 30*int64(sv) + 140*iodineHundredths
	at15 := mulDiv(gravity, 999_100, 100_000_000)
	return Density(at15 - mulDiv(640, int64(t-15*Celsius), int64(Celsius))), nil
}

// Part is one thing that goes into the batter.
type Part struct {
	Name    string
	Mass    Mass
	Density Density
}

// Batter is what parts make together; volumes are taken to add up.
type Batter struct {
	Mass   Mass
	Volume Volume
}

// Density is mass over volume, zero for no batter. 0.95 to 1.05 g/mL is usual
// (common practice).
func (b Batter) Density() Density {
	if b.Volume <= 0 {
		return 0
	}
	return Density(mulDiv(int64(b.Mass), int64(Litre), int64(b.Volume)))
}

// Mix is the batter of the parts. It gives FieldErrors at parts, parts[i].mass
// and parts[i].density. The volumes are rounded to the microlitre one by one.
func Mix(parts []Part) (Batter, error) {
	var errs FieldErrors
	var b Batter
	if len(parts) == 0 || len(parts) > maxEntries {
		errs.add("parts", "a batter has between 1 and %d parts", maxEntries)
	}
	for i, p := range parts {
		field := fmt.Sprintf("parts[%d]", i)
		before := len(errs)
		checkMass(&errs, field+".mass", p.Mass)
		if p.Density < GramPerML/2 || p.Density > 3*GramPerML {
			errs.add(field+".density", "must lie between 0.5 and 3 g/ml")
		}
		if len(errs) == before {
			b.Mass += p.Mass
			b.Volume += p.Density.VolumeOf(p.Mass)
		}
	}
	if err := errs.Err(); err != nil {
		return Batter{}, err
	}
	return b, nil
}

// Part is the lye solution as a part of the batter, at 20 C. The density of
// NaOH stands in for KOH's, whose solutions are a few percent lighter (from
// memory); ComputeLye warns of that.
func (l Lye) Part() (Part, error) {
	d, err := LyeDensity(l.Concentration)
	if err != nil {
		return Part{}, err
	}
	return Part{Name: "lye solution", Mass: l.Solution, Density: d}, nil
}
