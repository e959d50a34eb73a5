package orders_test

import (
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestWhatIsLostHasItsCost: a batch that failed in its mold cost what went into it
// and the work of its pour, and none of its pieces costs anything.
func TestWhatIsLostHasItsCost(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b, soon, _ := s.pouredOf()
	soon, err := s.book.Lots.Get(s.ctx, s.owner, soon.ID)
	s.must(err)
	soon.Price = 500
	_, err = s.book.Lots.Change(s.ctx, s.owner, soon)
	s.must(err)
	before, err := s.book.BatchCost(s.ctx, s.owner, b.ID)
	s.must(err)
	_, _, err = s.book.Fail(s.ctx, s.owner, b.ID, b.Version, orders.FailFact{Reason: "separated in the mold"})
	s.must(err)
	lost, err := s.book.BatchCost(s.ctx, s.owner, b.ID)
	s.must(err)
	if lost.Trouble != "" || lost.Materials == 0 || lost.Materials != before.Materials {
		t.Errorf("materials %d, lost %d, trouble %q", before.Materials, lost.Materials, lost.Trouble)
	}
	if lost.Minutes == 0 || lost.Minutes >= before.Minutes {
		t.Errorf("%d minutes on a batch that was poured only, of %d in all", lost.Minutes, before.Minutes)
	}
	if lost.Total != lost.Materials+lost.Labour || lost.Packaging != 0 || lost.Piece != calc.Money(0) {
		t.Errorf("what was lost: %+v", lost)
	}
}
