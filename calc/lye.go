package calc

import (
	"fmt"
	"math/big"
)

// Oil is one fat of a recipe and how much of it.
type Oil struct {
	Name     string
	Mass     Mass
	SV       SVRange
	WaxEster bool // beeswax, jojoba: saponifies without giving glycerol
}

// LyeRecipe is what the lye of a batch is computed from.
type LyeRecipe struct {
	Oils       []Oil
	NaOHShare  PPM // share of the saponification done by NaOH; the rest is KOH's
	Superfat   PPM // share of the need left out
	NaOHPurity PPM // as on the supplier's sheet; only looked at when NaOH is used
	KOHPurity  PPM // likewise for KOH
	Water      WaterRule
}

// Limits of a lye recipe. Purity: NaOH is 97.0-100.5 % by the European
// Pharmacopoeia (second-hand) and 95.0-100.5 % by USP 35 (published); KOH is
// sold down to about 85 % (from memory), so the floor is set below that.
// purityDoubt is the width of the European range.
const (
	maxSuperfat = 50 * Percent
	minPurity   = 80 * Percent
	maxPurity   = 100*Percent + Percent/2
	purityDoubt = 3*Percent + Percent/2
)

// Lye is what to weigh, and what comes of it. Every mass is in milligrams,
// computed from the recipe as an exact fraction and rounded once, half up;
// Solution is the sum of the rounded NaOH, KOH and Water.
type Lye struct {
	NaOH, KOH         Mass // to weigh, as bought
	PureNaOH, PureKOH Mass // the alkali in them
	FullNaOH, FullKOH Mass // the need with no superfat, were it all one alkali
	Water             Mass
	Solution          Mass
	Concentration     PPM  // pure alkali as a share of the solution
	Glycerol          Mass // set free from the triglycerides
	Soap              Mass // dry soap made of the triglycerides; waxes not counted
	Warnings          []Warning
}

// WarningCode tells kinds of warning apart.
type WarningCode string

// What ComputeLye may warn of.
const (
	WarnLyeHeavy       WarningCode = "lye_heavy"       // superfat does not outlast the oils' spread
	WarnPurity         WarningCode = "purity"          // nor alkali purer than entered
	WarnConcentration  WarningCode = "concentration"   // solution above 40 %
	WarnPotashSolution WarningCode = "potash_solution" // its density is an estimate
)

// Warning is something that does not stop a batch but that the maker must see.
type Warning struct {
	Code    WarningCode
	Message string
}

// ComputeLye is the lye and water for r. It gives FieldErrors at oils, oils[i].mass,
// oils[i].sv, naoh_share, superfat, naoh_purity, koh_purity and water; a
// solution above 50 % is refused at water.
func ComputeLye(r LyeRecipe) (Lye, error) {
	if err := r.check(); err != nil {
		return Lye{}, err
	}
	d := r.dose()
	water := r.Water.exact(d, r.oilMass())
	solution := sum(d.naoh, d.koh, water)
	concentration := new(big.Rat).Quo(d.pure(), solution)
	if concentration.Cmp(share(maxConcentration)) > 0 {
		return Lye{}, fieldErr("water", "makes a lye solution of %s; above %s it does not stay dissolved, so use more water",
			PPM(rounded(scaled(concentration, Whole))), maxConcentration)
	}
	glycerol, soap := r.products()
	lye := Lye{
		NaOH: Mass(rounded(d.naoh)), KOH: Mass(rounded(d.koh)),
		PureNaOH: Mass(rounded(d.pureNaOH)), PureKOH: Mass(rounded(d.pureKOH)),
		FullNaOH: Mass(rounded(naohFor(d.need))), FullKOH: Mass(rounded(d.need)),
		Water: Mass(rounded(water)), Glycerol: Mass(rounded(glycerol)), Soap: Mass(rounded(soap)),
		Concentration: PPM(rounded(scaled(concentration, Whole))),
	}
	lye.Solution = lye.NaOH + lye.KOH + lye.Water
	lye.Warnings = r.warnings(d, concentration)
	return lye, nil
}

// dose is the alkali of a recipe, in exact milligrams.
type dose struct {
	need              *big.Rat // KOH for all the fat, no superfat
	given             *big.Rat // the same after superfat
	pureNaOH, pureKOH *big.Rat // given, parted among the two
	naoh, koh         *big.Rat // as bought
}

func (d dose) pure() *big.Rat { return sum(d.pureNaOH, d.pureKOH) }

func (r LyeRecipe) dose() dose {
	need := kohNeed(r.Oils, func(o Oil) SV { return o.SV.Used })
	given := new(big.Rat).Mul(need, share(Whole-r.Superfat))
	d := dose{need: need, given: given, naoh: new(big.Rat), koh: new(big.Rat)}
	d.pureNaOH = naohFor(new(big.Rat).Mul(given, share(r.NaOHShare)))
	d.pureKOH = new(big.Rat).Mul(given, share(Whole-r.NaOHShare))
	if r.NaOHShare > 0 {
		d.naoh.Quo(d.pureNaOH, share(r.NaOHPurity))
	}
	if r.NaOHShare < Whole {
		d.koh.Quo(d.pureKOH, share(r.KOHPurity))
	}
	return d
}

// products is the glycerol and the dry soap, in exact milligrams. The superfat
// is taken from all fats alike. Triglyceride and alkali become soap and
// glycerol with nothing lost, so soap is what the others leave.
func (r LyeRecipe) products() (glycerol, soap *big.Rat) {
	glycerides := make([]Oil, 0, len(r.Oils))
	for _, o := range r.Oils {
		if !o.WaxEster {
			glycerides = append(glycerides, o)
		}
	}
	part := r
	part.Oils = glycerides
	d := part.dose()
	reacted := share(Whole - r.Superfat)
	glycerol = new(big.Rat).Mul(d.need, reacted)
	glycerol.Mul(glycerol, big.NewRat(molarGlycerol, 3*molarKOH))
	soap = new(big.Rat).Mul(big.NewRat(int64(part.oilMass()), 1), reacted)
	soap.Add(soap, d.pure()).Sub(soap, glycerol)
	return glycerol, soap
}

// Saponified is what each oil and its share of the pure alkali make, in the order
// of the oils, and the glycerol set free: dry, to the milligram, adding up to oils
// and alkali. The fat that the superfat leaves free is counted with the soap of its
// own oil, and so is what a wax makes. Errors as ComputeLye.
func Saponified(r LyeRecipe) (soaps []Mass, glycerol Mass, err error) {
	if err := r.check(); err != nil {
		return nil, 0, err
	}
	total := new(big.Rat)
	for _, o := range r.Oils {
		one := r
		one.Oils = []Oil{o}
		free, _ := one.products()
		made := new(big.Rat).Sub(sum(big.NewRat(int64(o.Mass), 1), one.dose().pure()), free)
		total = sum(total, made, free)
		soaps = append(soaps, Mass(rounded(made)))
	}
	glycerol = Mass(rounded(total))
	for _, m := range soaps {
		glycerol -= m
	}
	return soaps, max(0, glycerol), nil
}

// warnings tells where the superfat may be used up: by oils at the low end of
// their ranges, or by alkali purer than entered.
func (r LyeRecipe) warnings(d dose, concentration *big.Rat) []Warning {
	var out []Warning
	warn := func(code WarningCode, format string, args ...any) {
		out = append(out, Warning{Code: code, Message: fmt.Sprintf(format, args...)})
	}
	least := kohNeed(r.Oils, func(o Oil) SV { return o.SV.low() })
	if d.given.Cmp(least) > 0 {
		warn(WarnLyeHeavy, "If every oil lies at the low end of its range there is more lye than the oils can take. "+
			"A superfat of at least %s would outlast that.", outlasting(least, d.need))
	}
	strongest := sum(
		kohFor(new(big.Rat).Mul(d.naoh, share(purest(r.NaOHPurity)))),
		new(big.Rat).Mul(d.koh, share(purest(r.KOHPurity))),
	)
	if strongest.Cmp(d.need) > 0 {
		warn(WarnPurity, "If the alkali is %s purer than entered there is more lye than the oils can take. "+
			"Check the purity on the supplier's certificate, or raise the superfat.", purityDoubt)
	}
	if concentration.Cmp(share(strongConcentration)) > 0 {
		warn(WarnConcentration, "The lye solution is above %s: it thickens the batter fast and may not dissolve fully.", strongConcentration)
	}
	if r.NaOHShare < Whole {
		warn(WarnPotashSolution, "The room that the lye solution takes is estimated from sodium hydroxide; "+
			"with potassium hydroxide it is a little larger.")
	}
	return out
}

// purest is the most that alkali sold as p may hold.
func purest(p PPM) PPM { return min(maxPurity, p+purityDoubt) }

// outlasting is the superfat at which the lye equals the least need, rounded
// up to a tenth of a percent.
func outlasting(least, need *big.Rat) PPM {
	const step = Percent / 10
	spare := new(big.Rat).Sub(big.NewRat(1, 1), new(big.Rat).Quo(least, need))
	spare = scaled(spare, Whole/step)
	q, rest := new(big.Int).QuoRem(spare.Num(), spare.Denom(), new(big.Int))
	if rest.Sign() > 0 {
		q.Add(q, big.NewInt(1))
	}
	return PPM(q.Int64()) * step
}

func (r LyeRecipe) oilMass() Mass {
	var total Mass
	for _, o := range r.Oils {
		total += o.Mass
	}
	return total
}

// kohNeed is the KOH for the oils at the picked values, in exact milligrams.
func kohNeed(oils []Oil, pick func(Oil) SV) *big.Rat {
	micro := new(big.Int)
	for _, o := range oils {
		micro.Add(micro, product(int64(o.Mass), int64(pick(o))))
	}
	return new(big.Rat).SetFrac(micro, big.NewInt(1_000_000))
}

func naohFor(koh *big.Rat) *big.Rat {
	return new(big.Rat).Mul(koh, big.NewRat(molarNaOH, molarKOH))
}

func kohFor(naoh *big.Rat) *big.Rat {
	return new(big.Rat).Mul(naoh, big.NewRat(molarKOH, molarNaOH))
}

func share(p PPM) *big.Rat { return big.NewRat(int64(p), int64(Whole)) }

func scaled(r *big.Rat, by PPM) *big.Rat {
	return new(big.Rat).Mul(r, big.NewRat(int64(by), 1))
}

func sum(terms ...*big.Rat) *big.Rat {
	total := new(big.Rat)
	for _, t := range terms {
		total.Add(total, t)
	}
	return total
}
