package remind

import (
	"testing"
	"time"

	"ripeline/orders"
)

// TestOldRemindersAreForgotten lets a season pass after three digests: the last of
// them stays, since the next one tells what changed since.
func TestOldRemindersAreForgotten(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	r := s.service(&outbox{})
	for date := day("2035-12-03"); date != day("2035-12-06"); date = date.AddDays(1) {
		s.wall(date.String(), "18:00")
		s.publish("Planned on "+date.String(), s.timed("cut", "Cut OAT · 24 pieces", date.AddDays(1).String(), "18:00"))
		s.run(r)
	}
	ended := s.hand.now()
	digests := func() (n int) {
		for _, d := range s.deliveries() {
			if d.Kind == kindDigest && d.Status == orders.DeliverySent && !d.DoneAt.After(ended) {
				n++
			}
		}
		return n
	}
	had := digests()
	s.hand.pass(kept + 24*time.Hour)
	s.run(r)
	if left := digests(); had != 3 || left != 1 {
		t.Errorf("%d digests were sent, and %d of them are left after a season; want 3 and the last", had, left)
	}
}
