package orders

import (
	"errors"
	"strings"

	"ripeline/calc"
)

// Limits of a recipe's lye that calc does not set.
const (
	minConcentration = 10 * calc.Percent
	maxMixTemp       = 100 * calc.Celsius
)

// lyeRecipe is the recipe's lye for these oils.
func (r Recipe) lyeRecipe(oils []calc.Oil) calc.LyeRecipe {
	return calc.LyeRecipe{
		Oils: oils, NaOHShare: calc.Whole - r.KOHShare, Superfat: r.Superfat,
		NaOHPurity: r.LyePurity, KOHPurity: r.KOHPurity, Water: r.water(),
	}
}

func (r Recipe) water() calc.WaterRule {
	if r.WaterBasis == calc.WaterByRatio || r.WaterBasis == calc.WaterByOils {
		return calc.WaterRule{Basis: r.WaterBasis, Value: r.Water}
	}
	return calc.WaterRule{Basis: calc.WaterByConcentration, Value: r.LyeConcentration}
}

// checkLye checks all that decides the lye, and works it out for
// the given oils, by which a solution that does not stay dissolved is refused.
func checkLye(c *Check, r *Recipe, oils []calc.Oil) error {
	c.Want(r.KOHShare >= 0 && r.KOHShare <= calc.Whole, "koh_share_ppm", "must lie between 0 and 100 %")
	within(c, "superfat_ppm", r.Superfat, 0, maxSuperfat, "of the lye")
	if r.WaterBasis == calc.WaterByConcentration {
		c.Want(r.LyeConcentration <= 50*calc.Percent, "lye_concentration_ppm", "above 50 % the lye does not stay dissolved; use 50 % or less")
		c.Want(r.LyeConcentration >= minConcentration, "lye_concentration_ppm", "must be 10 % or more")
	}
	c.Want(r.MixTemp >= 0 && r.MixTemp <= maxMixTemp, "mix_temp_mc", "must lie between 0 and 100 °C (32 and 212 °F), or be left empty")
	if len(oils) == 0 {
		oils = []calc.Oil{{Mass: calc.Kilogram, SV: calc.SVRange{Used: 190 * calc.MilligramPerGram}}} // the rest can be checked by any oil
	}
	lye, err := calc.ComputeLye(r.lyeRecipe(oils))
	if err == nil && r.LyeStock != 0 {
		_, err = lye.FromStock(r.LyeStock)
	}
	return c.foldNew(err, r.lyeField)
}

// lyeField is the JSON name of calc's field of a lye recipe.
func (r *Recipe) lyeField(f string) string {
	switch f {
	case "superfat":
		return "superfat_ppm"
	case "naoh_share":
		return "koh_share_ppm"
	case "naoh_purity":
		return "lye_purity_ppm"
	case "koh_purity", "lye_stock":
		return f + "_ppm"
	case "water":
		switch r.WaterBasis {
		case calc.WaterByConcentration:
			return "lye_concentration_ppm"
		case calc.WaterByRatio, calc.WaterByOils:
			return "water_ppm"
		}
		return "water_basis"
	}
	return "parts"
}

// foldNew is fold for fields that have no complaint yet, so that nothing is
// said twice.
func (c *Check) foldNew(err error, rename func(string) string) error {
	var many calc.FieldErrors
	if !errors.As(err, &many) {
		return err
	}
	for _, f := range many {
		field := rename(f.Field)
		if !c.has(field) {
			c.Add(field, f.Message)
		}
	}
	return nil
}

// has reports whether the field, or an entry of it, has a complaint.
func (c *Check) has(field string) bool {
	for _, f := range c.fields {
		if f.Field == field || strings.HasPrefix(f.Field, field+"[") {
			return true
		}
	}
	return false
}
