package orders_test

import (
	"errors"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
)

// TestTooManyHoursAreRefusedCheaply sends as many windows and steps as fit a
// request. Compared pair by pair they would fill the memory with messages.
func TestTooManyHoursAreRefusedCheaply(t *testing.T) {
	s := newShop(t, openStore(t))
	w, err := s.book.Workshop(s.ctx, s.owner)
	s.must(err)
	steps := make([]schedule.Step, 100_000)
	w.Hours = make([]orders.Window, 2_000)
	for i := range w.Hours {
		w.Hours[i] = orders.Window{Weekday: 2, From: 600, To: 660, Steps: steps[:20]}
	}
	w.Hours[0].Steps = steps
	_, err = s.book.ChangeWorkshop(s.ctx, s.owner, w)
	invalidAt(t, err, "hours")
	few(t, err)
	_, err = s.book.Extras.Create(s.ctx, s.owner, orders.ExtraWindow{Date: s.today().AddDays(3), From: 600, To: 660, Steps: steps})
	invalidAt(t, err, "steps")
	few(t, err)
}

// few fails when an error names more fields than a person could look at.
func few(t *testing.T, err error) {
	t.Helper()
	var bad *orders.Invalid
	if errors.As(err, &bad) && len(bad.Fields) > 2_000 {
		t.Errorf("%d messages for one request", len(bad.Fields))
	}
}

// TestRemovedDemoIsANewWorkshop checks that a workshop goes on from nothing
// once its demo is removed, with what any new workshop finds.
func TestRemovedDemoIsANewWorkshop(t *testing.T) {
	s := furnished(t, openStore(t), true)
	s.take(s.wants(20, 60))
	all := s.feed(orders.FeedInput{Name: "Everything", Kind: orders.FeedAll})
	s.now = s.now.Add(time.Hour)
	before, _ := s.read(all.Secret)
	s.must(s.book.RemoveDemo(s.ctx, s.owner))
	if p := s.plan(); p.Revision.Number != 0 || len(p.Batches)+len(p.Tasks)+len(p.Outcomes)+len(p.Proposals) != 0 {
		t.Errorf("left of the demo's plan: %+v", p)
	}
	if _, err := s.book.Today(s.ctx, s.owner); err != nil {
		t.Errorf("today: %v", err)
	}
	list, err := s.book.Ingredients.List(s.ctx, s.owner, orders.ListQuery{})
	s.must(err)
	if len(list.Items) != 8 { // six oils, lye and water
		t.Errorf("%d ingredients to begin with, want 8", len(list.Items))
	}
	s.stock()
	_, change := s.take(s.wants(20, 60))
	if !change.Published || change.Revision <= 1 {
		t.Errorf("the first order after the demo: %+v", change)
	}
	if after, _ := s.read(all.Secret); after.Modified.Before(before.Modified) || len(after.Events) == 0 {
		t.Errorf("the feed holds %d events and went from %s back to %s", len(after.Events), before.Modified, after.Modified)
	}
}
