package orders_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/uuid"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

func TestTakeOrderRefuses(t *testing.T) {
	s := newShop(t, openStore(t))
	for _, c := range []struct {
		field string
		spoil func(*orders.OrderInput)
	}{
		{"needed_by", func(in *orders.OrderInput) { in.NeededBy = civil.Date{Year: 2026, Month: 1, Day: 3} }},
		{"needed_by", func(in *orders.OrderInput) { in.NeededBy = s.today() }},
		{"needed_by", func(in *orders.OrderInput) { in.NeededBy = civil.Date{} }},
		{"needed_by", func(in *orders.OrderInput) { in.NeededBy = civil.Date{Year: 2027, Month: 2, Day: 30} }},
		{"needed_by", func(in *orders.OrderInput) { in.NeededBy = s.today().AddDays(20_000) }},
		{"customer_id", func(in *orders.OrderInput) { in.CustomerID = "" }},
		{"customer_id", func(in *orders.OrderInput) { in.CustomerID = uuid.NewString() }},
		{"customer_id", func(in *orders.OrderInput) { in.CustomerID = "nobody" }},
		{"title", func(in *orders.OrderInput) { in.Title = "two\r\nlines" }},
		{"title", func(in *orders.OrderInput) { in.Title = strings.Repeat("x", 201) }},
		{"title", func(in *orders.OrderInput) { in.Title = "bad \xff text" }},
		{"note", func(in *orders.OrderInput) { in.Note = strings.Repeat("x", 4001) }},
		{"hand_over_days", func(in *orders.OrderInput) { n := -1; in.HandOver = &n }},
		{"hand_over_days", func(in *orders.OrderInput) { n := 1000; in.HandOver = &n }},
		{"weight", func(in *orders.OrderInput) { in.Weight = 10 }},
		{"weight", func(in *orders.OrderInput) { in.Weight = -1 }},
		{"lines", func(in *orders.OrderInput) { in.Lines = nil }},
		{"lines", func(in *orders.OrderInput) {
			for range 51 {
				in.Lines = append(in.Lines, in.Lines[0])
			}
		}},
		{"lines", func(in *orders.OrderInput) {
			in.Lines = append(in.Lines, in.Lines[0])
			in.Lines[0].Pieces, in.Lines[1].Pieces = 15_000, 15_000
		}},
		{"lines", func(in *orders.OrderInput) { in.Lines[0].Pieces, in.Lines[0].Spares = 15_000, 15_000 }},
		{"lines[0].pieces", func(in *orders.OrderInput) { in.Lines[0].Pieces = 0 }},
		{"lines[0].pieces", func(in *orders.OrderInput) { in.Lines[0].Pieces = 1_000_000 }},
		{"lines[0].pieces", func(in *orders.OrderInput) { in.Lines[0].Pieces = -5 }},
		{"lines[0].spares", func(in *orders.OrderInput) { in.Lines[0].Spares = -5 }},
		{"lines[0].keepsakes", func(in *orders.OrderInput) { in.Lines[0].Keepsakes = 200_000 }},
		{"lines[0].design_id", func(in *orders.OrderInput) { in.Lines[0].DesignID = uuid.NewString() }},
	} {
		in := s.wants(20, 60)
		c.spoil(&in)
		_, _, err := s.book.TakeOrder(s.ctx, s.owner, in, true)
		invalidAt(t, err, c.field)
	}
	list, err := s.book.Orders(s.ctx, s.owner, orders.ListQuery{})
	s.must(err)
	if len(list.Items) != 0 || s.plan().Revision.Number != 0 {
		t.Errorf("refused orders left %d orders and plan %d", len(list.Items), s.plan().Revision.Number)
	}
}

func TestPromiseRefuses(t *testing.T) {
	s := newShop(t, openStore(t))
	_, err := s.book.Promise(s.ctx, s.owner, orders.Question{NeededBy: civil.Date{Year: 2026, Month: 1, Day: 3}, Lines: []orders.OrderLine{{}}})
	invalidAt(t, err, "needed_by")
	invalidAt(t, err, "lines[0].design_id")
	invalidAt(t, err, "lines[0].pieces")
	if want := "2026-01-03 is in the past; pick a date after today"; !strings.Contains(err.Error(), want) {
		t.Errorf("message is %q, want it to say %q", err, want)
	}
}

func TestOrderLife(t *testing.T) {
	s := newShop(t, openStore(t))
	o, change, err := s.book.TakeOrder(s.ctx, s.owner, s.wants(20, 60), false)
	s.must(err)
	if o.Status != orders.Enquiry || o.Number != 1 || o.Weight != 1 || o.HandOver != 1 || change.Published || len(s.batches(orders.BatchPlanned)) != 0 {
		t.Fatalf("an enquiry binds nothing: %+v, %+v", o, change)
	}
	o, change, err = s.book.AcceptOrder(s.ctx, s.owner, o.ID, o.Version)
	s.must(err)
	if o.Status != orders.Accepted || o.AcceptedAt.IsZero() || o.Told.IsZero() || !change.Published {
		t.Fatalf("accepted order: %+v, %+v", o, change)
	}
	s.sound(true)
	_, _, err = s.book.AcceptOrder(s.ctx, s.owner, o.ID, 0)
	conflict(t, err, "accepting twice")

	in := s.wants(30, 60)
	in.Lines[0].ID = o.Lines[0].ID
	_, _, err = s.book.ChangeOrder(s.ctx, s.owner, o.ID, o.Version-1, in)
	conflict(t, err, "changing what someone else changed")
	changed, _, err := s.book.ChangeOrder(s.ctx, s.owner, o.ID, o.Version, in)
	s.must(err)
	if changed.Lines[0].ID != o.Lines[0].ID || changed.Lines[0].Pieces != 30 || changed.Told != o.Told {
		t.Errorf("changed order: %+v", changed)
	}
	s.sound(false)
	in.Lines[0].ID = uuid.NewString()
	_, _, err = s.book.ChangeOrder(s.ctx, s.owner, o.ID, 0, in)
	invalidAt(t, err, "lines[0].id")

	ended, _, err := s.book.EndOrder(s.ctx, s.owner, o.ID, 0)
	s.must(err)
	if ended.Status != orders.Cancelled || ended.EndedAt.IsZero() {
		t.Errorf("cancelled order: %+v", ended)
	}
	proposals, err := s.book.Proposals(s.ctx, s.owner)
	s.must(err)
	if len(proposals) != 1 || len(proposals[0].Diff.Dropped) == 0 {
		t.Fatalf("dropping tomorrow's pour waits for a yes; proposals are %+v", proposals)
	}
	_, err = s.book.TakeProposal(s.ctx, s.owner, proposals[0].ID)
	s.must(err)
	s.sound(true)
	if left := s.batches(orders.BatchPlanned); len(left) != 0 {
		t.Errorf("%d batches stay planned for nobody", len(left))
	}
	for _, x := range s.tasks() {
		if x.Status != orders.TaskCancelled || x.Sequence == 0 {
			t.Errorf("task %q of a cancelled order is %s, sequence %d", x.Title, x.Status, x.Sequence)
		}
	}
	_, _, err = s.book.EndOrder(s.ctx, s.owner, o.ID, 0)
	conflict(t, err, "ending twice")
	_, _, err = s.book.ChangeOrder(s.ctx, s.owner, o.ID, 0, s.wants(10, 60))
	conflict(t, err, "changing a cancelled order")
	_, _, err = s.book.HandOver(s.ctx, s.owner, o.ID, 0, orders.HandOverFact{})
	conflict(t, err, "handing over a cancelled order")
}

func conflict(t testing.TB, err error, what string) {
	t.Helper()
	var c *orders.Conflict
	if !errors.As(err, &c) || !strings.HasSuffix(c.Message, ".") {
		t.Errorf("%s: %v, want a conflict in a sentence", what, err)
	}
}

// TestTakeOrderOnce repeats a request under one idempotency key.
func TestTakeOrderOnce(t *testing.T) {
	s := newShop(t, openStore(t))
	in := s.wants(20, 60)
	ctx := orders.WithOnce(s.ctx, "key-1", []byte("request"))
	first, change, err := s.book.TakeOrder(ctx, s.owner, in, true)
	s.must(err)
	again, repeat, err := s.book.TakeOrder(ctx, s.owner, in, true)
	s.must(err)
	if again.ID != first.ID || again.Told != first.Told || repeat.Revision != change.Revision || !repeat.Published {
		t.Errorf("the repeat gives %+v, %+v; want %+v, %+v", again, repeat, first, change)
	}
	list, err := s.book.Orders(s.ctx, s.owner, orders.ListQuery{})
	s.must(err)
	if len(list.Items) != 1 {
		t.Errorf("%d orders after a repeated request, want 1", len(list.Items))
	}
	_, _, err = s.book.TakeOrder(orders.WithOnce(s.ctx, "key-1", []byte("another")), s.owner, in, true)
	conflict(t, err, "another request under the same key")
}
