package orders

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// SaleCheck is what stands between soap and its sale.
type SaleCheck struct {
	Flags []string `json:"flags"` // sentences; none when nothing is known to stand in the way
}

// notForSale says why soap of a recipe is not to be sold as things are. The
// recipe counts as it is now.
func (f *RecipeFragrance) notForSale(design string) []string {
	var out []string
	if f.Refusal != "" {
		out = append(out, fmt.Sprintf("%s is not for sale: %s. Ask your safety assessor what becomes of what there is.", design, f.Refusal))
	}
	if len(f.Missing) > 0 {
		verb := map[bool]string{true: "has", false: "have"}[len(f.Missing) == 1]
		out = append(out, fmt.Sprintf("%s is not for sale yet: %s %s no certificate on file. Get it from the supplier and enter it.",
			design, strings.Join(f.Missing, " and "), verb))
	}
	return out
}

// BatchSale is what stands between a batch and its sale.
func (b *Book) BatchSale(ctx context.Context, a Actor, batchID string) (SaleCheck, error) {
	return read(ctx, b, a, func(tx Tx) (SaleCheck, error) {
		m, err := soldMaking(ctx, tx, batchID)
		return SaleCheck{m.notForSale()}, err
	})
}

// OrderSale is what stands between an order's pieces and their sale.
func (b *Book) OrderSale(ctx context.Context, a Actor, orderID string) (SaleCheck, error) {
	return read(ctx, b, a, func(tx Tx) (SaleCheck, error) {
		o, err := tx.Orders().Get(ctx, orderID)
		if err != nil || !o.open() {
			return SaleCheck{}, err
		}
		all, err := tx.Allocations(ctx)
		if err != nil {
			return SaleCheck{}, err
		}
		flags, err := o.notForSale(ctx, tx, all)
		return SaleCheck{flags}, err
	})
}

func (m making) notForSale() []string {
	f := FragranceOf(m.Recipe, m.Ingredients)
	flags := f.notForSale(m.Design.Name)
	if m.batch.State == BatchFailed {
		flags = append(flags, m.batch.Lot+" failed: it is not for sale.")
	}
	return flags
}

// notForSale asks of the batches that an open order's pieces come from, and
// of the design where pieces come from no batch that is known.
func (o Order) notForSale(ctx context.Context, tx Tx, all []Allocation) ([]string, error) {
	var out []string
	for _, l := range o.Lines {
		unknown := l.Total()
		for _, a := range all {
			if a.LineID != l.ID {
				continue
			}
			batch, err := a.batch(ctx, tx)
			if err != nil {
				return nil, err
			}
			if batch == "" {
				continue
			}
			m, err := soldMaking(ctx, tx, batch)
			if err != nil {
				return nil, err
			}
			unknown -= a.Pieces
			out = append(out, m.notForSale()...)
		}
		if unknown <= 0 {
			continue
		}
		d, f, err := fragranceOfDesign(ctx, tx, l.DesignID)
		if err != nil {
			return nil, err
		}
		out = append(out, f.notForSale(d.Name)...)
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

// batch is the id of the batch that the pieces come from; "" when they were
// counted in by hand.
func (a Allocation) batch(ctx context.Context, tx Tx) (string, error) {
	if a.StockID == "" {
		return a.BatchID, nil
	}
	s, err := tx.Stocks().Get(ctx, a.StockID)
	return s.BatchID, err
}

func fragranceOfDesign(ctx context.Context, tx Tx, id string) (Design, RecipeFragrance, error) {
	d, err := tx.Designs().Get(ctx, id)
	if err != nil {
		return Design{}, RecipeFragrance{}, err
	}
	r, err := tx.Recipes().Get(ctx, d.RecipeID)
	if err != nil {
		return Design{}, RecipeFragrance{}, err
	}
	ingredients, err := ingredientsOf(ctx, tx, r)
	return d, FragranceOf(r, ingredients), err
}

// mayPromise refuses, line by line, to promise designs whose fragrance is over
// its limit; before is the order as it was promised, nil for one that was not.
func mayPromise(ctx context.Context, tx Tx, o Order, before *Order) error {
	var c Check
	for i, l := range o.Lines {
		if before != nil && before.has(l.DesignID) {
			continue // promised already: the plan tells what becomes of it
		}
		d, f, err := fragranceOfDesign(ctx, tx, l.DesignID)
		if err != nil {
			return err
		}
		if f.Refusal != "" {
			c.Add(fmt.Sprintf("lines[%d].design_id", i), fmt.Sprintf("can not be promised: %s may not be poured, for %s", d.Name, f.Refusal))
		}
	}
	return c.Err()
}

// asConflict makes one sentence of what is refused where no field was sent.
func asConflict(err error) error {
	var invalid *Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	texts := make([]string, len(invalid.Fields))
	for i, f := range invalid.Fields {
		texts[i] = "This order " + f.Message + "."
	}
	return &Conflict{strings.Join(texts, " ")}
}
