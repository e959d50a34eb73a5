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
	Rest          []string // what is known of it beside, which paper leaves out
	Width, Height int      // of the mold; 0 when it can not be drawn
	Box           string   // what the drawing shows: the mold and a margin
	Poured        []rectangle
	Empty         []rectangle // that stay empty of soap
	Knives        []stroke
	Divider       *stroke // where a part-full mold is closed; nil for none
	Spots         []rectangle
	Take          *takeCut // the nearest cut that wastes less; nil for none
}

// takeCut is the button that takes a better cut.
type takeCut struct {
	Action, MoldID, Button string
	Version                int
	Once                   string
}

type rectangle struct{ X, Y, Width, Height int }

// stroke is a straight line.
type stroke struct{ X1, Y1, X2, Y2 int }

// The room around a drawing and between drawn hollows, and the most hollows that
// are drawn: more would be a grid of dots and a heavy page.
const (
	cutMargin    = 40
	hollowGap    = 80
	mostHollows  = 200
	hollowsShape = 3.0 / 2 // wanted length of the drawing over its width
)

// drawn gives a length in tenths of a millimetre.
func drawn(l calc.Length) int { return int(l / (calc.Millimetre / 10)) }

// cutCounts says how many pieces there are of what.
func cutCounts(cut orders.MoldCut) []string {
	units := map[calc.MoldKind]string{calc.MoldLoaf: "slice", calc.MoldSlab: "column", calc.MoldCavity: "cavity"}[cut.Kind]
	lines := []string{fmt.Sprintf("%s of %s", count(cut.Slices, units), count(cut.Step, "piece"))}
	if cut.Sound < cut.Pieces {
		lines[0] += fmt.Sprintf(", likely %d sound", cut.Sound)
	}
	if layers := cut.Step / (len(cut.Along) + 1); cut.Kind == calc.MoldLoaf && layers > 1 {
		lines = append(lines, fmt.Sprintf("Each slice is cut into %d layers too, which are not seen from above", layers))
	}
	return lines
}

// drawCut draws the cut of a mold as far as it is poured.
func drawCut(w words, cut orders.MoldCut) cutPicture {
	pic := cutPicture{
		Title: fmt.Sprintf("%s: %s", cut.Mold, count(cut.Pieces, "piece")),
		Lines: []string{
			fmt.Sprintf("Each piece %s × %s × %s", w.length(cut.Piece.Long), w.length(cut.Piece.Middle), w.length(cut.Piece.Short)),
		},
	}
	pic.Lines = append(pic.Lines, cutCounts(cut)...)
	pic.Rest = []string{fmt.Sprintf("On the rack %s a piece with its gap, %s in all", w.area(cut.Print), w.area(cut.Rack))}
	if cut.Waste >= calc.Percent/10 {
		text := trimZeros(cut.Waste.Percent(1)) + " % of the soap goes to trims and rests"
		if cut.Trim > 0 {
			text += ", " + w.length(cut.Trim) + " of it at each end"
		}
		pic.Rest = append(pic.Rest, text)
	}
	if b := cut.Better; b != nil {
		pic.Rest = append(pic.Rest, fmt.Sprintf("Slices of %s would give %s and waste %s %%", w.length(b.Cut.Thickness), count(b.Pieces, "piece"), trimZeros(b.Waste.Percent(1))))
	}
	if cut.Kind == calc.MoldCavity {
		pic.drawHollows(cut)
	} else {
		pic.drawBlock(cut)
	}
	return pic
}

// frame sets the size of what is drawn.
func (pic *cutPicture) frame(width, height int) {
	pic.Width, pic.Height = width, height
	pic.Box = fmt.Sprintf("%d %d %d %d", -cutMargin, -cutMargin, width+2*cutMargin, height+2*cutMargin)
}

// drawBlock draws a loaf or a slab up to its divider.
func (pic *cutPicture) drawBlock(cut orders.MoldCut) {
	pic.frame(drawn(cut.Length), drawn(cut.Width))
	end := drawn(cut.Filled)
	pic.Poured = []rectangle{{0, 0, end, pic.Height}}
	if cut.Part() {
		pic.Empty = []rectangle{{end, 0, pic.Width - end, pic.Height}}
		pic.Divider = &stroke{end, -cutMargin, end, pic.Height + cutMargin}
	}
	for _, x := range cut.Across {
		pic.Knives = append(pic.Knives, stroke{drawn(x), 0, drawn(x), pic.Height})
	}
	for _, y := range cut.Along {
		pic.Knives = append(pic.Knives, stroke{0, drawn(y), end, drawn(y)})
	}
	for _, s := range cut.Spots {
		pic.Spots = append(pic.Spots, rectangle{drawn(s.FromX), drawn(s.FromY), drawn(s.ToX - s.FromX), drawn(s.ToY - s.FromY)})
	}
}

// drawHollows draws each hollow of a cavity mold, in rows: how they lie in the
// mold is not known.
func (pic *cutPicture) drawHollows(cut orders.MoldCut) {
	if cut.Full > mostHollows {
		return
	}
	long, wide := drawn(cut.Length)+hollowGap, drawn(cut.Width)+hollowGap
	columns := 1
	for columns < cut.Full && float64(columns*long) < hollowsShape*float64((cut.Full+columns-1)/columns*wide) {
		columns++
	}
	pic.frame(columns*long+hollowGap, (cut.Full+columns-1)/columns*wide+hollowGap)
	for i := range cut.Full {
		hollow := rectangle{i%columns*long + hollowGap, i/columns*wide + hollowGap, drawn(cut.Length), drawn(cut.Width)}
		if i >= cut.Slices {
			pic.Empty = append(pic.Empty, hollow)
			continue
		}
		pic.Poured = append(pic.Poured, hollow)
		for _, x := range cut.Across {
			pic.Knives = append(pic.Knives, stroke{hollow.X + drawn(x), hollow.Y, hollow.X + drawn(x), hollow.Y + hollow.Height})
		}
		for _, y := range cut.Along {
			pic.Knives = append(pic.Knives, stroke{hollow.X, hollow.Y + drawn(y), hollow.X + hollow.Width, hollow.Y + drawn(y)})
		}
	}
	pic.Lines = append(pic.Lines, "Each cavity is drawn to scale; how they lie in the mold is not on record")
}
