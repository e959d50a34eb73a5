package orders

import (
	"cmp"
	"context"
	"slices"

	"ripeline/calc"
)

// checkRecipe completes and checks a recipe. What makes a stored mix unsafe by now,
// such as a certificate that was tightened since, does not stand in the way of a
// change that leaves the mix as it is: it is not poured all the same.
func checkRecipe(ctx context.Context, tx Tx, r, before *Recipe) error {
	var c Check
	checkName(&c, "name", r.Name, true)
	checkNote(&c, "notes", r.Notes)
	r.WaterBasis, r.CureLoss = cmp.Or(r.WaterBasis, calc.WaterByConcentration), cmp.Or(r.CureLoss, usualCureLoss)
	returns := before != nil && before.Retired && !r.Retired
	if before == nil || returns || !r.mixedAs(*before) {
		if err := checkMix(ctx, tx, &c, r); err != nil {
			return err
		}
	}
	checkTimes(&c, r)
	w, err := tx.Workshop(ctx)
	if err != nil {
		return err
	}
	if c.Err() == nil && len(w.Hours) > 0 && !r.Retired && !r.canBeCut(w.Hours) {
		c.Add("cut_max", r.cutWindowMessage())
	}
	return c.Err()
}

// checkMix checks what is mixed, its lye, and its fragrances on the cured bar.
func checkMix(ctx context.Context, tx Tx, c *Check, r *Recipe) error {
	oils, err := checkParts(ctx, tx, c, r.Parts)
	if err != nil {
		return err
	}
	if err := checkLye(c, r, oils); err != nil {
		return err
	}
	within(c, "cure_loss_ppm", r.CureLoss, 0, maxCureLoss, "of the weight")
	if len(c.fields) > 0 || r.Retired {
		return nil // said already, or of no concern now
	}
	ingredients, err := ingredientsOf(ctx, tx, *r)
	if err == nil {
		checkBlend(c, *r, ingredients)
	}
	return err
}

// mixedAs reports whether r is mixed of the same as o and loses as much in the
// cure.
func (r Recipe) mixedAs(o Recipe) bool {
	return slices.Equal(r.Parts, o.Parts) && r.Superfat == o.Superfat && r.LyePurity == o.LyePurity && r.LyeConcentration == o.LyeConcentration &&
		r.KOHShare == o.KOHShare && r.KOHPurity == o.KOHPurity && r.WaterBasis == o.WaterBasis && r.Water == o.Water &&
		r.LyeStock == o.LyeStock && r.MixTemp == o.MixTemp && r.CureLoss == o.CureLoss
}
