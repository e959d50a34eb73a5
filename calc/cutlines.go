package calc

// Layout is where a full mold is cut, measured in the mold from one corner:
// x along its length, y along its width.
type Layout struct {
	Across []Length // x of cuts that run across the length, trims included
	Along  []Length // y of cuts that run along the length, trims included
	Spots  []Spot   // where dressing may lie on top, row by row
}

// Spot is a rectangle in the mold's plane.
type Spot struct {
	FromX, ToX, FromY, ToY Length
}

// CutLayout is the cut lines of plan and the places on top that keep
// DressingClear from each of them and from the walls, for drawing to scale. A cavity mold has no
// cut lines on top: each cavity is its own spot and the layout is empty. Errors
// as for Yield.
func CutLayout(mold Mold, plan CutPlan) (Layout, error) {
	cut, err := Yield(mold, plan)
	if err != nil {
		return Layout{}, err
	}
	switch mold.Kind {
	case MoldLoaf:
		_, columns := sliceGrid(mold.Width, mold.Depth, plan.PiecesPerSlice)
		across := cutLines(plan.TrimEnds, plan.Thickness, cut.Units, mold.Length)
		along := cutLines(0, mold.Width/Length(columns), columns, mold.Width)
		return layout(across, along, cut.Units, columns, plan), nil
	case MoldSlab:
		long, wide := slabPiece(mold, plan)
		across := cutLines(plan.TrimEnds, long, plan.Columns, mold.Length)
		along := cutLines(plan.TrimEnds, wide, plan.Rows, mold.Width)
		return layout(across, along, plan.Columns, plan.Rows, plan), nil
	}
	return Layout{}, nil
}

// lines are the edges of n equal parts from start, with the mold's far wall.
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

// cuts leaves out edges that are the mold's own walls. What integer division
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

func layout(across, along lines, columns, rows int, plan CutPlan) Layout {
	l := Layout{Across: across.cuts(), Along: along.cuts(), Spots: make([]Spot, 0, rows*columns)}
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
