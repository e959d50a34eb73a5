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
// workshop's currency; each material and the labour are rounded half up on
// their own, and the parts add up to Total.
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

// MaterialCost is what one ingredient costs.
type MaterialCost struct {
	IngredientID string     `json:"ingredient_id,omitempty"`
	Name         string     `json:"name"`
	Mass         calc.Mass  `json:"mass_mg"`
	Price        calc.Money `json:"price_minor_per_kg"`
	Cost         calc.Money `json:"cost_minor"`
}

// BatchCost is what a batch costs, by the prices there are now.
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

// lyeOnTheShelf is the workshop's lye of a kind, for a recipe that does not name
// one: the first with a price, by name.
func lyeOnTheShelf(ctx context.Context, tx Tx, m making, kind Alkali) (Ingredient, error) {
	of := func(i Ingredient) bool { return i.Kind == KindLye && cmp.Or(i.Alkali, AlkaliNaOH) == kind }
	if named := slices.IndexFunc(m.Ingredients, of); named >= 0 {
		return m.Ingredients[named], nil
	}
	all, err := allOf(ctx, tx.Ingredients(), ListQuery{Status: string(KindLye)})
	all = slices.DeleteFunc(all, func(i Ingredient) bool { return !of(i) })
	if err != nil || len(all) == 0 {
		return Ingredient{Name: map[Alkali]string{AlkaliNaOH: labelLye, AlkaliKOH: labelPotash}[kind], Kind: KindLye}, err
	}
	priced := slices.IndexFunc(all, func(i Ingredient) bool { return i.Price > 0 })
	return all[max(0, priced)], nil
}

// materials lists what is weighed out. The water of the lye costs nothing.
func (c *Cost) materials(ctx context.Context, tx Tx, m making, mixed mixture) error {
	for _, n := range mixed.needs {
		if n.ingredient.Kind != KindLye {
			c.material(n.ingredient, n.mass)
		}
	}
	for _, lye := range []struct {
		kind Alkali
		mass calc.Mass
	}{{AlkaliNaOH, mixed.lye.NaOH}, {AlkaliKOH, mixed.lye.KOH}} {
		i, err := lyeOnTheShelf(ctx, tx, m, lye.kind)
		if err != nil {
			return err
		}
		c.material(i, lye.mass)
	}
	return nil
}

func (c *Cost) material(i Ingredient, mass calc.Mass) {
	if mass <= 0 {
		return
	}
	c.Lines = append(c.Lines, MaterialCost{IngredientID: i.ID, Name: i.Name, Mass: mass, Price: i.Price})
	if i.Price == 0 && i.labelName() != labelWater {
		c.Missing = append(c.Missing, i.Name+" has no price: enter what a kilogram costs.")
	}
}

// sum works out the parts and the total.
func (c *Cost) sum(packaging calc.Money) {
	in := calc.BatchCost{PerPiece: packaging, Minutes: c.Minutes, HourlyRate: c.HourlyRate, Pieces: c.Pieces}
	for i := range c.Lines {
		l := &c.Lines[i]
		m := calc.Material{Mass: l.Mass, Price: l.Price, Per: calc.Kilogram}
		l.Cost = m.Cost()
		in.Materials = append(in.Materials, m)
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
