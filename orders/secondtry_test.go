package orders_test

import (
	"slices"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
)

// TestMarginThatHasPassedIsARisk lets time pass until a failed batch could not be
// made again, while nothing is recorded and so nothing is planned anew.
func TestMarginThatHasPassedIsARisk(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	o, _ := s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	s.now = b.Make.To
	_, _, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	s.now = b.Cut.To
	_, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	of := func(x schedule.OrderOutcome) bool { return x.OrderID == o.ID }
	outcomes := s.plan().Outcomes
	at := slices.IndexFunc(outcomes, of)
	if at < 0 || outcomes[at].RemakeBy.IsZero() {
		t.Fatalf("no second try to begin with: %+v", outcomes)
	}
	for _, moment := range []struct {
		after time.Duration
		risky bool
	}{{-time.Minute, false}, {time.Minute, true}} {
		s.now = outcomes[at].RemakeBy.Add(moment.after)
		today, err := s.book.Today(s.ctx, s.owner)
		s.must(err)
		if got := slices.ContainsFunc(today.Risks, of); got != moment.risky {
			t.Errorf("%s after the last second try the order is at risk: %t", moment.after, got)
		}
	}
}
