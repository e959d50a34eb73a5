package orders_test

import (
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"ripeline/orders"
	"ripeline/schedule"
)

// lose takes an order, pours its first batch and loses it.
func (s *shop) lose() (orders.Order, orders.PlanChange) {
	s.t.Helper()
	o, _ := s.take(s.wants(40, 75))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	_, change, err := s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{Reason: "pockets of lye"})
	s.must(err)
	if len(change.Proposals) == 0 {
		s.t.Fatal("no way out of a lost batch")
	}
	return o, change
}

// TestAChoiceStaysOpen changes the book while a loss waits for a choice: the
// ways out are made anew, and the old ones can not be taken.
func TestAChoiceStaysOpen(t *testing.T) {
	s := newShop(t, openStore(t))
	_, lost := s.lose()
	o, change := s.take(s.wants(10, 100))
	if len(change.Proposals) == 0 || change.Proposals[0].Why != lost.Proposals[0].Why {
		t.Fatalf("an order taken meanwhile gives %+v, want new ways out of the same loss", change)
	}
	s.hasItsPlace(o, change)
	_, err := s.book.TakeProposal(s.ctx, s.owner, lost.Proposals[0].ID)
	conflict(t, err, "taking a proposal of an older book")
	open, err := s.book.Proposals(s.ctx, s.owner)
	s.must(err)
	if len(open) != len(change.Proposals) || open[0].ID != change.Proposals[0].ID || open[0].Rank != 1 {
		t.Errorf("open proposals are %d, want the %d new ones, best first", len(open), len(change.Proposals))
	}
	s.takeBest(change)
	for _, out := range s.plan().Outcomes {
		if out.Missed() {
			t.Errorf("missed after the choice: %+v", out)
		}
	}
}

// TestDismissed leaves the published plan, in which the order is short.
func TestDismissed(t *testing.T) {
	s := newShop(t, openStore(t))
	o, change := s.lose()
	s.must(s.book.DismissProposals(s.ctx, s.owner))
	_, err := s.book.TakeProposal(s.ctx, s.owner, change.Proposals[0].ID)
	conflict(t, err, "taking what was dismissed")
	v := s.plan()
	if len(v.Proposals) != 0 || len(v.Outcomes) != 1 || v.Outcomes[0].OrderID != o.ID || v.Outcomes[0].Short == 0 {
		t.Errorf("after dismissing: %d proposals, outcomes %+v; want none, and the order short", len(v.Proposals), v.Outcomes)
	}
	if v.Revision.Objective.Late == 0 {
		t.Errorf("the plan with a short order counts nobody late: %+v", v.Revision.Objective)
	}
	if _, err := s.book.TakeProposal(s.ctx, s.owner, uuid.NewString()); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("taking what never was: %v, want not found", err)
	}
}

// TestTwoTakeAtOnce has two people say yes to the same proposal.
func TestTwoTakeAtOnce(t *testing.T) {
	s := newShop(t, openStore(t))
	_, change := s.lose()
	var both sync.WaitGroup
	errs := make([]error, 2)
	for i := range errs {
		both.Go(func() { _, errs[i] = s.book.TakeProposal(s.ctx, s.owner, change.Proposals[0].ID) })
	}
	both.Wait()
	if errs[0] != nil {
		errs[0], errs[1] = errs[1], errs[0]
	}
	s.must(errs[0])
	conflict(t, errs[1], "taking what someone else just took")
	if got := s.plan().Revision.Number; got != change.Revision+1 {
		t.Errorf("plan %d, want %d: one of the two is published", got, change.Revision+1)
	}
}

// TestTooLateToTake waits until a proposal's work should have begun.
func TestTooLateToTake(t *testing.T) {
	s := newShop(t, openStore(t))
	_, change := s.lose()
	s.now = s.now.AddDate(0, 2, 0)
	_, err := s.book.TakeProposal(s.ctx, s.owner, change.Proposals[0].ID)
	conflict(t, err, "taking a proposal whose pour has passed")
}

// TestWaysOut loses a batch whose pieces another batch could give as well.
func TestWaysOut(t *testing.T) {
	s := newShop(t, openStore(t))
	soon, _ := s.take(s.wants(24, 50))
	s.take(s.wants(24, 110))
	b := s.batches(orders.BatchPlanned)[0]
	s.pour(b)
	s.now = b.Cut.To
	_, change, err := s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{Reason: "crumbled"})
	s.must(err)
	seen := make(map[schedule.ProposalKind]bool)
	for i, p := range change.Proposals {
		seen[p.Kind] = true
		if p.Rank != i+1 || p.Title == "" || p.Plan == nil || p.Status != orders.ProposalOpen || p.BaseRevision != change.Revision {
			t.Errorf("proposal %d: rank %d, title %q, status %s, base %d", i, p.Rank, p.Title, p.Status, p.BaseRevision)
		}
	}
	if len(change.Proposals) < 2 {
		t.Errorf("ways out: %v; want more than one", seen)
	}
	for _, out := range s.plan().Outcomes {
		if out.OrderID == soon.ID && out.Short == 0 {
			t.Errorf("the order that lost its batch is not short: %+v", out)
		}
	}
}

func TestToday(t *testing.T) {
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	at := func(when time.Time) orders.TodayView {
		s.now = when
		v, err := s.book.Today(s.ctx, s.owner)
		s.must(err)
		return v
	}
	if v := at(b.Make.From.AddDate(0, 0, -1)); len(v.Now) != 0 || len(v.Tomorrow) != 1 || v.Tomorrow[0].Kind != orders.TaskMake {
		t.Errorf("the day before: %+v", v)
	}
	if v := at(b.Make.From); len(v.Now) != 1 || v.Now[0].BatchID != b.ID || len(v.Done) != 0 || v.Today != s.today() {
		t.Errorf("on the day: %+v", v)
	}
	s.pour(b)
	if v := at(b.Make.To); len(v.Now) != 0 || len(v.Done) != 1 || v.Done[0].Kind != orders.TaskMake {
		t.Errorf("once poured: %+v", v)
	}
	if v := at(b.Cut.To.AddDate(0, 0, 1)); len(v.Now) != 1 || v.Now[0].Kind != orders.TaskCut || len(v.Done) != 0 {
		t.Errorf("the day after the cut was due: %+v", v)
	}
	_, _, err := s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	if v := at(s.now); len(v.Curing) != 1 || v.Curing[0].ID != b.ID || len(v.Now) != 0 || len(v.Done) != 1 {
		t.Errorf("on the rack: %+v", v)
	}
}
