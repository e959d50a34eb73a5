package orders_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// shortestCure is that of the shop's recipes, in days.
const shortestCure = 28

// follows checks that what is said of the batches in the making follows from when
// they were poured and cut.
func (s *shop) follows() {
	s.t.Helper()
	for _, b := range slices.Concat(s.batches(orders.BatchPoured), s.batches(orders.BatchCuring)) {
		ripe := civil.Of(b.Cut.From.In(s.zone)).AddDays(shortestCure)
		wrap := civil.Of(b.Wrap.From.In(s.zone))
		said := ripe
		if b.CureUntil.After(ripe) {
			said = b.CureUntil
		}
		switch {
		case !b.CutFrom.Equal(b.Make.To.Add(18*time.Hour)) || !b.CutTo.Equal(b.Make.To.Add(48*time.Hour)):
			s.t.Errorf("%s, poured %s, has the cut window %s to %s", b.Lot, b.Make.To, b.CutFrom, b.CutTo)
		case b.CureMin != said:
			s.t.Errorf("%s, cut %s, is said to cure until %s, want %s", b.Lot, b.Cut.From, b.CureMin, said)
		case wrap.Before(ripe):
			s.t.Errorf("%s, cut %s, is wrapped on %s", b.Lot, b.Cut.From, wrap)
		}
		s.holdsFollow(b)
	}
}

// holdsFollow checks what is said to hold a batch in the making.
func (s *shop) holdsFollow(b orders.Batch) {
	s.t.Helper()
	happened := map[schedule.Step]bool{schedule.StepMake: true, schedule.StepCut: b.State == orders.BatchCuring}
	ripe := civil.StartOfDay(b.CureMin, s.zone).Format("Mon 2 Jan 2006")
	for _, h := range b.Holds {
		if happened[h.Step] && h.Kind != schedule.HoldFact {
			s.t.Errorf("%s, %s: its %s is said to be held: %s", b.Lot, b.State, h.Step, h.Text)
		}
		if h.Kind == schedule.HoldCure && h.Step == schedule.StepWrap && !strings.Contains(h.Text, ripe) {
			s.t.Errorf("%s cures until %s, and says %q", b.Lot, ripe, h.Text)
		}
	}
}

// TestRecordedWeeksLate records a pour and a cut at their true times after the
// maker was away: all that is said follows from these times at once.
func TestRecordedWeeksLate(t *testing.T) {
	t.Parallel()
	store := openStore(t)
	for name, c := range map[string]struct {
		days         int // from the order to its date
		poured       int // days after the planned pour
		recorded     int // days after it was poured
		wraps, ready string
	}{
		"as planned, told three weeks later":     {60, 0, 20, "2026-12-26", "2026-12-26"},
		"two weeks late, told at once":           {60, 13, 0, "2027-01-07", "2027-01-07"},
		"two weeks late, told when it is urgent": {45, 13, 7, "2027-01-07", "2027-01-07"},
		"two weeks late, told a month later":     {60, 13, 25, "2027-01-07", "2027-01-07"},
		"too late for its order":                 {34, 13, 3, "2027-01-07", "2027-01-07"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newShop(t, store)
			s.take(s.wants(40, c.days))
			b := s.batches(orders.BatchPlanned)[0]
			poured := b.Make.To.AddDate(0, 0, c.poured)
			cut := poured.AddDate(0, 0, 1)
			s.now = poured.AddDate(0, 0, c.recorded)
			_, _, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{At: poured})
			s.must(err)
			s.follows()
			if s.now = s.now.Add(10 * time.Minute); s.now.Before(cut) {
				s.now = cut
			}
			got, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{At: cut, Spoiled: 2})
			s.must(err)
			s.follows()
			if day := civil.Of(got.Wrap.From.In(s.zone)); day.String() != c.wraps {
				t.Errorf("cut %s, recorded %s: wrapped %s, want %s", got.CutAt, s.now, day, c.wraps)
			}
			if out := s.plan().Outcomes[0]; out.Ready.String() != c.ready {
				t.Errorf("the order is ready on %s, want %s", out.Ready, c.ready)
			}
			if wrap := s.task(orders.TaskWrap, b.ID); !wrap.From.Equal(got.Wrap.From) {
				t.Errorf("the calendar wraps at %s, the plan at %s", wrap.From, got.Wrap.From)
			}
			s.sound(false)
		})
	}
}

// TestOvertaken plans again after a cut was missed: although the customer must be
// told, nothing stays planned for the past.
func TestOvertaken(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(40, 45))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	s.now = s.now.AddDate(0, 0, 16)
	change, err := s.book.Replan(s.ctx, s.owner)
	s.must(err)
	got, err := s.book.Batch(s.ctx, s.owner, b.ID)
	s.must(err)
	if got.Cut.From.Before(s.now) || len(change.Proposals) == 0 {
		t.Errorf("planned again at %s: cut at %s, proposals %+v", s.now, got.Cut.From, change.Proposals)
	}
	s.follows()
	out := s.plan().Outcomes[0]
	if ready := civil.Of(got.Wrap.To.In(s.zone)); out.Ready != ready || out.LateDays != ready.Sub(out.Deadline) {
		t.Errorf("wrapped %s, and the order is ready %s, %d days late", ready, out.Ready, out.LateDays)
	}
	s.sound(false)
}

// TestStepsOutOfPlan records steps that no plan would have.
func TestStepsOutOfPlan(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(90, 60)) // more than both molds hold at once
	s.now = s.now.AddDate(0, 0, 20)
	all := s.batches(orders.BatchPlanned)
	if len(all) < 2 {
		t.Fatalf("%d batches, want two in the same molds", len(all))
	}
	at := s.now.AddDate(0, 0, -18)
	for _, b := range all { // all at one time, which the molds do not allow
		_, _, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{At: at})
		s.must(err)
		s.follows()
	}
	early, _, err := s.book.Cut(s.ctx, s.owner, all[0].ID, 0, orders.CutFact{At: at.Add(time.Hour)}) // before its window
	s.must(err)
	s.follows()
	late, _, err := s.book.Cut(s.ctx, s.owner, all[1].ID, 0, orders.CutFact{At: at.AddDate(0, 0, 9)}) // after it
	s.must(err)
	s.follows()
	if days := late.CureMin.Sub(early.CureMin); days != 9 {
		t.Errorf("cut nine days apart, ripe %d days apart", days)
	}
	_, wrapped, err := s.book.Wrap(s.ctx, s.owner, all[0].ID, 0, orders.WrapFact{}) // long before it is ripe
	s.must(err)
	if len(wrapped.Warnings) != 1 || !strings.Contains(wrapped.Warnings[0], "shortest cure") {
		t.Errorf("wrapped early, with the warnings %q", wrapped.Warnings)
	}
	s.journalSays(all[0].ID, "before "+early.CureMin.String())
	change, err := s.book.Replan(s.ctx, s.owner)
	s.must(err)
	if len(change.Diff.Moves) > 0 {
		t.Errorf("planning again moves %+v", change.Diff.Moves)
	}
	s.follows()
	s.sound(false)
}
