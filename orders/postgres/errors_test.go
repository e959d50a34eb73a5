package postgres_test

import (
	"errors"
	"strings"
	"testing"

	"ripeline/orders"
)

// unknownID has the form of an id and belongs to nothing.
const unknownID = "0190a0a0-0000-7000-8000-000000000000"

func TestWhatCanNotBeStoredNamesItsField(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w, other := newWorld(t, s, "tideline"), newWorld(t, s, "saltgrass")
	insert := func(change func(*orders.Order)) func(orders.Tx) error {
		return func(tx orders.Tx) error {
			o := sampleOrder(5, w.Customer.ID, w.Design.ID)
			change(&o)
			return tx.Orders().Insert(t.Context(), &o)
		}
	}
	batch := func(change func(*orders.Batch)) func(orders.Tx) error {
		return func(tx orders.Tx) error {
			b := sampleBatch("OAT-270301-2", w.Design.ID, w.Mold.ID)
			change(&b)
			return tx.Batches().Insert(t.Context(), &b)
		}
	}
	for field, do := range map[string]func(orders.Tx) error{
		"customer_id":        insert(func(o *orders.Order) { o.CustomerID = unknownID }),
		"number":             insert(func(o *orders.Order) { o.Number = 1 }),
		"weight":             insert(func(o *orders.Order) { o.Weight = 10 }),
		"title":              insert(func(o *orders.Order) { o.Title = "two\nlines" }),
		"id":                 insert(func(o *orders.Order) { o.ID = w.Order.ID }),
		"text":               insert(func(o *orders.Order) { o.Note = "a\x00b" }),
		"lines[0].design_id": insert(func(o *orders.Order) { o.Lines[0].DesignID = "17" }),
		"lines.design_id":    insert(func(o *orders.Order) { o.Lines[0].DesignID = other.Design.ID }),
		"lines.pieces":       insert(func(o *orders.Order) { o.Lines[0].Pieces = 1_000_001 }),
		"lines.id":           insert(func(o *orders.Order) { o.Lines[0].ID = w.Order.Lines[0].ID }),
		"needed_by":          insert(func(o *orders.Order) { o.NeededBy = day(0, 0).AddDays(-800_000_000) }),
		"lot":                batch(func(b *orders.Batch) { b.Lot = w.Batch.Lot }),
		"sound":              batch(func(b *orders.Batch) { b.Sound = b.Pieces + 1 }),
		"molds.mold_id":      batch(func(b *orders.Batch) { b.Molds[0].MoldID = other.Mold.ID }),
		"cut_at":             batch(func(b *orders.Batch) { b.CutAt = noon(2, 1) }),
		"weighings.mass_mg":  batch(func(b *orders.Batch) { b.Weighings[0].Mass = -1 }),
		"mold_ids": func(tx orders.Tx) error {
			d := sampleDesign(w.Recipe.ID, unknownID)
			return tx.Designs().Insert(t.Context(), &d)
		},
		"email": func(tx orders.Tx) error {
			p := samplePerson("x")
			p.Email = strings.ToUpper(other.Owner.Email)
			return tx.People().Insert(t.Context(), &p)
		},
		"line_id": func(tx orders.Tx) error {
			a := orders.Allocation{StockID: w.Stock.ID, OrderID: w.Order.ID, LineID: w.Order.Lines[0].ID, Pieces: 1}
			return tx.SetAllocations(t.Context(), []orders.Allocation{a, a})
		},
	} {
		wantInvalid(t, s.Write(t.Context(), w.ID, do), field)
	}
}

func TestWhatIsInUseStays(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	for want, do := range map[string]func(orders.Tx) error{
		"This mold is still used by a":        func(tx orders.Tx) error { return tx.Molds().Delete(t.Context(), w.Mold.ID, 1) },
		"This ingredient is still used by a ": func(tx orders.Tx) error { return tx.Ingredients().Delete(t.Context(), w.Ingredient.ID, 1) },
		"This recipe is still used by a desi": func(tx orders.Tx) error { return tx.Recipes().Delete(t.Context(), w.Recipe.ID, 1) },
		"This design is still used by ":       func(tx orders.Tx) error { return tx.Designs().Delete(t.Context(), w.Design.ID, 1) },
		"This customer is still used by an o": func(tx orders.Tx) error { return tx.Customers().Delete(t.Context(), w.Customer.ID, 1) },
		"This batch is still used by stock":   func(tx orders.Tx) error { return tx.Batches().Delete(t.Context(), w.Batch.ID, 1) },
	} {
		err := s.Write(t.Context(), w.ID, do)
		var conflict *orders.Conflict
		if !errors.As(err, &conflict) || !strings.HasPrefix(conflict.Message, want) {
			t.Errorf("got %v, want a Conflict that begins %q", err, want)
		}
	}
}

func TestAFaultIsNotTheReadersMistake(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	s.Close()
	err := s.Write(t.Context(), unknownID, func(orders.Tx) error { return nil })
	for _, kind := range []error{orders.ErrNotFound, orders.ErrInvalid, orders.ErrConflict, orders.ErrForbidden} {
		if err == nil || errors.Is(err, kind) {
			t.Errorf("a closed database gives %v", err)
		}
	}
}
