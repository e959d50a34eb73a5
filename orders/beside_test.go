package orders_test

import (
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// hasItsPlace checks that an order taken while a change waits is planned beside
// what stands: promised, with a batch and its tasks.
func (s *shop) hasItsPlace(o orders.Order, change orders.PlanChange) {
	s.t.Helper()
	o, err := s.book.Order(s.ctx, s.owner, o.ID)
	s.must(err)
	if !change.Published || len(change.Diff.Added) != 1 || len(change.Diff.Moves)+len(change.Diff.Dropped) > 0 || o.Told.IsZero() {
		s.t.Errorf("the order was told %q, and the plan changed by %+v; want one batch more, and nothing moved", o.Told, change.Diff)
		return
	}
	s.task(orders.TaskMake, change.Diff.Added[0])
	if out := s.ends(o); out.Missed() || out.Ready != o.Told {
		s.t.Errorf("the plan has the new order as %+v, told %s", out, o.Told)
	}
}

// ends is what the published plan means for an order.
func (s *shop) ends(o orders.Order) schedule.OrderOutcome {
	s.t.Helper()
	for _, out := range s.plan().Outcomes {
		if out.OrderID == o.ID {
			return out
		}
	}
	s.t.Fatalf("the plan does not know %s", o.Title)
	return schedule.OrderOutcome{}
}

// TestNewOrderBesideNewHours takes an order while new hours wait for a yes, since
// they move work that is close at hand.
func TestNewOrderBesideNewHours(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.worksEveryEvening()
	first, _ := s.take(s.wants(20, 40))
	stands := s.batches(orders.BatchPlanned)[0]
	w, err := s.book.Workshop(s.ctx, s.owner)
	s.must(err)
	w.Hours = w.Hours[:0]
	for day := time.Sunday; day <= time.Saturday; day++ {
		w.Hours = append(w.Hours, orders.Window{Weekday: day, From: 8 * 60, To: 11 * 60})
	}
	_, err = s.book.ChangeWorkshop(s.ctx, s.owner, w)
	s.must(err)
	if waits := s.plan().Proposals; len(waits) == 0 {
		t.Fatal("new hours that move tomorrow's work wait for no yes")
	}
	o, change := s.take(s.wants(20, 60))
	s.hasItsPlace(o, change)
	if now := s.batches(orders.BatchPlanned); len(now) != 2 || !now[0].Make.From.Equal(stands.Make.From) && !now[1].Make.From.Equal(stands.Make.From) {
		t.Errorf("%s was poured at %s; now there are %+v", stands.Lot, stands.Make.From, now)
	}
	if len(change.Proposals) != 1 || change.Proposals[0].Kind != schedule.ProposeReplan || len(change.Proposals[0].Diff.Added) > 0 {
		t.Fatalf("what waits is %+v, want the other times alone", change.Proposals)
	}
	s.takeBest(change)
	for _, x := range []orders.Order{first, o} {
		if out := s.ends(x); out.Missed() {
			t.Errorf("after the yes %s ends as %+v", x.Title, out)
		}
	}
}

// TestNewOrderLeavesALossItsWayOut takes an order that would like the molds and
// hours by which a lost batch can be made up for: the way out stays as good as it
// was before.
func TestNewOrderLeavesALossItsWayOut(t *testing.T) {
	t.Parallel()
	store := openStore(t)
	for _, days := range []int{34, 36, 40} {
		s := newShop(t, store)
		lost, _ := s.take(s.wants(40, 75))
		b := s.batches(orders.BatchPlanned)[0]
		s.pour(b)
		s.now = civil.StartOfDay(lost.NeededBy.AddDays(-days), s.zone).Add(12 * time.Hour)
		_, change, err := s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{Reason: "pockets of lye"})
		s.must(err)
		best := change.Proposals[0].Plan.Orders[0]
		_, change = s.take(s.wants(60, days))
		s.takeBest(change)
		if out := s.ends(lost); out.Short > best.Short || out.LateDays > best.LateDays {
			t.Errorf("%d days before: the lost order ends as %+v, and would have as %+v without the new order", days, out, best)
		}
	}
}
