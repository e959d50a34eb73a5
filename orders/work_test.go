package orders_test

import (
	"errors"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/orders"
)

func TestFactsAreChecked(t *testing.T) {
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]

	_, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	conflict(t, err, "cutting before the pour")
	_, _, err = s.book.Wrap(s.ctx, s.owner, b.ID, 0, orders.WrapFact{})
	conflict(t, err, "wrapping before the pour")
	_, _, err = s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{})
	conflict(t, err, "losing what is only planned")
	_, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 1, Mass: calc.Gram})
	conflict(t, err, "weighing what is only planned")

	s.now = b.Make.To
	_, _, err = s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{At: s.now.Add(time.Second)})
	invalidAt(t, err, "at")
	_, _, err = s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{At: s.now.AddDate(-2, 0, 0)})
	invalidAt(t, err, "at")
	_, _, err = s.book.Pour(s.ctx, s.owner, b.ID, b.Version+1, orders.PourFact{})
	conflict(t, err, "pouring what someone else changed")
	s.pour(b)
	poured, err := s.book.Batch(s.ctx, s.owner, b.ID)
	s.must(err)
	_, _, err = s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	conflict(t, err, "pouring twice")
	_, _, err = s.book.Pin(s.ctx, s.owner, b.ID, 0, true)
	conflict(t, err, "pinning what is poured")

	s.now = poured.Cut.To
	_, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{At: poured.PouredAt.Add(-time.Minute)})
	invalidAt(t, err, "at")
	for _, spoiled := range []int{-1, b.Pieces, b.Pieces + 1} {
		_, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{Spoiled: spoiled})
		invalidAt(t, err, "spoiled")
	}
	_, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{Reason: "bad \x00 text"})
	invalidAt(t, err, "reason")
	_, _, err = s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{Pieces: b.Pieces + 1})
	invalidAt(t, err, "pieces")
	_, _, err = s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{Pieces: -1})
	invalidAt(t, err, "pieces")
	if now, err := s.book.Batch(s.ctx, s.owner, b.ID); err != nil || now.Version != poured.Version {
		t.Errorf("refused facts left version %d of %d (%v)", now.Version, poured.Version, err)
	}
}

// TestLatePour pours a day later than planned: the cut has to follow at once,
// although the day it was planned for was firm.
func TestLatePour(t *testing.T) {
	s := newShop(t, openStore(t))
	s.worksEveryEvening()
	o, _ := s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	s.now = b.Make.To.AddDate(0, 0, 1)
	got, change, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	if got.Cut.From.Before(got.CutFrom) || got.Cut.From.After(got.CutTo) {
		t.Errorf("cut at %s, outside its window %s to %s", got.Cut.From, got.CutFrom, got.CutTo)
	}
	if task := s.task(orders.TaskCut, b.ID); !task.From.Equal(got.Cut.From) || task.Sequence != 1 {
		t.Errorf("the cut's task is at %s with sequence %d, want %s and 1", task.From, task.Sequence, got.Cut.From)
	}
	s.sound(true)
	out := s.plan().Outcomes[0]
	switch {
	case !out.Ready.After(o.Told) && len(change.Proposals) > 0:
		t.Errorf("proposals although the told date holds: %+v", change)
	case out.Ready.After(o.Told) && len(change.Proposals) != 1:
		t.Errorf("ready on %s, told %s, and %d proposals, want 1", out.Ready, o.Told, len(change.Proposals))
	case out.Ready.After(o.Told):
		_, err := s.book.TakeProposal(s.ctx, s.owner, change.Proposals[0].ID)
		s.must(err)
		now, err := s.book.Order(s.ctx, s.owner, o.ID)
		s.must(err)
		if now.Told != out.Ready {
			t.Errorf("told %s after saying yes to %s", now.Told, out.Ready)
		}
	}
}

func (s *shop) worksEveryEvening() {
	s.t.Helper()
	w, err := s.book.Workshop(s.ctx, s.owner)
	s.must(err)
	w.Hours = nil
	for day := time.Sunday; day <= time.Saturday; day++ {
		w.Hours = append(w.Hours, orders.Window{Weekday: day, From: 18 * 60, To: 21 * 60})
	}
	_, err = s.book.ChangeWorkshop(s.ctx, s.owner, w)
	s.must(err)
}

// TestCutOutsideItsWindow records a cut that came too late.
func TestCutOutsideItsWindow(t *testing.T) {
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	s.now = s.now.AddDate(0, 0, 5)
	got, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	if got.State != orders.BatchCuring || got.Sound != got.Pieces {
		t.Errorf("cut late: %+v", got)
	}
	s.journalSays(b.ID, "outside its cut window")
	s.sound(true)
}

func (s *shop) journalSays(subject, text string) {
	s.t.Helper()
	page, err := s.book.Journal(s.ctx, s.owner, orders.ListQuery{Parent: subject})
	s.must(err)
	for _, e := range page.Items {
		if contains(e.Text, text) {
			return
		}
	}
	s.t.Errorf("the journal of %s says nothing of %q: %+v", subject, text, page.Items)
}

// TestLossThatTouchesNobody loses pieces that were for no order.
func TestLossThatTouchesNobody(t *testing.T) {
	s := newShop(t, openStore(t))
	s.take(s.wants(10, 60)) // a mold is at least half full: 12 bars
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	s.now = b.Cut.To
	_, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	got, change, err := s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{Pieces: 1, Reason: "dropped"})
	s.must(err)
	if got.State != orders.BatchCuring || got.Sound != b.Pieces-1 || len(got.Losses) != 1 || len(change.Proposals) != 0 {
		t.Errorf("losing a surplus piece: %+v, %+v", got, change)
	}
	s.sound(true)
}

// TestLossOfSomePieces loses pieces that an order needs.
func TestLossOfSomePieces(t *testing.T) {
	s := newShop(t, openStore(t))
	o, _ := s.take(s.wants(40, 75))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	got, change, err := s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{Pieces: 20, Reason: "one loaf tore"})
	s.must(err)
	if got.State != orders.BatchPoured || got.Pieces != b.Pieces || got.Sound > b.Pieces-20 {
		t.Errorf("after losing 20: %+v", got)
	}
	if change.Published || len(change.Proposals) == 0 {
		t.Fatalf("losing half an order gives %+v, want proposals", change)
	}
	today, err := s.book.Today(s.ctx, s.owner)
	s.must(err)
	if len(today.Risks) != 1 || today.Risks[0].OrderID != o.ID || today.Risks[0].Short == 0 || len(today.Proposals) == 0 {
		t.Errorf("today says %+v of the risks, want the order short", today.Risks)
	}
	s.takeBest(change)
	s.now = b.Cut.To
	cut, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{Spoiled: 2})
	s.must(err)
	if cut.Sound != b.Pieces-22 {
		t.Errorf("%d sound of %d after losing 20 and 2", cut.Sound, b.Pieces)
	}
	s.sound(false)
}

// TestWeighingsDelayTheWrap weighs soap that dries slowly by the drying law of
// 100 g + 15 g e^(-0.03 t): a week still costs more than 1 % until about day 34.
func TestWeighingsDelayTheWrap(t *testing.T) {
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 90))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	s.now = b.Cut.To
	b, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	wrap, shortest := b.Wrap.From, b.CureMin
	var change orders.PlanChange
	for i, mg := range []calc.Mass{115_000, 112_159, 109_856, 107_989, 106_476} {
		s.now = b.CutAt.AddDate(0, 0, 7*i)
		var got orders.PlanChange
		b, got, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 2, Mass: 2 * mg})
		s.must(err)
		if len(got.Proposals) > 0 {
			change = got
		}
	}
	if days := b.CureUntil.Sub(shortest); len(b.Weighings) != 5 || days < 5 || days > 7 {
		t.Errorf("stable from %q by its weighings, shortest cure to %s; want 6 days more", b.CureUntil, shortest)
	}
	if !b.Wrap.From.Equal(wrap) || len(change.Proposals) == 0 || !contains(change.Proposals[0].Title, b.Lot) {
		t.Fatalf("wrapping is at %s before a yes, it was at %s; proposals %+v", b.Wrap.From, wrap, change.Proposals)
	}
	if sheet := s.sheet(b); !sheet.Cure.Waits || sheet.Cure.StableEarly.After(sheet.Cure.StableOn) || sheet.Cure.StableLate.Before(sheet.Cure.StableOn) || sheet.Cure.StableLate.IsZero() {
		t.Errorf("the sheet says %+v", sheet.Cure)
	}
	_, err = s.book.Replan(s.ctx, s.owner) // still waits when planned again for another reason
	s.must(err)
	open, err := s.book.Proposals(s.ctx, s.owner)
	s.must(err)
	if got := s.batches(orders.BatchCuring)[0]; len(open) == 0 || !got.Wrap.From.Equal(wrap) {
		t.Fatalf("planned again: wrap %s, %d proposals", got.Wrap.From, len(open))
	}
	_, err = s.book.TakeProposal(s.ctx, s.owner, open[0].ID)
	s.must(err)
	if b = s.batches(orders.BatchCuring)[0]; !b.Wrap.From.After(wrap) || s.sheet(b).Cure.Waits {
		t.Errorf("wrapping stays at %s after the yes, want it after %s", b.Wrap.From, b.CureUntil)
	}
	s.sound(true)
	_, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 2, Mass: 200 * calc.Gram, Mark: "blue thread"})
	invalidAt(t, err, "pieces")
	_, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 0, Mass: -1})
	invalidAt(t, err, "pieces")
	invalidAt(t, err, "mass_mg")
}

// TestMostWeighings refuses more than a batch can have, as what it is: nothing that
// was typed is wrong.
func TestMostWeighings(t *testing.T) {
	t.Parallel()
	store := openStore(t)
	s := newShop(t, store)
	s.take(s.wants(20, 90))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	s.now = b.Cut.To
	b, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	for range 500 {
		b.Weighings = append(b.Weighings, orders.Weighing{At: s.now, Pieces: 1, Mass: 100 * calc.Gram})
	}
	s.must(store.Write(s.ctx, s.owner.WorkshopID, func(tx orders.Tx) error { return tx.Batches().Update(s.ctx, &b) }))
	var conflict *orders.Conflict
	if _, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 1, Mass: 100 * calc.Gram}); !errors.As(err, &conflict) {
		t.Errorf("one weighing more: %v, want a conflict", err)
	}
}

// TestWeighingWrittenDownLate adds an earlier weighing after a later one: what was
// lost counts from the earlier.
func TestWeighingWrittenDownLate(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 90))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	s.now = b.Cut.To
	b, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	s.now = b.CutAt.AddDate(0, 0, 14)
	for _, w := range []orders.Weighing{
		{At: b.CutAt.AddDate(0, 0, 14), Pieces: 1, Mass: 110 * calc.Gram},
		{At: b.CutAt.AddDate(0, 0, 7), Pieces: 1, Mass: 125 * calc.Gram},
	} {
		b, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, w)
		s.must(err)
	}
	got := s.sheet(b).Cure.Weighings
	if len(got) != 2 || got[0].Each != 125*calc.Gram || got[0].Lost != 0 || got[1].Lost != 12*calc.Percent {
		t.Errorf("weighings %+v, want 125 g, then 12 %% less", got)
	}
}

func TestPinHoldsTheTimes(t *testing.T) {
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 120))
	b := s.batches(orders.BatchPlanned)[0]
	got, change, err := s.book.Pin(s.ctx, s.owner, b.ID, b.Version, true)
	s.must(err)
	if !got.Pinned || change.Published {
		t.Errorf("pinned: %+v, %+v", got, change)
	}
	_, err = s.book.Closed.Create(s.ctx, s.owner, orders.ClosedDays{From: s.today(), To: s.today().AddDays(20), Reason: "away"})
	s.must(err)
	if now, err := s.book.Batch(s.ctx, s.owner, b.ID); err != nil || !now.Make.From.Equal(b.Make.From) {
		t.Errorf("a pinned batch moved to %s from %s (%v)", now.Make.From, b.Make.From, err)
	}
	_, _, err = s.book.Pin(s.ctx, s.owner, b.ID, 0, false)
	s.must(err)
}

// TestTrial plans a trial, judges it, and sees its task end.
func TestTrial(t *testing.T) {
	s := newShop(t, openStore(t))
	s.design = s.newDesign("Cedar", "CED", func(r *orders.Recipe) { r.NeedsTrial, r.TrialMinutes = true, 30 })
	s.take(s.wants(20, 75))
	trial := func() orders.Task {
		for _, x := range s.tasks() {
			if x.Kind == orders.TaskTrial {
				return x
			}
		}
		t.Fatal("no trial among the tasks")
		return orders.Task{}
	}
	b := s.batches(orders.BatchPlanned)[0]
	first := trial()
	if first.Status != orders.TaskOpen || !first.To.Before(b.Make.From) {
		t.Errorf("the trial is %s at %s, the pour at %s", first.Status, first.From, b.Make.From)
	}
	s.sound(true)
	if change, err := s.book.Replan(s.ctx, s.owner); err != nil || change.Published {
		t.Errorf("planning again moves something: %+v, %v", change, err)
	}
	s.now = first.To.Add(24 * time.Hour)
	d, _, err := s.book.TrialPassed(s.ctx, s.owner, s.design.ID, s.design.Version, true)
	s.must(err)
	if last := trial(); !d.TrialOK || last.ID != first.ID || last.Status != orders.TaskDone {
		t.Errorf("after judging: %+v, %+v", d.TrialOK, last)
	}
	s.sound(true)
	_, _, err = s.book.TrialPassed(s.ctx, s.owner, s.design.ID, s.design.Version, true)
	conflict(t, err, "judging what someone else changed")
}
