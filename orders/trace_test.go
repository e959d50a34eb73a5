package orders_test

import (
	"errors"
	"strings"
	"testing"

	"ripeline/orders"
)

func TestTraceGoesBothWays(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b, soon, later := s.pouredOf()
	s.now = b.Cut.To
	b, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	o := s.plan().Outcomes[0].OrderID
	for _, step := range []func(){
		func() {},
		func() { // wrapped: its pieces are stock
			s.now = b.Wrap.To
			_, _, err := s.book.Wrap(s.ctx, s.owner, b.ID, 0, orders.WrapFact{})
			s.must(err)
		},
		func() {
			_, _, err := s.book.HandOver(s.ctx, s.owner, o, 0, orders.HandOverFact{})
			s.must(err)
		},
	} {
		step()
		s.traces(b, o, soon, later)
	}
	got, err := s.book.TraceLots(s.ctx, s.owner, orders.LotsAsk{IDs: []string{soon.ID}})
	s.must(err)
	if x := got.Batches[0]; x.OnShelf != b.Sound-20 || x.Free() != b.Sound-20 || x.Unexplained() != 0 || x.Lines[0].Status != orders.HandedOver {
		t.Errorf("handed over: %+v", x)
	}
	stock, err := s.book.Stock.List(s.ctx, s.owner, orders.ListQuery{})
	s.must(err)
	k := stock.Items[0]
	k.Pieces--
	_, err = s.book.Stock.Change(s.ctx, s.owner, k)
	s.must(err)
	got, err = s.book.TraceLots(s.ctx, s.owner, orders.LotsAsk{IDs: []string{soon.ID}})
	s.must(err)
	if got.Batches[0].Unexplained() != 1 {
		t.Errorf("a piece was counted down, the trace misses %d", got.Batches[0].Unexplained())
	}
}

// TestTraceOfAnOrderCountsWhatOthersHold has two orders of one batch: traced by
// one of them, what the other has is not taken for lost.
func TestTraceOfAnOrderCountsWhatOthersHold(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	first, _ := s.take(s.wants(5, 75))
	second, _ := s.take(s.wants(5, 75))
	b := s.batches(orders.BatchPlanned)[0]
	traced := func(held, gone int) {
		t.Helper()
		got, err := s.book.TraceSoap(s.ctx, s.owner, orders.SoapAsk{OrderID: first.ID})
		s.must(err)
		if len(got.Batches) != 1 || len(got.Batches[0].Lines) != 1 || got.Batches[0].Lines[0].OrderID != first.ID {
			t.Fatalf("the trace of the first order is %+v", got)
		}
		if x := got.Batches[0]; x.Held != held || x.Gone != gone || x.Free() != x.Sound-held || x.Unexplained() != 0 {
			t.Errorf("%d held, %d handed over, %d free of %d, %d unexplained; want %d held, %d handed over", x.Held, x.Gone, x.Free(), x.Sound, x.Unexplained(), held, gone)
		}
	}
	traced(10, 0)
	for _, step := range []func() error{
		func() error {
			s.now = b.Make.To
			_, _, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
			return err
		},
		func() error {
			s.now = s.batches(orders.BatchPoured)[0].Cut.To
			_, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
			return err
		},
		func() error {
			s.now = s.batches(orders.BatchCuring)[0].Wrap.To
			_, _, err := s.book.Wrap(s.ctx, s.owner, b.ID, 0, orders.WrapFact{})
			return err
		},
	} {
		s.must(step())
	}
	traced(10, 0)
	for i, o := range []orders.Order{first, second} {
		_, _, err := s.book.HandOver(s.ctx, s.owner, o.ID, 0, orders.HandOverFact{})
		s.must(err)
		traced(10, 5*(i+1))
	}
}

// TestATraceLeavesNoLotOut has more lots of one code than a page of them, as older
// books and other ingredients may, and some that were stored with a space.
func TestATraceLeavesNoLotOut(t *testing.T) {
	t.Parallel()
	store := openStore(t)
	s := newShop(t, store)
	oil := s.emptied()
	const many = 230
	s.must(store.Write(s.ctx, s.owner.WorkshopID, func(tx orders.Tx) error {
		for i := range many {
			l := orders.Lot{IngredientID: oil.ID, Code: "AB12" + strings.Repeat(" ", i%2), ReceivedOn: s.today(), Received: 1, Left: 1}
			if err := tx.Lots().Insert(s.ctx, &l); err != nil {
				return err
			}
		}
		return nil
	}))
	got, err := s.book.TraceLots(s.ctx, s.owner, orders.LotsAsk{Code: "ab12"})
	s.must(err)
	if len(got.Lots) != many {
		t.Errorf("the trace goes by %d lots, want %d", len(got.Lots), many)
	}
	if l := s.lot(orders.Lot{IngredientID: oil.ID, Code: " C-3\t", Received: 1}); l.Code != "C-3" {
		t.Errorf("a code is stored as %q", l.Code)
	}
}

// traces wants the batch found from its lots, and its lots from it and from the
// order.
func (s *shop) traces(b orders.Batch, order string, soon, later orders.Lot) {
	s.t.Helper()
	for _, ask := range []orders.LotsAsk{{IDs: []string{soon.ID}}, {Code: " soon "}, {IDs: []string{later.ID}, Code: "SOON"}} {
		got, err := s.book.TraceLots(s.ctx, s.owner, ask)
		s.must(err)
		if len(got.Batches) != 1 {
			s.t.Fatalf("%+v finds %d batches", ask, len(got.Batches))
		}
		x := got.Batches[0]
		if x.Lot != b.Lot || len(x.Lines) != 1 || x.Lines[0].OrderID != order || x.Lines[0].Pieces != 20 || x.Lines[0].Customer != "Guesthouse Maré" ||
			len(x.Uses) != len(got.Lots) || !x.PouredAt.Equal(b.PouredAt) || x.Design != s.design.Name {
			s.t.Errorf("%+v finds %+v", ask, x)
		}
	}
	for _, ask := range []orders.SoapAsk{{BatchID: b.ID}, {Lot: strings.ToLower(b.Lot)}, {OrderID: order}, {Lot: " 1 "}, {Lot: "#1"}} {
		got, err := s.book.TraceSoap(s.ctx, s.owner, ask)
		s.must(err)
		if len(got.Batches) != 1 || len(got.Batches[0].Uses) != 3 || got.Untraced != 0 {
			s.t.Fatalf("%+v finds %+v", ask, got)
		}
		if u := got.Batches[0].Uses; u[0].Code != "SOON" || u[1].LotID != later.ID || u[2].LotID != "" || u[2].Ingredient != "Sodium hydroxide" {
			s.t.Errorf("%+v finds %+v", ask, u)
		}
	}
}

func TestATraceNeverTakesASlipForNobody(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	const unknown = "0190a0a0-0000-7000-8000-000000000000"
	for _, ask := range []orders.LotsAsk{{}, {Code: "no such code"}} {
		_, err := s.book.TraceLots(s.ctx, s.owner, ask)
		invalidAt(t, err, "code")
	}
	for _, ask := range []orders.SoapAsk{{}, {Lot: "OAT"}, {Lot: "1"}, {Lot: "#"}} {
		_, err := s.book.TraceSoap(s.ctx, s.owner, ask)
		invalidAt(t, err, "lot")
	}
	_, err := s.book.TraceLots(s.ctx, s.owner, orders.LotsAsk{IDs: []string{unknown}})
	if !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("unknown lot: %v", err)
	}
	for _, ask := range []orders.SoapAsk{{BatchID: unknown}, {OrderID: unknown}} {
		if _, err := s.book.TraceSoap(s.ctx, s.owner, ask); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("%+v: %v", ask, err)
		}
	}
}
