package orders

import (
	"context"
	"errors"

	"ripeline/calc"
)

// Cost is what a batch costs and of what. Money is in the smallest unit of the
// workshop's currency; each material, of several lots each of them, and the labour
// are rounded half up on their own, and the parts add up to Total.
type Cost struct {
	Currency   string         `json:"currency"`
	Basis      string         `json:"basis"`             // what is costed, in words
	Trouble    string         `json:"trouble,omitempty"` // why it can not be
	Pieces     int            `json:"pieces"`            // sound ones, which bear it all
	Lines      []MaterialCost `json:"lines"`
	Materials  calc.Money     `json:"materials_minor"` // the sum of the lines
	Packaging  calc.Money     `json:"packaging_minor"`
	Minutes    int            `json:"minutes"` // at the bench: pour, cut and wrap
	HourlyRate calc.Money     `json:"hourly_rate_minor"`
	Labour     calc.Money     `json:"labour_minor"`
	Total      calc.Money     `json:"total_minor"`
	Piece      calc.Money     `json:"piece_minor"` // Total by piece, rounded up
	Missing    []string       `json:"missing"`     // what is counted as nothing for want of a price, in sentences
}

// BatchCost is what a batch costs: by what was paid for the lots it was made of
// where that is on record, else by the prices there are now: the ingredient's, or
// where it has none what was paid for the lot of it that came last.
func (b *Book) BatchCost(ctx context.Context, a Actor, batchID string) (Cost, error) {
	return read(ctx, b, a, func(tx Tx) (Cost, error) { return batchCost(ctx, tx, batchID) })
}

func batchCost(ctx context.Context, tx Tx, batchID string) (Cost, error) {
	m, err := soldMaking(ctx, tx, batchID)
	if err != nil {
		return Cost{}, err
	}
	d, err := tx.Designs().Get(ctx, m.Design.ID)
	if err != nil {
		return Cost{}, err
	}
	m.Design.Packaging = d.Packaging // a price may have come since the pour
	return costing(ctx, tx, m, "Batch "+m.batch.Lot)
}

// DesignCost is what a full mold of a design costs.
func (b *Book) DesignCost(ctx context.Context, a Actor, designID string) (Cost, error) {
	return read(ctx, b, a, func(tx Tx) (Cost, error) { return designCost(ctx, tx, designID) })
}

func designCost(ctx context.Context, tx Tx, designID string) (Cost, error) {
	m, err := usualMaking(ctx, tx, designID)
	if err != nil {
		return Cost{}, err
	}
	basis := "A batch"
	if len(m.Molds) > 0 {
		basis = "One full " + m.Molds[0].Name
	}
	return costing(ctx, tx, m, basis+" of "+m.Design.Name)
}

// costing costs m with the workshop's rate and prices.
func costing(ctx context.Context, tx Tx, m making, basis string) (Cost, error) {
	w, err := tx.Workshop(ctx)
	if err != nil {
		return Cost{}, err
	}
	c := Cost{Currency: w.Currency, Basis: basis, Pieces: m.batch.Sound, HourlyRate: w.HourlyRate, Minutes: m.minutes()}
	mixed, trouble := m.mixed()
	if trouble == nil && c.Pieces == 0 && m.batch.State != BatchFailed {
		trouble = errors.New(noPiece)
	}
	if trouble != nil {
		c.Trouble = trouble.Error()
		return c, nil //nolint:nilerr // the trouble is told in the answer
	}
	if err := c.materials(ctx, tx, m, mixed); err != nil {
		return Cost{}, err
	}
	if w.HourlyRate == 0 {
		c.Missing = append(c.Missing, "The hour at the bench has no price: set one in the settings.")
	}
	if m.Design.Packaging == 0 {
		c.Missing = append(c.Missing, "The packaging of a piece has no price: set one with the design.")
	}
	c.sum(m.Design.Packaging)
	return c, nil
}

// noPiece says why pieces cost nothing that can be told.
const noPiece = "no sound piece is left of it to bear the cost"

// minutes is the work on the batch, by the recipe's times; on one that failed only
// what was done before.
func (m making) minutes() int {
	r, n := m.Recipe, m.batch.Pieces
	if m.batch.State == BatchFailed {
		r.WrapFixed, r.WrapPer = 0, 0
		if m.batch.CutAt.IsZero() {
			r.CutFixed, r.CutPer = 0, 0
		}
	}
	return r.MakeFixed + r.CutFixed + r.WrapFixed + (n*(r.MakePer+r.CutPer+r.WrapPer)+59)/60
}

// sum works out the parts and the total. Where no piece is left the total is what
// was lost, and none has a cost.
func (c *Cost) sum(packaging calc.Money) {
	in := calc.BatchCost{PerPiece: packaging, Minutes: c.Minutes, HourlyRate: c.HourlyRate, Pieces: c.Pieces}
	if c.Pieces == 0 {
		in.Pieces, in.PerPiece = 1, 0
	}
	for i := range c.Lines {
		l := &c.Lines[i]
		for _, m := range l.portions {
			l.Cost += m.Cost()
			in.Materials = append(in.Materials, m)
		}
	}
	got, err := calc.CostOf(in)
	if err != nil {
		c.Trouble = inWords(err, nil).Error()
		return
	}
	c.Materials, c.Packaging, c.Labour, c.Total = got.Materials, got.Packaging, got.Labour, got.Total
	if c.Pieces > 0 {
		c.Piece = got.Piece
	}
}
