package orders_test

import (
	"errors"
	"testing"

	"github.com/google/uuid"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// act is one use case, called with ids that do not exist: whoever may call it
// gets another error than forbidden, or none.
type act struct {
	name  string
	least orders.Role
	reads bool
	do    func(s *shop, a orders.Actor) error
}

func acts() []act {
	none := uuid.NewString()
	return []act{
		{"promise", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.Promise(s.ctx, a, orders.Question{})
			return err
		}},
		{"order", orders.Viewer, true, func(s *shop, a orders.Actor) error { _, err := s.book.Order(s.ctx, a, none); return err }},
		{"orders", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.Orders(s.ctx, a, orders.ListQuery{})
			return err
		}},
		{"batch", orders.Viewer, true, func(s *shop, a orders.Actor) error { _, err := s.book.Batch(s.ctx, a, none); return err }},
		{"wrap times", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.WrapTimes(s.ctx, a, []string{none})
			return err
		}},
		{"batches", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.Batches(s.ctx, a, orders.ListQuery{})
			return err
		}},
		{"allocations", orders.Viewer, true, func(s *shop, a orders.Actor) error { _, err := s.book.Allocations(s.ctx, a); return err }},
		{"plan", orders.Viewer, true, func(s *shop, a orders.Actor) error { _, err := s.book.Plan(s.ctx, a); return err }},
		{"revisions", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.Revisions(s.ctx, a, orders.ListQuery{})
			return err
		}},
		{"proposals", orders.Viewer, true, func(s *shop, a orders.Actor) error { _, err := s.book.Proposals(s.ctx, a); return err }},
		{"today", orders.Viewer, true, func(s *shop, a orders.Actor) error { _, err := s.book.Today(s.ctx, a); return err }},
		{"tasks", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.Tasks(s.ctx, a, civil.Date{Year: 2026, Month: 1, Day: 1})
			return err
		}},
		{"task page", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.TaskPage(s.ctx, a, orders.ListQuery{})
			return err
		}},
		{"pour", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.Pour(s.ctx, a, none, 0, orders.PourFact{})
			return err
		}},
		{"cut", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.Cut(s.ctx, a, none, 0, orders.CutFact{})
			return err
		}},
		{"wrap", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.Wrap(s.ctx, a, none, 0, orders.WrapFact{})
			return err
		}},
		{"fail", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.Fail(s.ctx, a, none, 0, orders.FailFact{})
			return err
		}},
		{"weigh", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.Weigh(s.ctx, a, none, 0, orders.Weighing{})
			return err
		}},
		{"unweigh", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.Unweigh(s.ctx, a, none, 0, orders.WeighingTaken{Number: 1})
			return err
		}},
		{"tick", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, err := s.book.Tick(s.ctx, a, none, orders.TickInput{})
			return err
		}},
		{"correct lots", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.CorrectLots(s.ctx, a, none, 0, orders.LotsUsed{})
			return err
		}},
		{"receive", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, err := s.book.Receive(s.ctx, a, none, 0, orders.Receipt{})
			return err
		}},
		{"supplies", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.Supplies(s.ctx, a)
			return err
		}},
		{"trace lots", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.TraceLots(s.ctx, a, orders.LotsAsk{IDs: []string{none}})
			return err
		}},
		{"trace soap", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.TraceSoap(s.ctx, a, orders.SoapAsk{OrderID: none})
			return err
		}},
		{"hand over", orders.Helper, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.HandOver(s.ctx, a, none, 0, orders.HandOverFact{})
			return err
		}},
		{"take order", orders.Owner, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.TakeOrder(s.ctx, a, orders.OrderInput{}, true)
			return err
		}},
		{"change order", orders.Owner, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.ChangeOrder(s.ctx, a, none, 0, orders.OrderInput{})
			return err
		}},
		{"accept order", orders.Owner, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.AcceptOrder(s.ctx, a, none, 0)
			return err
		}},
		{"end order", orders.Owner, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.EndOrder(s.ctx, a, none, 0)
			return err
		}},
		{"fill molds", orders.Viewer, true, func(s *shop, a orders.Actor) error {
			_, err := s.book.FillMolds(s.ctx, a, none, orders.FillQuestion{})
			return err
		}},
		{"take less waste", orders.Owner, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.TakeLessWaste(s.ctx, a, none, 0, none)
			return err
		}},
		{"pin", orders.Owner, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.Pin(s.ctx, a, none, 0, true)
			return err
		}},
		{"judge trial", orders.Owner, false, func(s *shop, a orders.Actor) error {
			_, _, err := s.book.TrialPassed(s.ctx, a, none, 0, true)
			return err
		}},
		{"replan", orders.Owner, false, func(s *shop, a orders.Actor) error { _, err := s.book.Replan(s.ctx, a); return err }},
		{"take proposal", orders.Owner, false, func(s *shop, a orders.Actor) error {
			_, err := s.book.TakeProposal(s.ctx, a, none)
			return err
		}},
		{"dismiss proposals", orders.Owner, false, func(s *shop, a orders.Actor) error { return s.book.DismissProposals(s.ctx, a) }},
	}
}

func TestWhoMayDoWhat(t *testing.T) {
	s := newShop(t, openStore(t))
	as := func(role orders.Role, readOnly bool) orders.Actor {
		a := s.owner
		a.Role, a.ReadOnly = role, readOnly
		return a
	}
	rank := map[orders.Role]int{orders.Viewer: 1, orders.Helper: 2, orders.Owner: 3}
	for _, x := range acts() {
		for role, r := range rank {
			err := x.do(s, as(role, false))
			if got, want := errors.Is(err, orders.ErrForbidden), r < rank[x.least]; got != want {
				t.Errorf("%s as %s: %v; forbidden is %v, want %v", x.name, role, err, got, want)
			}
		}
		if err := x.do(s, as(orders.Owner, true)); errors.Is(err, orders.ErrForbidden) == x.reads {
			t.Errorf("%s by a token that may only read: %v", x.name, err)
		}
		if err := x.do(s, orders.Actor{}); !errors.Is(err, orders.ErrForbidden) {
			t.Errorf("%s by nobody: %v, want forbidden", x.name, err)
		}
	}
}

// TestOtherWorkshop has the owner of one workshop ask for another's records.
func TestOtherWorkshop(t *testing.T) {
	store := openStore(t)
	s, other := newShop(t, store), newShop(t, store)
	o, _ := s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	if _, err := other.book.Order(other.ctx, other.owner, o.ID); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("another workshop's order: %v, want not found", err)
	}
	if _, _, err := other.book.Pour(other.ctx, other.owner, b.ID, 0, orders.PourFact{}); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("pouring another workshop's batch: %v, want not found", err)
	}
	if _, _, err := other.book.EndOrder(other.ctx, other.owner, o.ID, 0); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("ending another workshop's order: %v, want not found", err)
	}
	in := other.wants(10, 60)
	in.Lines[0].DesignID, in.CustomerID = s.design.ID, s.customer.ID
	_, _, err := other.book.TakeOrder(other.ctx, other.owner, in, false)
	invalidAt(t, err, "lines[0].design_id")
	invalidAt(t, err, "customer_id")
}
