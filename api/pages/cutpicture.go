package pages

import (
	"fmt"

	"ripeline/calc"
	"ripeline/orders"
)

// cutPicture is a mold seen from above with its cuts, to scale. Lengths are in
// tenths of a millimetre, which are the units of the drawing.
type cutPicture struct {
	Title         string
	Lines         []string // the same in words
	Width, Height int
	Box           string // what the drawing shows: the mold and a margin
	Across, Along []int  // cuts across and along the length
	Spots         []rectangle
}

type rectangle struct{ X, Y, Width, Height int }

// drawn gives a length in tenths of a millimetre.
func drawn(l calc.Length) int { return int(l / (calc.Millimetre / 10)) }

// drawCut draws what plan makes of a full mold. A cavity mold has no cuts to
// draw, only words.
func drawCut(w words, m orders.Mold, plan orders.CutPlan) (cutPicture, error) {
	mold, cuts := calcMold(m), calc.CutPlan(plan)
	yield, err := calc.Yield(mold, cuts)
	if err != nil {
		return cutPicture{}, err
	}
	pic := cutPicture{
		Title: fmt.Sprintf("%s: %s", m.Name, count(yield.Pieces, "piece")),
		Lines: []string{
			fmt.Sprintf("Each piece %s × %s × %s", w.length(yield.Piece.Long), w.length(yield.Piece.Middle), w.length(yield.Piece.Short)),
		},
	}
	if yield.WasteShare >= calc.Percent/10 {
		pic.Lines = append(pic.Lines, trimZeros(yield.WasteShare.Percent(1))+" % of the mold goes to trims and rests")
	}
	if better, ok := calc.LessWaste(mold, cuts); ok {
		pic.Lines = append(pic.Lines, "Slices of "+w.length(better.Thickness)+" would waste less")
	}
	if mold.Kind == calc.MoldCavity {
		return pic, nil
	}
	layout, err := calc.CutLayout(mold, cuts)
	if err != nil {
		return cutPicture{}, err
	}
	pic.Width, pic.Height = drawn(m.Length), drawn(m.Width)
	pic.Box = fmt.Sprintf("-10 -10 %d %d", pic.Width+20, pic.Height+20)
	for _, x := range layout.Across {
		pic.Across = append(pic.Across, drawn(x))
	}
	for _, y := range layout.Along {
		pic.Along = append(pic.Along, drawn(y))
	}
	if plan.DressingClear > 0 {
		for _, s := range layout.Spots {
			pic.Spots = append(pic.Spots, rectangle{drawn(s.FromX), drawn(s.FromY), drawn(s.ToX - s.FromX), drawn(s.ToY - s.FromY)})
		}
	}
	return pic, nil
}
