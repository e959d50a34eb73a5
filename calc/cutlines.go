package calc

// Layout is where the soap in a mold is cut, measured in the mold from one
// corner: x along its length, y along its width.
type Layout struct {
	Filled Length   // how far along the length it is poured: up to the divider of a part-full mold
	Across []Length // x of cuts that run across the length, trims included
	Along  []Length // y of cuts that run along the length, trims included
	Spots  []Spot   // where dressing may lie on top, row by row
}

// Spot is a rectangle in the mold's plane.
type Spot struct {
	FromX, ToX, FromY, ToY Length
}

// CutLayout is the cut lines of plan for at least the given pieces, as FillFor
// pours them, and the places on top that keep DressingClear from each of them and
// from the walls, for drawing to scale. Of a cavity mold it is the cuts of one hollow:
// each is its own spot, all or none of it is poured, and one piece has no cuts.
// Errors as for Yield.
func CutLayout(mold Mold, plan CutPlan, pieces int) (Layout, error) {
	cut, err := Yield(mold, plan)
	if err != nil {
		return Layout{}, err
	}
	units := cut.UnitsFor(pieces)
	switch mold.Kind {
	case MoldLoaf:
		_, columns := sliceGrid(mold.Width, mold.Depth, plan.PiecesPerSlice)
		filled := poured(mold, plan, plan.Thickness, units, cut.Units)
		across := cutLines(plan.TrimEnds, plan.Thickness, units, filled)
		along := cutLines(0, mold.Width/Length(columns), columns, mold.Width)
		return layout(filled, across, along, units, columns, plan), nil
	case MoldSlab:
		long, wide := slabPiece(mold, plan)
		filled := poured(mold, plan, long, units, cut.Units)
		across := cutLines(plan.TrimEnds, long, units, filled)
		along := cutLines(plan.TrimEnds, wide, plan.Rows, mold.Width)
		return layout(filled, across, along, units, plan.Rows, plan), nil
	}
	rows, columns := sliceGrid(mold.Length, mold.Width, plan.PiecesPerSlice)
	return Layout{
		Across: cutLines(0, mold.Length/Length(columns), columns, mold.Length).cuts(),
		Along:  cutLines(0, mold.Width/Length(rows), rows, mold.Width).cuts(),
	}, nil
}

// poured is how far along the mold its soap reaches: units of step with a trim at
// both ends, or all of the length for all of them.
func poured(mold Mold, plan CutPlan, step Length, units, all int) Length {
	if units == all {
		return mold.Length
	}
	return 2*plan.TrimEnds + Length(units)*step
}

// lines are the edges of n equal parts from start, with the far wall of mold
// or divider.
type lines struct {
	edges []Length
	wall  Length
}

func cutLines(start, step Length, n int, wall Length) lines {
	edges := make([]Length, n+1)
	for i := range edges {
		edges[i] = start + Length(i)*step
	}
	return lines{edges: edges, wall: wall}
}

// cuts leaves out edges that are walls. What integer division
// left beside the far wall, under a micrometre per part, is no cut either.
func (l lines) cuts() []Length {
	var out []Length
	for _, e := range l.edges {
		if e > 0 && l.wall-e >= Length(len(l.edges)) {
			out = append(out, e)
		}
	}
	return out
}

func layout(filled Length, across, along lines, columns, rows int, plan CutPlan) Layout {
	l := Layout{Filled: filled, Across: across.cuts(), Along: along.cuts(), Spots: make([]Spot, 0, rows*columns)}
	for r := range rows {
		for c := range columns {
			l.Spots = append(l.Spots, Spot{
				FromX: across.edges[c] + plan.DressingClear, ToX: across.edges[c+1] - plan.DressingClear,
				FromY: along.edges[r] + plan.DressingClear, ToY: along.edges[r+1] - plan.DressingClear,
			})
		}
	}
	return l
}
