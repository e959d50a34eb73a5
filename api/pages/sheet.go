package pages

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"ripeline/calc"
	"ripeline/orders"
)

// usualDensity stands in for an oil's density that is not known; common oils
// lie between 0.89 and 0.97 g per ml (from memory).
const usualDensity = 0.915

// mixture is a recipe worked out for a mass of oils.
type mixture struct {
	oils   []weighed
	others []weighed // on top of the oils: fragrance, colour, botanicals
	lye    calc.Lye
	batter calc.Batter
}

type weighed struct {
	name string
	kind orders.IngredientKind
	mass calc.Mass
}

// mix works r out for so much oil. Parts that are not oils are left out of the
// batter's volume, as the planner leaves them out.
func mix(s *shelf, r orders.Recipe, oils calc.Mass) (mixture, error) {
	var m mixture
	lye := calc.LyeRecipe{
		NaOHShare: calc.Whole, Superfat: r.Superfat, NaOHPurity: r.LyePurity,
		Water: calc.WaterRule{Basis: calc.WaterByConcentration, Value: r.LyeConcentration},
	}
	var parts []calc.Part
	for _, part := range r.Parts {
		ing, ok := s.ingredient(part.IngredientID)
		if !ok {
			return mixture{}, errors.New("an ingredient of the recipe was removed")
		}
		w := weighed{ing.Name, ing.Kind, part.Share.Of(oils)}
		switch ing.Kind {
		case orders.KindOil:
			m.oils = append(m.oils, w)
			lye.Oils = append(lye.Oils, calc.Oil{Name: ing.Name, Mass: w.mass, SV: svRange(ing)})
			parts = append(parts, calc.Part{Name: ing.Name, Mass: w.mass, Density: densityOf(ing)})
		case orders.KindLye: // worked out below
		default:
			m.others = append(m.others, w)
		}
	}
	return m.withLye(lye, parts)
}

func (m mixture) withLye(r calc.LyeRecipe, parts []calc.Part) (mixture, error) {
	var err error
	if m.lye, err = calc.ComputeLye(r); err != nil {
		return mixture{}, err
	}
	solution, err := m.lye.Part()
	if err != nil {
		return mixture{}, err
	}
	m.batter, err = calc.Mix(append(parts, solution))
	return m, err
}

func densityOf(i orders.Ingredient) calc.Density {
	return calc.Density(math.Round(cmp.Or(i.Density, usualDensity) * float64(calc.GramPerML)))
}

// sheet is what to weigh for one batch.
type sheet struct {
	mixture
	fills []calc.MoldFill
	pots  []calc.Mass // one per colour of the design
}

// weighOut works out the sheet of a batch: the recipe scaled so that the
// batter fills the batch's molds for the pieces each is to give.
func weighOut(s *shelf, b orders.Batch) (sheet, error) {
	design, ok := s.design(b.DesignID)
	recipe, found := s.recipe(design.RecipeID)
	if !ok || !found {
		return sheet{}, errors.New("the design or its recipe was removed")
	}
	var out sheet
	for _, use := range b.Molds {
		mold, _ := s.mold(use.MoldID)
		cut, err := calc.Yield(calcMold(mold), calc.CutPlan(design.Cut))
		if err != nil {
			return sheet{}, fmt.Errorf("the cut does not fit the mold any more: %w", err)
		}
		each := (use.Pieces + use.Units - 1) / max(1, use.Units)
		out.fills = append(out.fills, calc.MoldFill{Mold: calcMold(mold), Count: use.Units, Share: cut.FillFor(each)})
	}
	wanted, err := calc.WantedVolume(out.fills)
	if err != nil {
		return sheet{}, err
	}
	kilo, err := mix(s, recipe, calc.Kilogram)
	if err != nil {
		return sheet{}, err
	}
	oils := calc.Mass(math.Ceil(float64(calc.Kilogram) * float64(wanted) / float64(kilo.batter.Volume)))
	if out.mixture, err = mix(s, recipe, oils); err != nil {
		return sheet{}, err
	}
	if len(design.Colours) == 0 {
		return out, nil
	}
	pots := make([]calc.Pot, len(design.Colours))
	for i, c := range design.Colours {
		pots[i] = calc.Pot{Name: c.Name, Share: c.Share}
	}
	out.pots, err = calc.Pots(out.batter.Mass, pots)
	return out, err
}
