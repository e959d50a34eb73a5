package orders_test

import (
	"testing"
	"time"

	"ripeline/orders"
)

// TestMissedCutIsPlannedOnce misses the cut of a batch whose customer was told a day:
// planning again is to ask about that day, and planning once more finds nothing new.
func TestMissedCutIsPlannedOnce(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.worksEveryEvening()
	o, _ := s.take(s.wants(4, 65))
	b := s.batches(orders.BatchPlanned)[0]
	s.now = b.Make.To.Add(-2 * time.Hour) // so that the last hour for its cut is before the evening
	b, _, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	s.now = b.Cut.To.Add(6 * time.Hour)
	first, err := s.book.Replan(s.ctx, s.owner)
	s.must(err)
	if len(first.Proposals) != 1 {
		t.Fatalf("the missed cut of what was told gives %+v", first)
	}
	plan := s.plan()
	if len(plan.Revision.Problems) == 0 || plan.Outcomes[0].OrderID != o.ID || !plan.Outcomes[0].Ready.After(o.Told) {
		t.Errorf("the plan says %v and %+v", plan.Revision.Problems, plan.Outcomes)
	}
	again, err := s.book.Replan(s.ctx, s.owner)
	s.must(err)
	if again.Published || again.Revision != first.Revision {
		t.Errorf("planning again published plan %d after %d: %v", again.Revision, first.Revision, s.plan().Revision.Problems)
	}
}
