package pages

import (
	"fmt"

	"ripeline/calc"
	"ripeline/orders"
)

// sheetView is the batch sheet: what to weigh, in the order it is needed, with
// the cautions that belong to it.
type sheetView struct {
	Trouble  string // why the weights could not be worked out
	Parts    []sheetPart
	Batter   string
	Fills    []string
	Notes    string
	Warnings []string
	Cautions []string
}

type sheetPart struct {
	Title string
	Rows  []fact
}

func (v *visit) sheetView(names *shelf, b orders.Batch) *sheetView {
	if b.State == orders.BatchFailed || b.State == orders.BatchCancelled {
		return nil
	}
	view := &sheetView{Cautions: cautions()}
	s, err := weighOut(names, b)
	if err != nil {
		view.Trouble = err.Error()
		return view
	}
	design, _ := names.design(b.DesignID)
	recipe, _ := names.recipe(design.RecipeID)
	view.Parts = v.sheetParts(s, design)
	view.Notes = recipe.Notes
	view.Batter = fmt.Sprintf("%s of batter, about %s", v.words.mass(s.batter.Mass), v.words.volume(s.batter.Volume))
	for i, f := range s.fills {
		view.Fills = append(view.Fills, fmt.Sprintf("%d × %s, filled to %s %%", f.Count, names.moldName(b.Molds[i].MoldID), trimZeros(f.Share.Percent(0))))
	}
	for _, w := range s.lye.Warnings {
		view.Warnings = append(view.Warnings, w.Message)
	}
	return view
}

func (v *visit) sheetParts(s sheet, d orders.Design) []sheetPart {
	rows := func(list []weighed) []fact {
		var out []fact
		for _, w := range list {
			out = append(out, fact{w.name, v.words.mass(w.mass)})
		}
		return out
	}
	parts := []sheetPart{
		{"Oils", rows(s.oils)},
		{"Lye", []fact{{"Cold water", v.words.mass(s.lye.Water)}, {"Lye (NaOH), into the water", v.words.mass(s.lye.NaOH)}}},
	}
	if len(s.others) > 0 {
		parts = append(parts, sheetPart{"Fragrance and the rest", rows(s.others)})
	}
	if len(s.pots) > 0 {
		pots := sheetPart{Title: "Pots"}
		for i, m := range s.pots {
			pots.Rows = append(pots.Rows, fact{fmt.Sprintf("%s, %s", d.Colours[i].Name, d.Colours[i].Share), v.words.mass(m)})
		}
		parts = append(parts, pots)
	}
	if d.Dressing != "" {
		parts = append(parts, sheetPart{"On top", []fact{{d.Dressing, ""}}})
	}
	return parts
}

// cautions are the usual ones for work with lye, and whom to follow instead.
// OSHA 29 CFR 1910.151(c), NIOSH, ICSC 0360.
func cautions() []string {
	return []string{
		"Lye into cold water, never water into lye. Stir as it goes in.",
		"Goggles, gloves, long sleeves. Children and animals out of the room.",
		"No aluminium, tin or zinc: lye makes hydrogen of them.",
		"Running water at hand. Lye on skin or in an eye: rinse at once and for 15 minutes or more, and get medical help. No vinegar.",
		"Lye swallowed: rinse the mouth, do not induce vomiting, get medical help at once.",
		"Alcohol spray: no flame or spark, and good air.",
		"Lye is kept locked and labelled.",
		"A batch that is lye-heavy, or that you can not explain, is not sold or given away.",
		"Follow local law, the supplier's safety data sheet and certificate, and your safety assessor: this sheet is not a safety assessment.",
	}
}

// batchCuts draws the cut in each mold of the batch.
func (v *visit) batchCuts(names *shelf, b orders.Batch) []cutPicture {
	design, ok := names.design(b.DesignID)
	if !ok {
		return nil
	}
	var out []cutPicture
	for _, use := range b.Molds {
		m, _ := names.mold(use.MoldID)
		pic, err := drawCut(v.words, m, design.Cut)
		if err != nil { // the sheet says that the cut does not fit any more
			continue
		}
		full, err := calc.Yield(calcMold(m), calc.CutPlan(design.Cut))
		if err == nil && full.FillFor((use.Pieces+use.Units-1)/max(1, use.Units)) < calc.Whole {
			pic.Lines = append(pic.Lines, fmt.Sprintf("This batch pours it part-full, for %s in all", count(use.Pieces, "piece")))
		}
		out = append(out, pic)
	}
	return out
}
