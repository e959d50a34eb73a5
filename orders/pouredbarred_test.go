package orders_test

import (
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
)

// TestBarredBatchThatWasPouredIsWrittenDown lowers a certificate, which takes a batch out
// of the plan, and pours it all the same: that and what follows is recorded, its soap is
// not for sale, nothing more of it is promised, and its order says so until it is mended.
func TestBarredBatchThatWasPouredIsWrittenDown(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	rose := s.certified("Sea rose", 3*calc.Percent)
	r, err := s.scented("ROS", map[string]calc.PPM{rose.ID: 3 * calc.Percent}, rose.ID)
	s.must(err)
	s.design, err = s.designOf(r, "ROS")
	s.must(err)
	o, _ := s.take(s.wants(10, 60))
	batch := s.batches(orders.BatchPlanned)[0]
	rose.Fragrance.Max = calc.Percent
	rose, err = s.book.Ingredients.Change(s.ctx, s.owner, rose)
	s.must(err)
	s.now = batch.Make.To
	poured, change, err := s.book.Pour(s.ctx, s.owner, batch.ID, 0, orders.PourFact{})
	s.must(err)
	said := strings.Join(change.Warnings, " ")
	if poured.State != orders.BatchPoured || !poured.EndedAt.IsZero() || !strings.Contains(said, "had left the plan") || !strings.Contains(said, "not for sale") {
		t.Fatalf("it is %s, ended at %s, and the pour says %q", poured.State, poured.EndedAt, said)
	}
	s.sound(false)
	sale, err := s.book.BatchSale(s.ctx, s.owner, batch.ID)
	s.must(err)
	if len(sale.Flags) == 0 {
		t.Error("nothing stands against its sale")
	}
	flagged := func() bool {
		t.Helper()
		today, err := s.book.Today(s.ctx, s.owner)
		s.must(err)
		return len(today.NotForSale[o.ID].Flags) > 0
	}
	if !flagged() {
		t.Error("Today does not say that its order is not for sale")
	}
	asked := func() schedule.Verdict {
		t.Helper()
		a, err := s.book.Promise(s.ctx, s.owner, orders.Question{NeededBy: s.today().AddDays(80), Lines: s.wants(5, 80).Lines})
		s.must(err)
		return a.Verdict
	}
	if got := asked(); got != schedule.No {
		t.Errorf("more of it is promised: %s", got)
	}
	s.now = poured.Cut.To
	cut, _, err := s.book.Cut(s.ctx, s.owner, batch.ID, 0, orders.CutFact{})
	s.must(err)
	s.now = cut.Wrap.To
	_, _, err = s.book.Wrap(s.ctx, s.owner, batch.ID, 0, orders.WrapFact{})
	s.must(err)
	s.sound(false)
	if got := asked(); got != schedule.No || !flagged() {
		t.Errorf("wrapped, more of it is promised: %s; its order is flagged: %t", got, flagged())
	}
	rose.Fragrance.Max = 3 * calc.Percent
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, rose)
	s.must(err)
	if got := asked(); got != schedule.Yes || flagged() {
		t.Errorf("once mended, more of it is promised: %s; its order is flagged: %t", got, flagged())
	}
}
