package orders

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"ripeline/schedule/civil"
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
		if err != nil {
			return SaleCheck{}, err
		}
		checks, err := saleChecks(ctx, tx, []Order{o})
		return checks[o.ID], err
	})
}

// OrderSales is OrderSale of several orders, by their ids; of those there are.
func (b *Book) OrderSales(ctx context.Context, a Actor, orderIDs []string) (map[string]SaleCheck, error) {
	return read(ctx, b, a, func(tx Tx) (map[string]SaleCheck, error) {
		all, err := tx.Orders().Several(ctx, orderIDs)
		if err != nil {
			return nil, err
		}
		return saleChecks(ctx, tx, all)
	})
}

// unsold is what stands between accepted orders and their sale, of those of which
// anything does.
func (s *Snapshot) unsold(ctx context.Context, tx Tx) (map[string]SaleCheck, error) {
	accepted := slices.DeleteFunc(slices.Clone(s.Orders), func(o Order) bool { return o.Status != Accepted })
	all, err := saleChecks(ctx, tx, accepted)
	maps.DeleteFunc(all, func(_ string, c SaleCheck) bool { return len(c.Flags) == 0 })
	return all, err
}

func saleChecks(ctx context.Context, tx Tx, all []Order) (map[string]SaleCheck, error) {
	held, err := tx.Allocations(ctx)
	if err != nil {
		return nil, err
	}
	out, desk := make(map[string]SaleCheck), newSaleDesk(tx, held)
	for _, o := range all {
		if !o.open() {
			continue
		}
		flags, err := desk.notForSale(ctx, o)
		if err != nil {
			return nil, err
		}
		out[o.ID] = SaleCheck{flags}
	}
	return out, nil
}

func (m making) notForSale() []string {
	f := FragranceOf(m.Recipe, m.Ingredients)
	flags := f.notForSale(m.Design.Name)
	if f.Refusal != "" && m.lost > 0 {
		flags = append(flags, fmt.Sprintf("%s loses %s in the cure by its own weighings, and the lighter a bar the more of it is fragrance. Let the recipe count on that much.", m.batch.Lot, m.lost))
	}
	if m.batch.State == BatchFailed {
		flags = append(flags, m.batch.Lot+" failed: it is not for sale.")
	}
	return append(flags, m.outOfTime()...)
}

// outOfTime says which steps of the batch were not done when they should have
// been. It stays said, for the soap may not be what it should be.
func (m making) outOfTime() []string {
	b, out := m.batch, []string(nil)
	says := func(at time.Time) string { return at.In(m.zone).Format("Mon 2 Jan 15:04") }
	if !b.CutAt.IsZero() && b.cutOutside() {
		out = append(out, fmt.Sprintf("%s was cut outside its cut window, %s to %s: check its pieces before any of them is sold.", b.Lot, says(b.CutFrom), says(b.CutTo)))
	}
	if !b.WrappedAt.IsZero() && b.wrappedEarly(m.zone) {
		least := civil.StartOfDay(b.CureMin, m.zone).Format("Mon 2 Jan")
		out = append(out, fmt.Sprintf("%s was wrapped before %s, the end of its shortest cure: let it cure on, and check that it is firm and mild before any of it is sold.", b.Lot, least))
	}
	return out
}

// cutOutside reports whether the cut began outside its window.
func (b Batch) cutOutside() bool {
	return !b.CutFrom.IsZero() && (b.Cut.From.Before(b.CutFrom) || b.Cut.From.After(b.CutTo))
}

// wrappedEarly reports whether the batch was wrapped before its shortest cure was over.
func (b Batch) wrappedEarly(zone *time.Location) bool {
	return !b.CureMin.IsZero() && civil.Of(b.WrappedAt.In(zone)).Before(b.CureMin)
}

// saleDesk looks at each batch and each design once, however many orders hold
// pieces of it.
type saleDesk struct {
	tx      Tx
	held    []Allocation
	batches map[string][]string // flags by id
	designs map[string][]string
}

func newSaleDesk(tx Tx, held []Allocation) saleDesk {
	return saleDesk{tx: tx, held: held, batches: make(map[string][]string), designs: make(map[string][]string)}
}

// notForSale asks of the batches that an open order's pieces come from, and
// of the design where pieces come from no batch that is known.
func (s saleDesk) notForSale(ctx context.Context, o Order) ([]string, error) {
	var out []string
	for _, l := range o.Lines {
		unknown := l.Total()
		for _, a := range s.held {
			if a.LineID != l.ID {
				continue
			}
			batch, err := a.batch(ctx, s.tx)
			if err != nil {
				return nil, err
			}
			if batch == "" {
				continue
			}
			flags, err := s.batch(ctx, batch)
			if err != nil {
				return nil, err
			}
			unknown -= a.Pieces
			out = append(out, flags...)
		}
		if unknown <= 0 {
			continue
		}
		flags, err := s.design(ctx, l.DesignID)
		if err != nil {
			return nil, err
		}
		out = append(out, flags...)
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

func (s saleDesk) batch(ctx context.Context, id string) ([]string, error) {
	if flags, known := s.batches[id]; known {
		return flags, nil
	}
	m, err := soldMaking(ctx, s.tx, id)
	if err != nil {
		return nil, err
	}
	s.batches[id] = m.notForSale()
	return s.batches[id], nil
}

func (s saleDesk) design(ctx context.Context, id string) ([]string, error) {
	if flags, known := s.designs[id]; known {
		return flags, nil
	}
	d, f, err := fragranceOfDesign(ctx, s.tx, id)
	if err != nil {
		return nil, err
	}
	s.designs[id] = f.notForSale(d.Name)
	return s.designs[id], nil
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
// its limit, or whose recipe can not be worked out; before is the order as it was promised, nil for one that was not.
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
		if why := f.barText(); why != "" {
			c.Add(fmt.Sprintf("lines[%d].design_id", i), fmt.Sprintf("can not be promised: %s %s", d.Name, why))
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
