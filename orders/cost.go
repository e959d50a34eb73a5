package orders

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

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
// where that is on record, else by the prices there are now.
func (b *Book) BatchCost(ctx context.Context, a Actor, batchID string) (Cost, error) {
	return read(ctx, b, a, func(tx Tx) (Cost, error) {
		m, err := soldMaking(ctx, tx, batchID)
		if err != nil {
			return Cost{}, err
		}
		return costing(ctx, tx, m, "Batch "+m.batch.Lot)
	})
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
	if trouble == nil && c.Pieces == 0 {
		trouble = errors.New("no sound piece is left of it to bear the cost")
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

// minutes is the work on the batch, by the recipe's times.
func (m making) minutes() int {
	r, n := m.Recipe, m.batch.Pieces
	return r.MakeFixed + r.CutFixed + r.WrapFixed + (n*(r.MakePer+r.CutPer+r.WrapPer)+59)/60
}

// sum works out the parts and the total.
func (c *Cost) sum(packaging calc.Money) {
	in := calc.BatchCost{PerPiece: packaging, Minutes: c.Minutes, HourlyRate: c.HourlyRate, Pieces: c.Pieces}
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
	c.Materials, c.Packaging, c.Labour, c.Total, c.Piece = got.Materials, got.Packaging, got.Labour, got.Total, got.Piece
}

// OrderCost is what an order costs, line by line, with a quote.
type OrderCost struct {
	Currency string          `json:"currency"`
	Markup   calc.PPM        `json:"markup_ppm"` // the workshop's, on top of cost
	Lines    []OrderLineCost `json:"lines"`
	Total    calc.Money      `json:"total_minor"`       // the sum of the lines' costs
	Price    calc.Money      `json:"quote_total_minor"` // the sum of the lines' prices
	Quote    string          `json:"quote"`             // text for the customer; empty while a line can not be costed, or costs nothing
	Missing  []string        `json:"missing"`
}

// OrderLineCost is a line's part of full batches of its design: every piece
// of it counts, spares and keepsakes too. The price is that of the ordered ones,
// rounded up to the smallest unit, and bears them all.
type OrderLineCost struct {
	LineID    string     `json:"line_id"`
	Design    string     `json:"design"`
	Basis     string     `json:"basis"`
	Trouble   string     `json:"trouble,omitempty"`
	Pieces    int        `json:"pieces"` // of the line in all
	Materials calc.Money `json:"materials_minor"`
	Packaging calc.Money `json:"packaging_minor"`
	Labour    calc.Money `json:"labour_minor"`
	Total     calc.Money `json:"total_minor"`
	Piece     calc.Money `json:"piece_minor"` // cost of one, rounded up
	Ordered   int        `json:"ordered"`     // pieces that are paid for
	Each      calc.Money `json:"quote_piece_minor"`
	Price     calc.Money `json:"quote_minor"` // Each x Ordered
}

// OrderCost costs an order by full molds of its designs, and drafts a quote.
func (b *Book) OrderCost(ctx context.Context, a Actor, orderID string) (OrderCost, error) {
	return read(ctx, b, a, func(tx Tx) (OrderCost, error) {
		o, err := tx.Orders().Get(ctx, orderID)
		if err != nil {
			return OrderCost{}, err
		}
		w, err := tx.Workshop(ctx)
		if err != nil {
			return OrderCost{}, err
		}
		out := OrderCost{Currency: w.Currency, Markup: w.Markup}
		for _, l := range o.Lines {
			if err := out.add(ctx, tx, l); err != nil {
				return OrderCost{}, err
			}
		}
		out.Quote = out.quote(o)
		return out, nil
	})
}

func (c *OrderCost) add(ctx context.Context, tx Tx, l OrderLine) error {
	d, err := tx.Designs().Get(ctx, l.DesignID)
	if err != nil {
		return err
	}
	batch, err := designCost(ctx, tx, l.DesignID)
	if err != nil {
		return err
	}
	line := OrderLineCost{LineID: l.ID, Design: d.Name, Basis: batch.Basis, Trouble: batch.Trouble, Pieces: l.Total(), Ordered: l.Pieces}
	if batch.Trouble == "" {
		part := calc.Cost{Materials: batch.Materials, Packaging: batch.Packaging, Labour: batch.Labour}.For(line.Pieces, batch.Pieces)
		line.Materials, line.Packaging, line.Labour = part.Materials, part.Packaging, part.Labour
		line.Total, line.Piece = part.Total, part.Piece
		line.Each = calc.PriceFor(line.Total, c.Markup, line.Ordered)
		line.Price = line.Each * calc.Money(line.Ordered)
	}
	c.Lines = append(c.Lines, line)
	c.Total += line.Total
	c.Price += line.Price
	for _, m := range batch.Missing {
		if !slices.Contains(c.Missing, m) {
			c.Missing = append(c.Missing, m)
		}
	}
	return nil
}

func spareText(n int) string {
	if n == 1 {
		return "1 spare"
	}
	return fmt.Sprintf("%d spares", n)
}

// quote is the text that a maker can paste into a letter.
func (c *OrderCost) quote(o Order) string {
	text := fmt.Sprintf("Quote for %s\n\n", cmp.Or(o.Title, fmt.Sprintf("order %d", o.Number)))
	for i, l := range c.Lines {
		if l.Trouble != "" || l.Price == 0 {
			return ""
		}
		text += fmt.Sprintf("%d × %s at %s each: %s", l.Ordered, l.Design, MoneyText(l.Each, c.Currency), MoneyText(l.Price, c.Currency))
		if spares := o.Lines[i].Spares; spares > 0 {
			text += fmt.Sprintf(", with %s on top", spareText(spares))
		}
		text += "\n"
	}
	day := time.Date(o.NeededBy.Year, o.NeededBy.Month, o.NeededBy.Day, 12, 0, 0, 0, time.UTC)
	return text + fmt.Sprintf("\nIn all: %s\nNeeded by %s.\n", MoneyText(c.Price, c.Currency), day.Format("Monday 2 January 2006"))
}
