package orders_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/orders"
)

// counting counts what is read of its store.
type counting struct {
	orders.Store
	reads map[string]int
}

func (c counting) Read(ctx context.Context, workshop string, fn func(orders.Tx) error) error {
	return c.Store.Read(ctx, workshop, func(tx orders.Tx) error { return fn(countingTx{tx, c.reads}) })
}

type countingTx struct {
	orders.Tx
	reads map[string]int
}

func (c countingTx) Allocations(ctx context.Context) ([]orders.Allocation, error) {
	c.reads["allocations"]++
	return c.Tx.Allocations(ctx)
}

func (c countingTx) Batches() orders.Table[orders.Batch] {
	c.reads["batches"]++
	return c.Tx.Batches()
}

func (c countingTx) Ingredients() orders.Table[orders.Ingredient] {
	c.reads["ingredients"]++
	return c.Tx.Ingredients()
}

// TestSaleOfManyOrdersReadsABatchOnce has four orders of fewer batches, each of five ingredients.
func TestSaleOfManyOrdersReadsABatchOnce(t *testing.T) {
	t.Parallel()
	store := openStore(t)
	s := newShop(t, store)
	shares, ids := map[string]calc.PPM{}, []string{}
	for _, name := range []string{"Kelp", "Resin", "Thyme", "Juniper"} {
		i := s.fragrance(orders.Ingredient{Name: name, Fragrance: orders.Fragrance{Behaviour: orders.Steady}})
		shares[i.ID], ids = calc.PPM(1000), append(ids, i.ID)
	}
	r, err := s.scented("FIVE", shares, ids...)
	s.must(err)
	s.design, err = s.designOf(r, "FIVE")
	s.must(err)
	var named []string
	for range 4 {
		o, _ := s.take(s.wants(5, 80))
		named = append(named, o.ID)
	}
	reads := map[string]int{}
	book := orders.NewBook(counting{store, reads}, func() time.Time { return s.now })
	got, err := book.OrderSales(s.ctx, s.owner, named)
	s.must(err)
	for _, id := range named {
		one, err := s.book.OrderSale(s.ctx, s.owner, id)
		s.must(err)
		sameJSON(t, "sale of one of many", got[id], one)
		if len(one.Flags) == 0 {
			t.Error("fragrances without a certificate are for sale")
		}
	}
	if n := len(s.batches(orders.BatchPlanned)); n >= len(named) || reads["allocations"] != 1 || reads["batches"] != n || reads["ingredients"] != 2*n {
		t.Errorf("read %v of %d batches", reads, n)
	}
}

// TestStepsOutOfTimeStandInTheWayOfTheSale cuts two hours after the pour and wraps
// a day later: it stays said of the batch and of its order.
func TestStepsOutOfTimeStandInTheWayOfTheSale(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	o, _ := s.take(s.wants(20, 75))
	b := s.batches(orders.BatchPlanned)[0]
	flags := func() []string {
		t.Helper()
		batch, err := s.book.BatchSale(s.ctx, s.owner, b.ID)
		s.must(err)
		order, err := s.book.OrderSale(s.ctx, s.owner, o.ID)
		s.must(err)
		if !slices.Equal(batch.Flags, order.Flags) {
			t.Errorf("the batch has %q, its order %q", batch.Flags, order.Flags)
		}
		return batch.Flags
	}
	s.now = b.Make.To
	_, _, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	if got := flags(); len(got) != 0 {
		t.Errorf("poured in time, %q", got)
	}
	s.now = s.now.Add(2 * time.Hour)
	_, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	if got := flags(); len(got) != 1 || !strings.Contains(got[0], b.Lot+" was cut outside its cut window") {
		t.Errorf("cut after two hours, %q", got)
	}
	s.now = s.now.Add(24 * time.Hour)
	_, _, err = s.book.Wrap(s.ctx, s.owner, b.ID, 0, orders.WrapFact{})
	s.must(err)
	s.now = s.now.AddDate(0, 0, 60)
	if got := flags(); len(got) != 2 || !strings.Contains(strings.Join(got, " "), b.Lot+" was wrapped before ") {
		t.Errorf("wrapped after a day, %q", got)
	}
}
