package calc

// Limits of a cut plan; common practice with wide room.
const (
	minThickness    = 2 * Millimetre
	maxThickness    = 500 * Millimetre
	maxPiecesAcross = 100
	maxSpacing      = 200 * Millimetre
)

// CutPlan says how the soap of one mold becomes pieces.
//
// Loaf: slices of Thickness along the mold's length after TrimEnds is lost at
// each end; each slice gives PiecesPerSlice equal pieces, parted so that they
// are as near to square as the number allows. Rows and Columns stay zero.
//
// Slab: TrimEnds is lost along all four edges; Columns part the length, Rows
// the width. Thickness and PiecesPerSlice stay zero.
//
// Cavity: each cast gives PiecesPerSlice equal pieces. What is named above for
// the other kinds stays zero.
//
// Spacing is the free gap beside each piece on the rack. Dressing on top keeps
// DressingClear away from every cut line and from the walls.
type CutPlan struct {
	Thickness      Length
	TrimEnds       Length
	PiecesPerSlice int
	Rows, Columns  int
	Spacing        Length
	DressingClear  Length
}

// Cut is what a full mold gives under a cut plan.
//
// A mold may be poured part-full in whole units: slices of a loaf (behind a
// divider), columns of a slab, cavities. A part-full mold of n units takes
// TrimShare + n x UnitShare of the mold's volume.
type Cut struct {
	Units      int    // slices, columns or cavities
	Step       int    // pieces per unit
	Pieces     int    // Units x Step
	Piece      Size   // one piece as cut
	PieceSize  Volume // volume of one piece
	Waste      Volume // trims and what is left of the last slice
	WasteShare PPM    // Waste as a share of the mold
	TrimShare  PPM    // share of the mold lost whatever is poured
	UnitShare  PPM    // share of the mold per unit
	Footprint  Area   // rack area of one piece standing on its long edge, with its gap; rounded up
}

// Size is a piece's edges, longest first.
type Size struct {
	Long, Middle, Short Length
}

// Yield is what plan makes of a full mold. An impossible mold or plan gives
// FieldErrors at mold.* and at the plan's fields: thickness, trim_ends,
// pieces_per_slice, rows, columns, spacing, dressing_clear.
func Yield(mold Mold, plan CutPlan) (Cut, error) {
	if err := checkCut(mold, plan); err != nil {
		return Cut{}, err
	}
	var c Cut
	switch mold.Kind {
	case MoldLoaf:
		c = loafCut(mold, plan)
	case MoldSlab:
		c = slabCut(mold, plan)
	default:
		c = cavityCut(mold, plan)
	}
	c.Pieces = c.Units * c.Step
	whole := mold.Volume()
	c.Waste = max(0, whole-Volume(c.Pieces)*c.PieceSize)
	c.WasteShare = PPM(mulDiv(int64(c.Waste), int64(Whole), int64(whole)))
	c.Footprint = c.Piece.footprint(plan.Spacing)
	return c, nil
}

// FillFor is the share of the mold to pour for at least the given pieces,
// counted in whole units. All pieces of the plan take the full mold.
func (c Cut) FillFor(pieces int) PPM {
	switch {
	case pieces <= 0:
		return 0
	case pieces > c.Pieces-c.Step:
		return Whole
	}
	return c.TrimShare + PPM(c.UnitsFor(pieces))*c.UnitShare
}

// UnitsFor is how many of the mold's units at least the given pieces take, all
// of them at most.
func (c Cut) UnitsFor(pieces int) int {
	return min(c.Units, max(0, pieces+c.Step-1)/c.Step)
}

// MinPieces is the fewest pieces that fill the mold to at least share.
func (c Cut) MinPieces(share PPM) int {
	for units := 1; units < c.Units; units++ {
		if c.FillFor(units*c.Step) >= share {
			return units * c.Step
		}
	}
	return c.Pieces
}

// LessWaste is the plan nearest in thickness that wastes less of a loaf: the
// same slices a little thicker, or one more a little thinner, in steps of
// 0.1 mm, within a tenth of the thickness asked for; and what it gives. ok is
// false when there is none.
func LessWaste(mold Mold, plan CutPlan) (better CutPlan, gives Cut, ok bool) {
	now, err := Yield(mold, plan)
	if err != nil || mold.Kind != MoldLoaf {
		return CutPlan{}, Cut{}, false
	}
	usable := mold.Length - 2*plan.TrimEnds
	nearest := plan.Thickness / 10
	for _, slices := range []int{now.Units, now.Units + 1} {
		const step = Millimetre / 10
		candidate := plan
		candidate.Thickness = usable / Length(slices) / step * step
		change := max(candidate.Thickness-plan.Thickness, plan.Thickness-candidate.Thickness)
		cut, err := Yield(mold, candidate)
		if err == nil && cut.Waste < now.Waste && change <= nearest {
			better, gives, ok, nearest = candidate, cut, true, change-1
		}
	}
	return better, gives, ok
}

func loafCut(mold Mold, plan CutPlan) Cut {
	usable := mold.Length - 2*plan.TrimEnds
	rows, columns := sliceGrid(mold.Width, mold.Depth, plan.PiecesPerSlice)
	wide, high := mold.Width/Length(columns), mold.Depth/Length(rows)
	return Cut{
		Units:     int(usable / plan.Thickness),
		Step:      plan.PiecesPerSlice,
		Piece:     sized(plan.Thickness, wide, high),
		PieceSize: boxVolume(plan.Thickness, wide, high),
		TrimShare: PPM(mulDivUp(int64(2*plan.TrimEnds), int64(Whole), int64(mold.Length))),
		UnitShare: PPM(mulDivUp(int64(plan.Thickness), int64(Whole), int64(mold.Length))),
	}
}

func slabCut(mold Mold, plan CutPlan) Cut {
	long, wide := slabPiece(mold, plan)
	return Cut{
		Units:     plan.Columns,
		Step:      plan.Rows,
		Piece:     sized(long, wide, mold.Depth),
		PieceSize: boxVolume(long, wide, mold.Depth),
		TrimShare: PPM(mulDivUp(int64(2*plan.TrimEnds), int64(Whole), int64(mold.Length))),
		UnitShare: PPM(mulDivUp(int64(long), int64(Whole), int64(mold.Length))),
	}
}

// slabPiece is the top of one piece of a slab, along the length and the width.
func slabPiece(mold Mold, plan CutPlan) (long, wide Length) {
	return (mold.Length - 2*plan.TrimEnds) / Length(plan.Columns),
		(mold.Width - 2*plan.TrimEnds) / Length(plan.Rows)
}

// cavityCut takes a cavity of unknown depth to be as deep as its volume asks
// for over its face.
func cavityCut(mold Mold, plan CutPlan) Cut {
	depth := mold.Depth
	if depth == 0 {
		face := int64(mold.Length) * int64(mold.Width) / 1_000_000
		depth = Length(mulDivUp(int64(mold.CavityVolume), int64(Millimetre), max(1, face)))
	}
	rows, columns := sliceGrid(mold.Length, mold.Width, plan.PiecesPerSlice)
	return Cut{
		Units:     mold.Cavities,
		Step:      plan.PiecesPerSlice,
		Piece:     sized(mold.Length/Length(columns), mold.Width/Length(rows), depth),
		PieceSize: mold.CavityVolume / Volume(plan.PiecesPerSlice),
		UnitShare: PPM(mulDivUp(1, int64(Whole), int64(mold.Cavities))),
	}
}

// sliceGrid parts a face of width x height into n equal pieces as near to
// square as can be; among equals the one with fewer rows.
func sliceGrid(width, height Length, n int) (rows, columns int) {
	var bestLong, bestShort Length
	for r := 1; r <= n; r++ {
		if n%r != 0 {
			continue
		}
		w, h := width/Length(n/r), height/Length(r)
		long, short := max(w, h), min(w, h)
		if rows == 0 || long*bestShort < bestLong*short {
			rows, columns, bestLong, bestShort = r, n/r, long, short
		}
	}
	return rows, columns
}

func sized(a, b, c Length) Size {
	long, short := max(a, b, c), min(a, b, c)
	return Size{Long: long, Middle: a + b + c - long - short, Short: short}
}

// footprint has the piece stand on its long narrow edge, as bars are set on a
// rack so that both faces dry (common practice).
func (s Size) footprint(spacing Length) Area {
	const squareMicrometresPerSquareMillimetre = 1_000_000
	return Area(mulDivUp(int64(s.Long+spacing), int64(s.Short+spacing), squareMicrometresPerSquareMillimetre))
}
