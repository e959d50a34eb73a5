package orders_test

import (
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestNoteOfACureThatIsOver weighs a batch too little, and wraps it: nobody is then
// asked to weigh what is off the rack.
func TestNoteOfACureThatIsOver(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b := s.curing()
	for week, mass := range []calc.Mass{145 * calc.Gram, 138 * calc.Gram, 134 * calc.Gram} {
		s.now = b.CutAt.AddDate(0, 0, 7*week)
		_, _, err := s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 1, Mass: mass, Mark: "blue"})
		s.must(err)
	}
	asked := func() bool { return strings.Contains(s.sheet(b).Cure.Note, "Weigh again in a week") }
	if !asked() {
		t.Errorf("on the rack the note is %q", s.sheet(b).Cure.Note)
	}
	s.now = b.Wrap.To
	_, _, err := s.book.Wrap(s.ctx, s.owner, b.ID, 0, orders.WrapFact{})
	s.must(err)
	if asked() {
		t.Errorf("once wrapped the note is %q", s.sheet(b).Cure.Note)
	}
}
