package calc

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// FragranceDose is one fragrance oil as it is weighed into a batch.
type FragranceDose struct {
	FragranceOil
	Mass Mass
}

// FragranceUse is how the fragrances of a batch stand to their certificates on
// the cured bar.
type FragranceUse struct {
	Cured     PPM    // all of them together, as a share of the cured bar; rounded up, but when safe not beyond MaxUse, which is rounded down
	MaxUse    PPM    // largest safe share of the cured bar for this blend; rounded down, 100 % when none is limited
	Limited   bool   // some certificate sets a limit
	Safe      bool   // nothing is forbidden, and the sum of mass over limit stays within the cured bar
	Forbidden []int  // doses of oils that are not permitted
	Unproven  []int  // doses of oils without a certificate: plan, do not sell
	Most      []Mass // the largest safe masses with all doses changed alike and the rest of the batter as it is; -1 where nothing is limited
	Alone     []Mass // the largest safe mass of each limited dose with all else as it is, 0 when none is; -1 for a dose without a limit
}

// UseOf is the blend rule for weighed doses, exact to the milligram: the share U
// of the cured bar is safe even if all oils hold the same restricted substance
// when U <= 1 / sum(share_i / limit_i) (derived), which is the sum of mass_i /
// limit_i within the cured bar. Keeping each oil under its own limit alone would
// not be enough. batter holds the doses too; it loses the share loss in the cure,
// where 8 to 15 % is usual (common practice). Errors at batter, loss, fragrance,
// fragrance[i].mass and fragrance[i].limit.
func UseOf(doses []FragranceDose, batter Mass, loss PPM) (FragranceUse, error) {
	if err := checkDoses(doses, batter, loss); err != nil {
		return FragranceUse{}, err
	}
	var use FragranceUse
	var total Mass
	load := new(big.Rat)
	for i, d := range doses {
		total += d.Mass
		switch d.Limit.Kind {
		case LimitMax:
			use.Limited = true
			load.Add(load, d.load())
		case NotPermitted:
			use.Forbidden = append(use.Forbidden, i)
		case NoCertificate:
			use.Unproven = append(use.Unproven, i)
		}
	}
	cured := curedOf(batter, loss)
	use.Cured = PPM(-floor(new(big.Rat).Quo(big.NewRat(-int64(total)*int64(Whole), 1), cured)))
	use.MaxUse = Whole
	if load.Sign() > 0 {
		use.MaxUse = min(Whole, PPM(floor(new(big.Rat).Quo(big.NewRat(int64(total)*int64(Whole), 1), load))))
	}
	if len(use.Forbidden) > 0 {
		use.MaxUse = 0
	}
	if use.Safe = len(use.Forbidden) == 0 && load.Cmp(cured) <= 0; use.Safe {
		use.Cured = min(use.Cured, use.MaxUse)
	}
	use.Most, use.Alone = mostOf(doses, load, batter, loss), aloneOf(doses, load, batter, loss)
	return use, nil
}

// load is mass over limit: what the dose takes up of the cured bar.
func (d FragranceDose) load() *big.Rat {
	return big.NewRat(int64(d.Mass)*int64(Whole), int64(d.Limit.Max))
}

// mostOf scales all doses alike by the largest safe factor.
func mostOf(doses []FragranceDose, load *big.Rat, batter Mass, loss PPM) []Mass {
	var total Mass
	for _, d := range doses {
		total += d.Mass
	}
	k := largest(load, new(big.Rat), total, batter-total, loss)
	most := make([]Mass, len(doses))
	for i, d := range doses {
		most[i] = -1
		if k != nil {
			most[i] = Mass(floor(new(big.Rat).Mul(k, big.NewRat(int64(d.Mass), 1))))
		}
	}
	// A dose without a limit that is rounded down leaves a smaller bar, which may
	// be too small by a milligram for the others.
	for k != nil && k.Sign() > 0 && !within(doses, most, batter-total, loss) {
		for i, d := range doses {
			if d.Limit.Kind == LimitMax && most[i] > 0 {
				most[i]--
			}
		}
	}
	return most
}

// within reports whether other masses of the doses are safe in a batter whose rest
// stays as it is.
func within(doses []FragranceDose, masses []Mass, rest Mass, loss PPM) bool {
	load := new(big.Rat)
	for i, d := range doses {
		d.Mass = masses[i]
		rest += d.Mass
		if d.Limit.Kind == LimitMax {
			load.Add(load, d.load())
		}
	}
	return load.Cmp(curedOf(rest, loss)) <= 0
}

// aloneOf scales each limited dose by its own largest safe factor.
func aloneOf(doses []FragranceDose, load *big.Rat, batter Mass, loss PPM) []Mass {
	alone := make([]Mass, len(doses))
	for i, d := range doses {
		alone[i] = -1
		if d.Limit.Kind != LimitMax {
			continue
		}
		own := d.load()
		if k := largest(own, new(big.Rat).Sub(load, own), d.Mass, batter-d.Mass, loss); k != nil {
			alone[i] = Mass(max(0, floor(k.Mul(k, big.NewRat(int64(d.Mass), 1)))))
		}
	}
	return alone
}

// largest is k such that k x load and the load of the others fill the cured bar
// of rest and k x mass. Nothing bounds doses whose limit is all of the bar: nil.
func largest(load, others *big.Rat, mass, rest Mass, loss PPM) *big.Rat {
	spread := new(big.Rat).Sub(load, curedOf(mass, loss))
	if load.Sign() == 0 || spread.Sign() <= 0 {
		return nil
	}
	room := new(big.Rat).Sub(curedOf(rest, loss), others)
	return room.Quo(room, spread)
}

// curedOf is batter less loss, in exact milligrams.
func curedOf(batter Mass, loss PPM) *big.Rat {
	return new(big.Rat).Mul(share(Whole-loss), big.NewRat(int64(batter), 1))
}

// floor rounds down; the callers' limits keep the result within int64.
func floor(r *big.Rat) int64 {
	return new(big.Int).Div(r.Num(), r.Denom()).Int64()
}

func checkDoses(doses []FragranceDose, batter Mass, loss PPM) error {
	var errs FieldErrors
	checkMass(&errs, "batter", batter)
	if loss < 0 || loss > 50*Percent {
		errs.add("loss", "must lie between 0 and 50 %%")
	}
	if len(doses) > maxEntries {
		errs.add("fragrance", "a blend has at most %d oils", maxEntries)
		return errs
	}
	var total Mass
	for i, d := range doses {
		field := fmt.Sprintf("fragrance[%d]", i)
		checkMass(&errs, field+".mass", d.Mass)
		d.Limit.check(&errs, field+".limit")
		total += d.Mass
	}
	if total > batter {
		errs.add("batter", "must not weigh less than the fragrance in it")
	}
	return errs.Err()
}

// AllergenAmount is an allergen and how much of it is in a batch.
type AllergenAmount struct {
	Name  string
	Mass  Mass // rounded up
	Share PPM  // of the cured bar, rounded up
}

// AllergensIn is the allergens of the doses, all of them, the most first, then
// by name; Named says which of them a label names. Names that differ in letter case or outer
// spaces only are one substance. Errors as UseOf.
func AllergensIn(doses []FragranceDose, batter Mass, loss PPM) ([]AllergenAmount, error) {
	if err := checkDoses(doses, batter, loss); err != nil {
		return nil, err
	}
	index := make(map[string]int)
	var names []string
	var masses []*big.Rat
	for _, d := range doses {
		for _, a := range d.Allergens {
			name := strings.TrimSpace(a.Name)
			key := strings.ToLower(name)
			at, known := index[key]
			if !known {
				at = len(names)
				index[key], names, masses = at, append(names, name), append(masses, new(big.Rat))
			}
			masses[at].Add(masses[at], new(big.Rat).SetFrac(product(int64(d.Mass), int64(a.Share)), big.NewInt(int64(Whole))))
		}
	}
	cured := curedOf(batter, loss)
	var out []AllergenAmount
	for i, m := range masses {
		part := new(big.Rat).Quo(m, cured)
		out = append(out, AllergenAmount{names[i], Mass(ceil(m)), PPM(ceil(scaled(part, Whole)))})
	}
	slices.SortFunc(out, func(a, b AllergenAmount) int {
		return cmp.Or(cmp.Compare(b.Mass, a.Mass), cmp.Compare(b.Share, a.Share), strings.Compare(a.Name, b.Name))
	})
	return out, nil
}

// Named reports whether a label names the allergen: above 0.01 % of the cured
// bar. Share is rounded up to whole parts per million, and the threshold is a
// whole number of them, so exactly 0.01 % is not above and anything more is.
func (a AllergenAmount) Named() bool { return a.Share > allergenThreshold }

func ceil(r *big.Rat) int64 { return -floor(new(big.Rat).Neg(r)) }
