package orders

import (
	"context"

	"ripeline/calc"
)

// MoldCut is what a cut plan makes of one full mold, with the cut lines as
// places in the mold: x along its length, y along its width.
type MoldCut struct {
	MoldID  string        `json:"mold_id"`
	Mold    string        `json:"mold"`
	Trouble string        `json:"trouble,omitempty"` // why it can not be cut so; there is no cut then
	Kind    calc.MoldKind `json:"kind"`
	Length  calc.Length   `json:"length_um"`
	Width   calc.Length   `json:"width_um"`
	Pieces  int           `json:"pieces"`
	Piece   PieceSize     `json:"piece"`
	Waste   calc.PPM      `json:"waste_ppm"` // of the mold, to trims and rests
	Better  calc.Length   `json:"less_waste_thickness_um,omitempty"`
	Across  []calc.Length `json:"across_um"` // x of cuts across the length
	Along   []calc.Length `json:"along_um"`  // y of cuts along it
	Spots   []CutSpot     `json:"spots"`     // where dressing may lie, when the plan keeps it clear of cuts
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
			cuts[i] = CutOf(m, d.Cut)
		}
		return cuts, nil
	})
}

// CutOf is what plan makes of m when full. A cavity mold has no cut lines.
func CutOf(m Mold, plan CutPlan) MoldCut {
	out := MoldCut{MoldID: m.ID, Mold: m.Name, Kind: m.Kind, Length: m.Length, Width: m.Width}
	mold, cuts := m.calcMold(), calc.CutPlan(plan)
	yield, err := calc.Yield(mold, cuts)
	if err != nil {
		out.Trouble = inWords(err, nil).Error()
		return out
	}
	layout, err := calc.CutLayout(mold, cuts)
	if err != nil {
		out.Trouble = inWords(err, nil).Error()
		return out
	}
	out.Pieces, out.Piece, out.Waste = yield.Pieces, PieceSize(yield.Piece), yield.WasteShare
	out.Across, out.Along = layout.Across, layout.Along
	if better, ok := calc.LessWaste(mold, cuts); ok {
		out.Better = better.Thickness
	}
	if plan.DressingClear > 0 {
		for _, s := range layout.Spots {
			out.Spots = append(out.Spots, CutSpot(s))
		}
	}
	return out
}
