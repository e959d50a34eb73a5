package pages

import (
	"fmt"

	"ripeline/calc"
	"ripeline/orders"
)

// recipeAside is what a kilogram of oils takes, to the milligram, with what
// the arithmetic warns of and where its values come from.
func recipeAside(v *visit, s *shelf, r orders.Recipe) aside {
	w := orders.WeighRecipe(r, s.ingredients)
	if w.Weights == nil {
		return aside{Title: "Lye", Warn: []string{"The lye can not be worked out yet: " + w.Trouble + "."}}
	}
	out := aside{
		Title:  "For " + v.words.worked(w.Weights.OilsMass) + " of oils",
		Lines:  []string{"Worked out exactly and rounded once, to be read; the batch sheet gives the weights for your molds."},
		Tables: []figures{v.lyeFigures(w.Weights.Lye), v.batterFigures(*w.Weights), v.svFigures(s, r)},
		Links:  []link{{"/recipes/" + r.ID + "/fill", "See how it fills your molds"}},
	}
	if ready := v.readyFigures(r, w.Ready); len(ready.Rows) > 0 {
		out.Tables = append(out.Tables, ready)
	}
	for _, warning := range w.Weights.Lye.Warnings {
		out.Warn = append(out.Warn, warning.Message)
	}
	return out
}

func (v *visit) lyeFigures(l orders.LyeWeights) figures {
	out := figures{Title: "Lye"}
	if l.KOHShare < calc.Whole {
		out.Rows = append(out.Rows, figure{"Lye (NaOH)", l.Purity.String() + " pure", v.words.worked(l.NaOH)})
	}
	if l.KOHShare > 0 {
		out.Rows = append(out.Rows, figure{"Potash lye (KOH)", l.KOHPurity.String() + " pure", v.words.worked(l.KOH)})
	}
	out.Rows = append(
		out.Rows,
		figure{"Water for the lye", "", v.words.worked(l.Water)},
		figure{"Lye solution", "lye " + l.Concentration.Percent(2) + " %, " + l.Density.String() + " at 20 °C, " + l.Volume.String(), v.words.worked(l.Solution)},
	)
	if l.Stock != nil {
		out.Rows = append(
			out.Rows,
			figure{"or lye stock", "of " + l.Stock.Concentration.String(), v.words.worked(l.Stock.Mass)},
			figure{"and water to it", "", v.words.worked(l.Stock.Water)},
		)
	}
	return figures{out.Title, append(
		out.Rows,
		figure{"The whole need, as NaOH", "pure, without superfat", v.words.worked(l.FullNaOH)},
		figure{"or as KOH", "pure, without superfat", v.words.worked(l.FullKOH)},
	)}
}

func (v *visit) batterFigures(w orders.Weights) figures {
	out := figures{Title: "Batter"}
	for _, o := range w.Oils {
		out.Rows = append(out.Rows, figure{o.Name, o.Share.String(), v.words.worked(o.Mass)})
	}
	out.Rows = append(out.Rows, figure{"Oils take", "at the densities of your ingredients", exactly(w.OilsVolume)})
	batter := calc.Batter(w.Batter)
	out.Rows = append(
		out.Rows,
		figure{"Oils and lye solution", exactly(batter.Volume) + ", " + batter.Density().String(), v.words.worked(batter.Mass)},
	)
	if w.Total != w.Batter {
		out.Rows = append(out.Rows, figure{"With all that is stirred in", exactly(w.Total.Volume), v.words.worked(w.Total.Mass)})
	}
	return figures{out.Title, append(out.Rows, figure{"Glycerol set free", "stays in the soap", v.words.worked(w.Lye.Glycerol)})}
}

// exactly is a volume to a hundredth of a millilitre.
func exactly(l calc.Volume) string {
	return fmt.Sprintf("%d.%02d ml", (l+5)/calc.Millilitre, (l+5)%calc.Millilitre/10)
}

// svFigures are the saponification values used, each with its range and where
// it was read.
func (v *visit) svFigures(s *shelf, r orders.Recipe) figures {
	out := figures{Title: "Saponification values, mg KOH per g"}
	for _, p := range r.Parts {
		i, ok := s.ingredient(p.IngredientID)
		if !ok || i.Kind != orders.KindOil {
			continue
		}
		source := i.SVSource
		if source == "" {
			source = "no source noted; take it from the supplier's sheet"
		}
		if i.SVLow != 0 && i.SVHigh != 0 {
			source = fmt.Sprintf("range %s–%s; %s", number(i.SVLow), number(i.SVHigh), source)
		}
		out.Rows = append(out.Rows, figure{i.Name, source, number(i.SVUsed)})
	}
	return out
}

// readyFigures are how to make up what is kept ready.
func (v *visit) readyFigures(r orders.Recipe, ready orders.ReadyMixed) figures {
	out := figures{Title: "To make up " + v.words.worked(calc.Kilogram) + " ahead"}
	if ready.StockLye > 0 {
		out.Rows = append(
			out.Rows,
			figure{"Lye stock: lye (NaOH)", "into the water, " + r.LyeStock.String() + "; keep it closed, labelled and locked away", v.words.worked(ready.StockLye)},
			figure{"Lye stock: water", "", v.words.worked(ready.StockWater)},
		)
	}
	for _, o := range ready.Blend {
		out.Rows = append(out.Rows, figure{"Blend: " + o.Name, o.Share.String(), v.words.worked(o.Mass)})
	}
	return out
}
