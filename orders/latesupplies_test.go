package orders_test

import (
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// TestSuppliesOfAMissedPour has oil that expires on the day of the pour, and lets that
// day pass: what is poured late can not be made of it.
func TestSuppliesOfAMissedPour(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	oil := s.emptied()
	l := s.lot(orders.Lot{IngredientID: oil.ID, Code: "LAST", Received: 50 * calc.Kilogram, ExpiresOn: s.today().AddDays(30)})
	s.take(s.wants(20, 75))
	b := s.batches(orders.BatchPlanned)[0]
	l = s.lotNow(l.ID)
	l.ExpiresOn = civil.Of(b.Make.From.In(s.zone))
	_, err := s.book.Lots.Change(s.ctx, s.owner, l)
	s.must(err)
	if again := s.batches(orders.BatchPlanned)[0]; again.ID != b.ID || !again.Make.From.Equal(b.Make.From) {
		t.Fatalf("the pour moved to %s", again.Make.From)
	}
	lacking := func() calc.Mass {
		t.Helper()
		v, err := s.book.Supplies(s.ctx, s.owner)
		s.must(err)
		for _, x := range v.Items {
			if x.IngredientID == oil.ID {
				return x.Lacking
			}
		}
		t.Fatal("the oil is not listed")
		return 0
	}
	s.now = b.Make.From
	if got := lacking(); got != 0 {
		t.Errorf("on the day of the pour %s is lacking", got)
	}
	s.now = b.Make.To.AddDate(0, 0, 1)
	if got := lacking(); got == 0 {
		t.Error("the day after, what has expired counts as enough")
	}
}
