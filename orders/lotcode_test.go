package orders_test

import (
	"strings"
	"testing"
	"time"

	"ripeline/orders"
)

// TestLotCodeFollowsTheDayOfThePour records one pour on its day, and two on a later
// one: the code of the later ones is that day's, and stays through the cut.
func TestLotCodeFollowsTheDayOfThePour(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(60, 90))
	planned := s.batches(orders.BatchPlanned)
	if len(planned) < 2 {
		t.Fatalf("%d batches are planned, want several", len(planned))
	}
	b := planned[0]
	l, err := s.book.BatchLabel(s.ctx, s.owner, b.ID, orders.LabelQuestion{})
	s.must(err)
	if !strings.Contains(strings.Join(l.Notes, " "), "follows the day of the pour") {
		t.Errorf("the draft before the pour says %q", l.Notes)
	}
	s.now = b.Make.To
	poured, change, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	if poured.Lot != b.Lot || len(change.Warnings) > 0 {
		t.Errorf("poured on its day, %s became %s: %q", b.Lot, poured.Lot, change.Warnings)
	}
	b = s.batches(orders.BatchPlanned)[0]
	s.now = b.Make.To.Add(3 * 24 * time.Hour)
	poured, change, err = s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	want := "OAT-" + poured.PouredAt.In(s.zone).Format("060102") + "-"
	said := strings.Join(change.Warnings, " ")
	if !strings.HasPrefix(poured.Lot, want) || !strings.Contains(said, poured.Lot) || !strings.Contains(said, "printed as "+b.Lot) || !strings.Contains(poured.Notes, "Planned as "+b.Lot) {
		t.Errorf("%s poured on another day is %s: %q, notes %q", b.Lot, poured.Lot, change.Warnings, poured.Notes)
	}
	s.journalSays(b.ID, "Its lot code is "+poured.Lot)
	if task := s.task(orders.TaskCut, b.ID); !strings.Contains(task.Title, poured.Lot) {
		t.Errorf("the cut is called %q, want %s in it", task.Title, poured.Lot)
	}
	s.now = poured.Cut.To.Add(24 * time.Hour)
	cut, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	if cut.Lot != poured.Lot {
		t.Errorf("the cut made %s of %s", cut.Lot, poured.Lot)
	}
}
