package orders

import (
	"context"
	"fmt"
	"math"
	"slices"

	"ripeline/calc"
)

// MoldCut is what a cut plan makes of the soap in one mold, full or poured in
// part, with the cut lines as places in the mold: x along its length, y along its
// width. In a cavity mold they are places in each hollow.
type MoldCut struct {
	MoldID  string        `json:"mold_id"`
	Mold    string        `json:"mold"`
	Units   int           `json:"units,omitempty"`   // molds of a batch that are poured so; absent of a design's cut
	Trouble string        `json:"trouble,omitempty"` // why it can not be cut so; there is no cut then
	Kind    calc.MoldKind `json:"kind"`
	Length  calc.Length   `json:"length_um"`
	Width   calc.Length   `json:"width_um"`
	Filled  calc.Length   `json:"filled_um"`        // how far along its length it is poured, up to a divider; 0 for cavities
	Slices  int           `json:"slices"`           // that are poured, of a loaf; columns of a slab, cavities
	Full    int           `json:"slices_when_full"` // the same of a full mold
	Step    int           `json:"pieces_per_slice"`
	Pieces  int           `json:"pieces"`
	Sound   int           `json:"likely_sound"` // when the usual share is spoiled
	Piece   PieceSize     `json:"piece"`
	Waste   calc.PPM      `json:"waste_ppm"`            // of what is poured, to trims and rests
	Print   calc.Area     `json:"footprint_mm2"`        // rack area of a piece, its gap included
	Rack    calc.Area     `json:"rack_mm2"`             // of all pieces
	Trim    calc.Length   `json:"trim_ends_um"`         // lost at each end or edge
	Better  *BetterCut    `json:"less_waste,omitempty"` // nearest plan that wastes less; none when there is none
	Across  []calc.Length `json:"across_um"`            // x of cuts across the length
	Along   []calc.Length `json:"along_um"`             // y of cuts along it
	Spots   []CutSpot     `json:"spots"`                // where dressing may lie, when the plan keeps it clear of cuts
}

// BetterCut is the nearest cut plan that wastes less of a mold, and what that
// mold then gives.
type BetterCut struct {
	Cut    CutPlan  `json:"cut"`
	Pieces int      `json:"pieces"`
	Waste  calc.PPM `json:"waste_ppm"`
}

// PieceSize is a piece's edges as cut, longest first.
type PieceSize struct {
	Long   calc.Length `json:"long_um"`
	Middle calc.Length `json:"middle_um"`
	Short  calc.Length `json:"short_um"`
}

// CutSpot is a rectangle on top of the mold.
type CutSpot struct {
	FromX calc.Length `json:"from_x_um"`
	ToX   calc.Length `json:"to_x_um"`
	FromY calc.Length `json:"from_y_um"`
	ToY   calc.Length `json:"to_y_um"`
}

// DesignCuts is the cut of a design in each mold it may be poured in.
func (b *Book) DesignCuts(ctx context.Context, a Actor, designID string) ([]MoldCut, error) {
	return read(ctx, b, a, func(tx Tx) ([]MoldCut, error) {
		d, err := tx.Designs().Get(ctx, designID)
		if err != nil {
			return nil, err
		}
		cuts := make([]MoldCut, len(d.MoldIDs))
		for i, id := range d.MoldIDs {
			m, err := tx.Molds().Get(ctx, id)
			if err != nil {
				return nil, err
			}
			cuts[i] = CutOf(m, d)
		}
		return cuts, nil
	})
}

// CutOf is what the design's cut plan makes of m when full.
func CutOf(m Mold, d Design) MoldCut { return cutOf(m, d, math.MaxInt32) }

// cutOf is what it makes of m poured for at least so many pieces.
func cutOf(m Mold, d Design, pieces int) MoldCut {
	out := MoldCut{MoldID: m.ID, Mold: m.Name, Kind: m.Kind, Length: m.Length, Width: m.Width, Trim: d.Cut.TrimEnds}
	mold, cuts := m.calcMold(), calc.CutPlan(d.Cut)
	yield, err := calc.Yield(mold, cuts)
	if err != nil {
		out.Trouble = inWords(err, nil).Error()
		return out
	}
	layout, err := calc.CutLayout(mold, cuts, pieces)
	if err != nil {
		out.Trouble = inWords(err, nil).Error()
		return out
	}
	out.Slices, out.Full, out.Step, out.Filled = yield.UnitsFor(pieces), yield.Units, yield.Step, layout.Filled
	out.Pieces = out.Slices * out.Step
	out.Sound = d.sound(out.Pieces)
	out.Piece, out.Waste, out.Print = PieceSize(yield.Piece), yield.WasteShare, yield.Footprint
	out.Rack = yield.Footprint * calc.Area(out.Pieces)
	out.Across, out.Along = layout.Across, layout.Along
	if out.Part() {
		out.Waste = partWaste(mold, yield, pieces)
	} else {
		out.Better = betterCut(mold, cuts)
	}
	if d.Cut.DressingClear > 0 {
		for _, s := range layout.Spots {
			out.Spots = append(out.Spots, CutSpot(s))
		}
	}
	return out
}

// sound is how many of so many pieces are usually not spoiled, as the plan counts.
func (d Design) sound(pieces int) int {
	return pieces - int((calc.PPM(pieces)*d.Spoil+calc.Whole-1)/calc.Whole)
}

// Part reports whether the mold is poured in part only.
func (c MoldCut) Part() bool { return c.Slices < c.Full }

// PouredText says how far the mold is poured. What is poured is full height: a
// share of the whole mold would be taken for a lower fill.
func (c MoldCut) PouredText() string {
	units := map[calc.MoldKind]string{calc.MoldLoaf: "slices", calc.MoldSlab: "columns", calc.MoldCavity: "cavities"}[c.Kind]
	switch {
	case c.Kind == calc.MoldCavity && c.Part():
		return fmt.Sprintf("%d of %d %s", c.Slices, c.Full, units)
	case c.Kind == calc.MoldCavity && c.Full > 1:
		return fmt.Sprintf("all %d %s", c.Full, units)
	case !c.Part():
		return "full"
	}
	return fmt.Sprintf("full height up to a divider, for %d of its %d %s", c.Slices, c.Full, units)
}

// partWaste is the share of what is poured that does not become pieces.
func partWaste(mold calc.Mold, cut calc.Cut, pieces int) calc.PPM {
	poured := cut.FillFor(pieces).OfVolume(mold.Volume())
	soap := calc.Volume(cut.UnitsFor(pieces)*cut.Step) * cut.PieceSize
	return calc.PPM(max(0, float64(poured-soap)/float64(poured)*float64(calc.Whole)))
}

func betterCut(m calc.Mold, plan calc.CutPlan) *BetterCut {
	better, gives, ok := calc.LessWaste(m, plan)
	if !ok {
		return nil
	}
	return &BetterCut{Cut: CutPlan(better), Pieces: gives.Pieces, Waste: gives.WasteShare}
}

// TakeLessWaste changes a design's cut to the nearest plan that wastes less of
// one of its molds, and plans again.
func (b *Book) TakeLessWaste(ctx context.Context, a Actor, designID string, version int, moldID string) (Design, PlanChange, error) {
	if err := a.may(Owner, true); err != nil {
		return Design{}, PlanChange{}, err
	}
	out, err := write(ctx, b, a, func(tx Tx) (designChanged, error) {
		d, err := tx.Designs().Get(ctx, designID)
		if err != nil {
			return designChanged{}, err
		}
		if err := d.seen(version, d.Name); err != nil {
			return designChanged{}, err
		}
		text, err := d.takeLessWaste(ctx, tx, moldID)
		if err != nil {
			return designChanged{}, err
		}
		if err := checkDesign(ctx, tx, &d, &d); err != nil {
			return designChanged{}, err
		}
		if err := tx.Designs().Update(ctx, &d); err != nil {
			return designChanged{}, fmt.Errorf("change the cut of %s: %w", d.Name, err)
		}
		if err := b.journal(ctx, tx, a, "design.change", d.ID, text); err != nil {
			return designChanged{}, err
		}
		change, err := b.replan(ctx, tx, a, text)
		return designChanged{d, change}, err
	})
	return out.Design, out.Plan, err
}

// takeLessWaste puts the better cut into the design, and says so.
func (d *Design) takeLessWaste(ctx context.Context, tx Tx, moldID string) (string, error) {
	var c Check
	c.Want(slices.Contains(d.MoldIDs, moldID), "mold_id", "is none of this design's molds; choose one of them")
	if err := c.Err(); err != nil {
		return "", err
	}
	mold, err := tx.Molds().Get(ctx, moldID)
	if err != nil {
		return "", err
	}
	better := betterCut(mold.calcMold(), calc.CutPlan(d.Cut))
	if better == nil {
		return "", &Conflict{fmt.Sprintf("No cut near the one %s has wastes less of %s, so nothing was changed.", d.Name, mold.Name)}
	}
	d.Cut = better.Cut
	return fmt.Sprintf("Changed design: %s is cut in slices of %s, %s from %s.", d.Name, d.Cut.Thickness, pieces(better.Pieces), mold.Name), nil
}
