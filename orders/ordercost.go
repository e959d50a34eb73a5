package orders

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"ripeline/calc"
)

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

// OrderLineCost is a line's part, by pieces, of the batches that its pieces come
// from, and of a full batch of its design for those that come from none: every
// piece of it counts, spares and keepsakes too. The price is that of the ordered
// ones, rounded up to the smallest unit, and bears them all.
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

// OrderCost costs an order by the batches its pieces come from, the rest by full
// molds of its designs, and drafts a quote.
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
		traced, err := tx.Trace(ctx, TraceOf{OrderID: o.ID})
		if err != nil {
			return OrderCost{}, err
		}
		out := OrderCost{Currency: w.Currency, Markup: w.Markup}
		for _, l := range o.Lines {
			if err := out.add(ctx, tx, l, traced); err != nil {
				return OrderCost{}, err
			}
		}
		out.Quote = out.quote(o)
		return out, nil
	})
}

func (c *OrderCost) add(ctx context.Context, tx Tx, l OrderLine, traced []TracedBatch) error {
	d, err := tx.Designs().Get(ctx, l.DesignID)
	if err != nil {
		return err
	}
	parts, err := l.costs(ctx, tx, traced)
	if err != nil {
		return err
	}
	line := OrderLineCost{LineID: l.ID, Design: d.Name, Pieces: l.Total(), Ordered: l.Pieces}
	line.bear(parts, c.Markup)
	c.Lines = append(c.Lines, line)
	c.Total += line.Total
	c.Price += line.Price
	for _, p := range parts {
		for _, m := range p.whole.Missing {
			if !slices.Contains(c.Missing, m) {
				c.Missing = append(c.Missing, m)
			}
		}
	}
	return nil
}

// partCost is some pieces of a line and the cost of the batch they come from.
type partCost struct {
	pieces int
	whole  Cost
}

// trouble says why the part can not be costed, "" when it can.
func (p partCost) trouble() string {
	if p.whole.Trouble == "" && p.whole.Pieces == 0 {
		return noPiece
	}
	return p.whole.Trouble
}

// costs is what the line's pieces are a part of: the traced batches, in their
// order, then a full mold of the design.
func (l OrderLine) costs(ctx context.Context, tx Tx, traced []TracedBatch) ([]partCost, error) {
	var out []partCost
	rest := l.Total()
	for _, t := range traced {
		held := min(t.holds(l.ID), rest)
		if held == 0 {
			continue
		}
		whole, err := batchCost(ctx, tx, t.BatchID)
		if err != nil {
			return nil, err
		}
		out = append(out, partCost{held, whole})
		rest -= held
	}
	if rest == 0 {
		return out, nil
	}
	whole, err := designCost(ctx, tx, l.DesignID)
	return append(out, partCost{rest, whole}), err
}

// holds is how many pieces of the batch an order's line holds.
func (t TracedBatch) holds(lineID string) int {
	n := 0
	for _, l := range t.Lines {
		if l.LineID == lineID {
			n += l.Pieces
		}
	}
	return n
}

// bear adds up the parts and sets the price. Where one of them can not be costed
// the line can not.
func (l *OrderLineCost) bear(parts []partCost, markup calc.PPM) {
	l.Basis = basisOf(parts)
	for _, p := range parts {
		if trouble := p.trouble(); trouble != "" {
			l.Trouble = trouble
			l.Materials, l.Packaging, l.Labour, l.Total = 0, 0, 0, 0
			return
		}
		share := calc.Cost{Materials: p.whole.Materials, Packaging: p.whole.Packaging, Labour: p.whole.Labour}.For(p.pieces, p.whole.Pieces)
		l.Materials += share.Materials
		l.Packaging += share.Packaging
		l.Labour += share.Labour
		l.Total += share.Total
	}
	n := calc.Money(l.Pieces)
	l.Piece = (l.Total + n - 1) / n
	l.Each = calc.PriceFor(l.Total, markup, l.Ordered)
	l.Price = l.Each * calc.Money(l.Ordered)
}

// basisOf says what a line is costed by, and of several how many pieces by each.
func basisOf(parts []partCost) string {
	if len(parts) == 1 {
		return parts[0].whole.Basis
	}
	texts := make([]string, len(parts))
	for i, p := range parts {
		texts[i] = fmt.Sprintf("%s for %s", p.whole.Basis, pieces(p.pieces))
	}
	return strings.Join(texts, ", ")
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
