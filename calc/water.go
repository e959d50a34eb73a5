package calc

import "math/big"

// WaterBasis says what the water of a recipe is reckoned from.
type WaterBasis string

// The ways to reckon water.
const (
	WaterByConcentration WaterBasis = "lye_concentration" // pure alkali as a share of the solution
	WaterByRatio         WaterBasis = "water_ratio"       // water to pure alkali; 2:1 is 200 %
	WaterByOils          WaterBasis = "share_of_oils"     // water as a share of the oils
)

// WaterRule is how much water the lye is dissolved in. What the alkali as
// bought holds beside alkali counts as part of the solution, not as water.
type WaterRule struct {
	Basis WaterBasis
	Value PPM
}

// A solution is refused above maxConcentration and warned of above
// strongConcentration. 109 g of NaOH dissolve in 100 g of water at 20 C, which
// is 52 % (published); the limits keep away from that.
const (
	maxConcentration    = 50 * Percent
	strongConcentration = 40 * Percent
	minConcentration    = 5 * Percent
	maxWaterRatio       = 20 * Whole
)

func (w WaterRule) check(errs *FieldErrors) {
	switch w.Basis {
	case WaterByConcentration:
		if w.Value < minConcentration || w.Value > maxConcentration {
			errs.add("water", "the lye concentration must lie between %s and %s", minConcentration, maxConcentration)
		}
	case WaterByRatio:
		if w.Value <= 0 || w.Value > maxWaterRatio {
			errs.add("water", "the ratio of water to lye must be more than 0 and at most 20 to 1")
		}
	case WaterByOils:
		if w.Value <= 0 || w.Value > Whole {
			errs.add("water", "water as a share of the oils must be more than 0 and at most 100 %%")
		}
	default:
		errs.add("water", "must be given by lye_concentration, water_ratio or share_of_oils")
	}
}

// exact is the water in milligrams for a checked rule.
func (w WaterRule) exact(d dose, oils Mass) *big.Rat {
	switch w.Basis {
	case WaterByConcentration:
		solution := new(big.Rat).Quo(d.pure(), share(w.Value))
		return solution.Sub(solution, sum(d.naoh, d.koh))
	case WaterByRatio:
		return new(big.Rat).Mul(d.pure(), share(w.Value))
	}
	return new(big.Rat).Mul(big.NewRat(int64(oils), 1), share(w.Value))
}
