package orders_test

import (
	"errors"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// curing is a batch just cut: bars of 25 x 90 x 65 mm, about 147 g of batter each.
func (s *shop) curing() orders.Batch {
	s.t.Helper()
	s.take(s.wants(20, 90))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	s.now = b.Cut.To
	b, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	return b
}

// refusesWeight checks that w is refused for its weight, in words with part in them.
func (s *shop) refusesWeight(b orders.Batch, w orders.Weighing, part string) {
	s.t.Helper()
	_, _, err := s.book.Weigh(s.ctx, s.owner, b.ID, 0, w)
	invalidAt(s.t, err, "mass_mg")
	if !contains(err.Error(), part) {
		s.t.Errorf("%+v is refused with %q, want %q in it", w, err, part)
	}
}

func TestImplausibleWeighingsAreRefused(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b := s.curing()
	week := func(n int) time.Time { return b.CutAt.AddDate(0, 0, 7*n) }
	s.now = week(3)
	for _, w := range []orders.Weighing{
		{Pieces: 3, Mass: 9 * calc.Kilogram},
		{Pieces: 1, Mass: 9 * calc.Kilogram},
		{Pieces: 1, Mass: 310 * calc.Gram},
		{Pieces: 1, Mass: 60 * calc.Gram},
		{Pieces: 3, Mass: 140 * calc.Gram},
	} {
		s.refusesWeight(b, w, "by the recipe one weighs about 14")
	}
	add := func(w orders.Weighing) {
		t.Helper()
		_, _, err := s.book.Weigh(s.ctx, s.owner, b.ID, 0, w)
		s.must(err)
	}
	add(orders.Weighing{At: week(1), Pieces: 1, Mass: 120 * calc.Gram, Mark: "red"})
	s.refusesWeight(b, orders.Weighing{At: week(2), Pieces: 1, Mass: 124 * calc.Gram, Mark: "red"}, "at most 123.6 g")
	s.refusesWeight(b, orders.Weighing{At: week(0), Pieces: 1, Mass: 116 * calc.Gram, Mark: "red"}, "later, on "+week(1).In(s.zone).Format("2006-01-02"))
	add(orders.Weighing{At: week(2), Pieces: 1, Mass: 123_600, Mark: "red"})
	add(orders.Weighing{At: week(1), Pieces: 2, Mass: 240 * calc.Gram})
	add(orders.Weighing{At: week(2), Pieces: 1, Mass: 132 * calc.Gram})
	s.refusesWeight(b, orders.Weighing{At: week(2), Pieces: 1, Mass: 133 * calc.Gram}, "at most 132 g")
	if got := s.batches(orders.BatchCuring)[0].Weighings; len(got) != 4 {
		t.Errorf("%d weighings are kept, want 4", len(got))
	}
}

// TestWeighingTakenBack weighs along 88 + 12 e^(-0.1 t) grams, t in days from the
// cut, with a slip in the last: taken back, the curve and the day are as before it.
func TestWeighingTakenBack(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b := s.curing()
	var err error
	for i, each := range []calc.Mass{100_000, 93_959, 90_959, 89_469} {
		s.now = b.CutAt.AddDate(0, 0, 7*i)
		b, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, b.Version, orders.Weighing{Pieces: 2, Mass: 2 * each})
		s.must(err)
	}
	before, until := s.sheet(b).Cure, b.CureUntil
	slipped, _, err := s.book.Weigh(s.ctx, s.owner, b.ID, b.Version, orders.Weighing{At: b.CutAt.Add(time.Hour), Pieces: 2, Mass: 185 * calc.Gram})
	s.must(err)
	if slipped.CureUntil == until {
		t.Fatalf("a slip leaves the day at %s, so that nothing shows of it", until)
	}
	if got := s.sheet(slipped).Cure.Weighings; got[1].Number != 5 || got[2].Number != 2 {
		t.Errorf("weighings by time %+v, want the fifth written down in the second place", got)
	}
	_, _, err = s.book.Unweigh(s.ctx, s.owner, b.ID, b.Version, orders.WeighingTaken{Number: 5})
	conflict(t, err, "taking back from an earlier version")
	for _, n := range []int{-1, 0, 6} {
		_, _, err = s.book.Unweigh(s.ctx, s.owner, b.ID, slipped.Version, orders.WeighingTaken{Number: n})
		invalidAt(t, err, "number")
	}
	b, _, err = s.book.Unweigh(s.ctx, s.owner, b.ID, slipped.Version, orders.WeighingTaken{Number: 5})
	s.must(err)
	after := s.sheet(b).Cure
	if b.CureUntil != until || len(b.Weighings) != 4 || after.Curve == nil || after.Curve.End != before.Curve.End || after.StableOn != before.StableOn {
		t.Errorf("taken back: stable from %s, want %s; cure %+v", b.CureUntil, until, after)
	}
	s.journalSays(b.ID, "Took back the weighing of 2 pieces of "+b.Lot)
	s.sound(false)
}

// TestWeighingOfWrappedSoapTakenBack changes no plan: the cure is over.
func TestWeighingOfWrappedSoapTakenBack(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b := s.curing()
	b, _, err := s.book.Weigh(s.ctx, s.owner, b.ID, b.Version, orders.Weighing{Pieces: 1, Mass: 120 * calc.Gram})
	s.must(err)
	s.now = b.Wrap.To
	b, _, err = s.book.Wrap(s.ctx, s.owner, b.ID, b.Version, orders.WrapFact{})
	s.must(err)
	b, change, err := s.book.Unweigh(s.ctx, s.owner, b.ID, b.Version, orders.WeighingTaken{Number: 1})
	s.must(err)
	if len(b.Weighings) != 0 || b.CureUntil != (civil.Date{}) || change.Published || len(change.Proposals) > 0 {
		t.Errorf("taken back: %+v, %+v", b.Weighings, change)
	}
	planned := s.curing()
	_, _, err = s.book.Fail(s.ctx, s.owner, planned.ID, 0, orders.FailFact{Reason: "Lye pockets"})
	s.must(err)
	var conflict *orders.Conflict
	if _, _, err = s.book.Unweigh(s.ctx, s.owner, planned.ID, 0, orders.WeighingTaken{Number: 1}); !errors.As(err, &conflict) {
		t.Errorf("taking back of a failed batch: %v, want a conflict", err)
	}
}
