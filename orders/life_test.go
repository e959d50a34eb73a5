package orders_test

import (
	"errors"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
)

// TestWholeLife follows orders from the question to the hand-over, with a cut
// that spoils some pieces and a batch that fails.
func TestWholeLife(t *testing.T) {
	s := newShop(t, openStore(t))
	s.promises()
	o, change := s.take(s.wants(60, 45))
	if !change.Published || change.Revision != 1 || len(change.Diff.Added) == 0 {
		t.Fatalf("taking the first order gives %+v, want plan 1 with its batches", change)
	}
	if o.Told.IsZero() || o.Told.After(o.NeededBy.AddDays(-o.HandOver)) {
		t.Errorf("told %s for an order needed by %s", o.Told, o.NeededBy)
	}
	s.sound(true)
	first := s.batches(orders.BatchPlanned)[0]
	s.pour(first)
	s.cut(first.ID)
	s.failAnother(o)
	s.finish(o)
}

// promises asks what the workshop's hours and the cure alone decide.
func (s *shop) promises() {
	s.t.Helper()
	ask := func(days int) *schedule.Answer {
		in := s.wants(60, days)
		answer, err := s.book.Promise(s.ctx, s.owner, orders.Question{NeededBy: in.NeededBy, Lines: in.Lines})
		s.must(err)
		return answer
	}
	if got := ask(45); got.Verdict != schedule.Yes || got.Ready.IsZero() {
		s.t.Errorf("60 pieces in 45 days: %s, ready %s; want yes with a date", got.Verdict, got.Ready)
	}
	if got := ask(20); got.Verdict == schedule.Yes || len(got.Reasons) == 0 || !got.Earliest.After(s.today().AddDays(28)) {
		s.t.Errorf("60 pieces in 20 days: %s, earliest %s, reasons %v; want a no for the cure and a date after it", got.Verdict, got.Earliest, got.Reasons)
	}
	if v := s.plan(); v.Revision.Number != 0 || len(v.Batches) != 0 {
		s.t.Errorf("asking left plan %d with %d batches; it may write nothing", v.Revision.Number, len(v.Batches))
	}
}

// pour records the pour at its planned end.
func (s *shop) pour(b orders.Batch) {
	s.t.Helper()
	s.now = b.Make.To
	got, _, err := s.book.Pour(s.ctx, s.owner, b.ID, b.Version, orders.PourFact{Notes: "light trace"})
	s.must(err)
	if got.State != orders.BatchPoured || !got.PouredAt.Equal(s.now) || !got.Make.To.Equal(s.now) || got.Notes != "light trace" {
		s.t.Errorf("poured batch: %+v", got)
	}
	if task := s.task(orders.TaskMake, b.ID); task.Status != orders.TaskDone || task.Sequence != 1 {
		s.t.Errorf("the task of the pour is %s with sequence %d, want done and 1", task.Status, task.Sequence)
	}
	s.sound(true)
}

// cut records the cut at its planned end, with 5 pieces spoiled.
func (s *shop) cut(id string) {
	s.t.Helper()
	b, err := s.book.Batch(s.ctx, s.owner, id)
	s.must(err)
	s.now = b.Cut.To
	got, _, err := s.book.Cut(s.ctx, s.owner, id, b.Version, orders.CutFact{Spoiled: 5, Reason: "crumbled"})
	s.must(err)
	if got.State != orders.BatchCuring || got.Sound != b.Pieces-5 || len(got.Losses) != 1 || got.Losses[0].Pieces != 5 {
		s.t.Errorf("cut with 5 of %d spoiled: %s, %d sound, losses %v", b.Pieces, got.State, got.Sound, got.Losses)
	}
	s.sound(true)
}

// failAnother takes an order for later, pours its batch, and loses it whole.
func (s *shop) failAnother(first orders.Order) {
	s.t.Helper()
	second, _ := s.take(s.wants(40, 70))
	s.sound(true)
	lost := s.batches(orders.BatchPlanned)[0]
	s.pour(lost)
	before := s.tasks()
	b, change, err := s.book.Fail(s.ctx, s.owner, lost.ID, 0, orders.FailFact{Reason: "separated in the mold"})
	s.must(err)
	if b.State != orders.BatchFailed || b.FailedStep != schedule.StepMake || b.Sound != 0 {
		s.t.Errorf("failed batch: %+v", b)
	}
	if change.Published || len(change.Proposals) == 0 {
		s.t.Fatalf("losing an order's batch gives %+v, want proposals", change)
	}
	s.sound(false)
	after := s.tasks()
	for id, was := range before {
		if was.BatchID == lost.ID && was.Status == orders.TaskOpen && (after[id].Status != orders.TaskCancelled || after[id].Sequence != was.Sequence+1) {
			s.t.Errorf("task %q of the lost batch is %s, sequence %d", was.Title, after[id].Status, after[id].Sequence)
		}
	}
	s.takeBest(change)
	for _, o := range []orders.Order{first, second} {
		for _, out := range s.plan().Outcomes {
			if out.OrderID == o.ID && out.Missed() {
				s.t.Errorf("%s is missed after the best way out: %+v", o.Title, out)
			}
		}
	}
}

// takeBest publishes the best proposal and checks what calendars see of it.
func (s *shop) takeBest(change orders.PlanChange) {
	s.t.Helper()
	before := s.tasks()
	taken, err := s.book.TakeProposal(s.ctx, s.owner, change.Proposals[0].ID)
	s.must(err)
	if !taken.Published || taken.Revision <= change.Revision {
		s.t.Errorf("taking a proposal gives %+v after revision %d", taken, change.Revision)
	}
	s.goesOn(before)
	s.sound(false)
	for _, p := range change.Proposals {
		if _, err := s.book.TakeProposal(s.ctx, s.owner, p.ID); !errors.Is(err, orders.ErrConflict) {
			s.t.Errorf("taking %q afterwards: %v, want a conflict", p.Title, err)
		}
	}
}

// goesOn checks that tasks kept their word to calendars since before.
func (s *shop) goesOn(before map[string]orders.Task) {
	s.t.Helper()
	after := s.tasks()
	for id, was := range before {
		now, ok := after[id]
		moved := !now.From.Equal(was.From) || !now.To.Equal(was.To) || now.Day != was.Day || now.LastDay != was.LastDay || now.Status != was.Status
		switch {
		case !ok:
			s.t.Errorf("task %q is gone", was.Title)
		case now.Sequence < was.Sequence || moved && now.Sequence == was.Sequence:
			s.t.Errorf("task %q changed and its sequence went from %d to %d", was.Title, was.Sequence, now.Sequence)
		case was.Status != orders.TaskOpen && moved:
			s.t.Errorf("task %q was %s and changed to %+v", was.Title, was.Status, now)
		}
	}
}

// finish pours, cuts and wraps all that is planned, then hands the order over.
func (s *shop) finish(o orders.Order) {
	s.t.Helper()
	if _, _, err := s.book.HandOver(s.ctx, s.owner, o.ID, 0, orders.HandOverFact{}); !errors.Is(err, orders.ErrConflict) {
		s.t.Fatalf("handing over soap that cures: %v, want a conflict", err)
	}
	for s.step() {
		s.sound(false)
	}
	stocks, err := s.book.Stock.List(s.ctx, s.owner, orders.ListQuery{})
	s.must(err)
	shelf := 0
	for _, k := range stocks.Items {
		shelf += k.Pieces
	}
	got, _, err := s.book.HandOver(s.ctx, s.owner, o.ID, 0, orders.HandOverFact{})
	s.must(err)
	if got.Status != orders.HandedOver || got.EndedAt.IsZero() {
		s.t.Errorf("handed over order: %+v", got)
	}
	stocks, err = s.book.Stock.List(s.ctx, s.owner, orders.ListQuery{})
	s.must(err)
	for _, k := range stocks.Items {
		shelf -= k.Pieces
		if err := s.book.Stock.Remove(s.ctx, s.owner, k.ID, k.Version); !errors.Is(err, orders.ErrConflict) {
			s.t.Errorf("removing what says who got %s: %v, want a conflict", k.Note, err)
		}
	}
	if shelf != 60 {
		s.t.Errorf("handing over 60 pieces took %d from the shelf", shelf)
	}
	s.sound(false)
}

// step does the next planned work at its time; false when there is none.
func (s *shop) step() bool {
	s.t.Helper()
	var next orders.Batch
	var end time.Time
	for _, state := range []orders.BatchState{orders.BatchPlanned, orders.BatchPoured, orders.BatchCuring} {
		for _, b := range s.batches(state) {
			at := map[orders.BatchState]time.Time{orders.BatchPlanned: b.Make.To, orders.BatchPoured: b.Cut.To, orders.BatchCuring: b.Wrap.To}[state]
			if end.IsZero() || at.Before(end) {
				next, end = b, at
			}
		}
	}
	if end.IsZero() {
		return false
	}
	s.now = end
	before := s.tasks()
	var err error
	switch next.State {
	case orders.BatchPlanned:
		_, _, err = s.book.Pour(s.ctx, s.owner, next.ID, next.Version, orders.PourFact{})
	case orders.BatchPoured:
		_, _, err = s.book.Cut(s.ctx, s.owner, next.ID, next.Version, orders.CutFact{})
	default:
		_, _, err = s.book.Wrap(s.ctx, s.owner, next.ID, next.Version, orders.WrapFact{})
	}
	s.must(err)
	s.goesOn(before)
	return true
}
