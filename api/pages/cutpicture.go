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
	Take          *takeCut // the nearest cut that wastes less; nil for none
}

// takeCut is the button that takes a better cut.
type takeCut struct {
	Action, MoldID, Button string
	Version                int
}

type rectangle struct{ X, Y, Width, Height int }

// drawn gives a length in tenths of a millimetre.
func drawn(l calc.Length) int { return int(l / (calc.Millimetre / 10)) }

// cutCounts says how many pieces there are of what, and what the rack needs.
func cutCounts(w words, cut orders.MoldCut) []string {
	units := map[calc.MoldKind]string{calc.MoldLoaf: "slice", calc.MoldSlab: "column", calc.MoldCavity: "cavity"}[cut.Kind]
	lines := []string{fmt.Sprintf("%s of %s", count(cut.Slices, units), count(cut.Step, "piece"))}
	if cut.Sound < cut.Pieces {
		lines[0] += fmt.Sprintf(", likely %d sound", cut.Sound)
	}
	return append(lines, fmt.Sprintf("On the rack %s a piece with its gap, %s in all", w.area(cut.Print), w.area(cut.Rack)))
}

// drawCut draws the cut of a full mold. A cavity mold has no cuts to draw, only
// words.
func drawCut(w words, cut orders.MoldCut) cutPicture {
	pic := cutPicture{
		Title: fmt.Sprintf("%s: %s", cut.Mold, count(cut.Pieces, "piece")),
		Lines: []string{
			fmt.Sprintf("Each piece %s × %s × %s", w.length(cut.Piece.Long), w.length(cut.Piece.Middle), w.length(cut.Piece.Short)),
		},
	}
	pic.Lines = append(pic.Lines, cutCounts(w, cut)...)
	if cut.Waste >= calc.Percent/10 {
		text := trimZeros(cut.Waste.Percent(1)) + " % of the mold goes to trims and rests"
		if cut.Trim > 0 {
			text += ", " + w.length(cut.Trim) + " of it at each end"
		}
		pic.Lines = append(pic.Lines, text)
	}
	if b := cut.Better; b != nil {
		pic.Lines = append(pic.Lines, fmt.Sprintf("Slices of %s would give %s and waste %s %%", w.length(b.Cut.Thickness), count(b.Pieces, "piece"), trimZeros(b.Waste.Percent(1))))
	}
	if cut.Kind == calc.MoldCavity {
		return pic
	}
	pic.Width, pic.Height = drawn(cut.Length), drawn(cut.Width)
	pic.Box = fmt.Sprintf("-10 -10 %d %d", pic.Width+20, pic.Height+20)
	for _, x := range cut.Across {
		pic.Across = append(pic.Across, drawn(x))
	}
	for _, y := range cut.Along {
		pic.Along = append(pic.Along, drawn(y))
	}
	for _, s := range cut.Spots {
		pic.Spots = append(pic.Spots, rectangle{drawn(s.FromX), drawn(s.FromY), drawn(s.ToX - s.FromX), drawn(s.ToY - s.FromY)})
	}
	return pic
}
