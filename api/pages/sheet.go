package pages

import (
	"fmt"
	"slices"

	"ripeline/calc"
	"ripeline/orders"
)

// sheetView is the batch sheet: what to weigh, in the order it is needed, with
// the cautions that belong to it.
type sheetView struct {
	Trouble  string // why the weights could not be worked out
	Kept     string // whether it goes by what was poured
	Parts    []sheetPart
	Batter   []string
	Fills    []string
	Notes    string
	Warnings []string
	Cautions []cautionView
	Notice   string
}

type sheetPart struct {
	Title string
	Rows  []fact
}

type cautionView struct{ Text, Source string }

// sheetView draws the sheet; nil for a batch that has come to nothing.
func (v *visit) sheetView(s orders.Sheet) *sheetView {
	if s.State == orders.BatchFailed || s.State == orders.BatchCancelled {
		return nil
	}
	view := &sheetView{Trouble: v.words.limits(s.Trouble), Kept: keptText(s), Notes: s.Notes, Notice: s.Notice}
	for _, c := range s.Cautions {
		view.Cautions = append(view.Cautions, cautionView{c.Text, c.Source})
	}
	if s.Weights == nil {
		return view
	}
	view.Warnings = sheetWarnings(s)
	view.Parts = v.sheetParts(s)
	view.Batter = v.batterLines(s)
	for i, f := range s.Fills {
		view.Fills = append(view.Fills, fillLine(f, s.Cuts[i], v.words.mass(f.Batter.Mass/calc.Mass(max(1, f.Units)))))
	}
	return view
}

// fillLine says how molds that are filled alike are poured, and how much each takes.
func fillLine(f orders.SheetFill, cut orders.MoldCut, mass string) string {
	line := fmt.Sprintf("%d × %s, %s, %s", f.Units, f.Mold, cut.PouredText(), mass)
	if f.Units > 1 {
		line += " each"
	}
	return line
}

// sheetWarnings is what is to be minded of the weights, and of molds that do not
// give the batch's pieces any more.
func sheetWarnings(s orders.Sheet) []string {
	var out []string
	for _, w := range s.Weights.Lye.Warnings {
		out = append(out, w.Message)
	}
	switch {
	case s.Surplus > 0:
		out = append(out, fmt.Sprintf("A mold or the cut has changed since this batch was planned: poured like this it gives %s more than its batch has.", count(s.Surplus, "piece")))
	case s.Surplus < 0:
		out = append(out, fmt.Sprintf("A mold or the cut has changed since this batch was planned: even full, its molds give %s fewer than its batch has.", count(-s.Surplus, "piece")))
	}
	return out
}

func (v *visit) sheetParts(s orders.Sheet) []sheetPart {
	parts := []sheetPart{{"Oils", v.weighedRows(s.Weights.Oils)}, {"Lye", v.lyeRows(s.Weights.Lye)}}
	if s.Weights.BlendMass > 0 {
		parts[0].Rows = append(parts[0].Rows, fact{"Ready-mixed, of them", v.words.mass(s.Weights.BlendMass)})
	}
	if len(s.Weights.Added) > 0 {
		parts = append(parts, sheetPart{"Fragrance and the rest", v.weighedRows(s.Weights.Added)})
	}
	if len(s.Pots) > 0 {
		pots := sheetPart{Title: "Pots"}
		if len(s.Weights.Added) > 0 {
			pots.Title = "Pots, before what is stirred in"
		}
		for _, p := range s.Pots {
			pots.Rows = append(pots.Rows, fact{fmt.Sprintf("%s, %s", p.Colour, p.Share), v.words.mass(p.Mass)})
			for _, a := range p.Added {
				mass := v.words.mass(a.Mass)
				if a.Kind == orders.KindFragrance {
					mass = v.words.dose(a.Mass)
				}
				pots.Rows = append(pots.Rows, fact{fmt.Sprintf("%s into %s", a.Name, p.Colour), mass})
			}
		}
		parts = append(parts, pots)
	}
	if s.Dressing != "" {
		parts = append(parts, sheetPart{"On top", []fact{{s.Dressing, ""}}})
	}
	return parts
}

func (v *visit) lyeRows(l orders.LyeWeights) []fact {
	if l.Stock != nil {
		stock := fact{"Lye stock of " + l.Stock.Concentration.String(), v.words.mass(l.Stock.Mass)}
		if l.Stock.Water == 0 {
			return []fact{stock}
		}
		stock.Name += ", into the water"
		return []fact{{"Cold water", v.words.mass(l.Stock.Water)}, stock}
	}
	rows := []fact{{"Cold water", v.words.mass(l.Water)}}
	if l.NaOH > 0 {
		rows = append(rows, fact{"Lye (NaOH), into the water", v.words.mass(l.NaOH)})
	}
	if l.KOH > 0 {
		rows = append(rows, fact{"Potash lye (KOH), into the water", v.words.mass(l.KOH)})
	}
	return rows
}

func (v *visit) weighedRows(list []orders.Weighed) []fact {
	var out []fact
	for _, w := range list {
		mass := v.words.mass(w.Mass)
		if w.Kind == orders.KindFragrance {
			mass = v.words.dose(w.Mass)
		}
		out = append(out, fact{w.Name, mass})
	}
	return out
}

// batterLines says how much there is of oils and lye, of all together, and what
// the molds leave or lack of it; less than a gram is rounding.
func (v *visit) batterLines(s orders.Sheet) []string {
	batter, total := s.Weights.Batter, s.Weights.Total
	lines := []string{fmt.Sprintf("%s of batter, about %s", v.words.mass(batter.Mass), v.words.volume(batter.Volume))}
	if total != batter {
		lines = append(lines, fmt.Sprintf("%s with all that is stirred in, about %s", v.words.mass(total.Mass), v.words.volume(total.Volume)))
	}
	switch {
	case s.Missing.Mass >= calc.Gram:
		return append(lines, v.words.mass(s.Missing.Mass)+" is missing to fill the molds")
	case s.Left.Mass >= calc.Gram:
		return append(lines, v.words.mass(s.Left.Mass)+" is left over and finds no room in the molds: have a small mold at hand for it")
	}
	return append(lines, v.words.mass(s.Left.Mass)+" is left over: these weights are worked out for these molds")
}

// partFull says how a mold is poured that the batch does not fill. A loaf or a slab
// is filled along its length, so that the pieces are as high as those of a full one.
func (v *visit) partFull(cut orders.MoldCut) string {
	if cut.Kind == calc.MoldCavity {
		return fmt.Sprintf("Fill %d of its %s, each to the brim", cut.Slices, count(cut.Full, "cavity"))
	}
	return fmt.Sprintf("Part-full: set a divider %s from one end, the thick line in the drawing, and pour to full height before it: spread over the whole mold the pieces would come out too low and too light", v.words.length(cut.Filled))
}

// batchCuts draws the cut in each mold of the batch, those that are filled alike in
// one drawing; the sheet says where it does not fit any more. What is said of a mold
// is not said again of others of its kind. The share that is likely spoiled is of the
// whole batch: rounded up mold by mold it would be more.
func (v *visit) batchCuts(s orders.Sheet) []cutPicture {
	var out []cutPicture
	for i, cut := range s.Cuts {
		if cut.Trouble != "" {
			continue
		}
		if cut.Units > 1 || len(s.Cuts) > 1 {
			cut.Sound = cut.Pieces
		}
		pic := drawCut(v.words, cut)
		if i > 0 && cut.MoldID == s.Cuts[i-1].MoldID {
			pic.Lines = slices.DeleteFunc(pic.Lines, func(line string) bool { return slices.Contains(out[len(out)-1].Lines, line) })
		}
		if cut.Part() {
			pic.Lines = append([]string{v.partFull(cut)}, pic.Lines...)
		}
		if cut.Units > 1 {
			pic.Title = fmt.Sprintf("%s, in each of %d", pic.Title, cut.Units)
		}
		out = append(out, pic)
	}
	return out
}
