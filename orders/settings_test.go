package orders_test

import (
	"errors"
	"testing"

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
