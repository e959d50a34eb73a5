package orders_test

import (
	"strings"
	"testing"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// TestHandOverIsWrittenDownLater hands an order over some days before that is recorded:
// the day it happened is kept, told in its history and shown by its task.
func TestHandOverIsWrittenDownLater(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	o, _ := s.take(s.wants(20, 60))
	for s.step() {
		s.sound(false)
	}
	wrapped := s.batches(orders.BatchWrapped)[0]
	ready := civil.Of(wrapped.WrappedAt.In(s.zone))
	s.now = s.now.AddDate(0, 0, 9)
	hand := func(day civil.Date) (orders.Order, error) {
		got, _, err := s.book.HandOver(s.ctx, s.owner, o.ID, 0, orders.HandOverFact{LeftOn: day})
		return got, err
	}
	_, err := hand(s.today().AddDays(1))
	invalidAt(t, err, "left_on")
	_, err = hand(s.today().AddDays(-400))
	invalidAt(t, err, "left_on")
	_, err = hand(ready.AddDays(-1))
	invalidAt(t, err, "left_on")
	if why := fieldsOf(t, err)["left_on"]; !strings.Contains(why, wrapped.Lot) || !strings.Contains(why, ready.String()) {
		t.Errorf("a day before the wrap is refused with %q", why)
	}
	left := ready.AddDays(2)
	got, err := hand(left)
	s.must(err)
	if got.LeftOn != left || !got.EndedAt.Equal(s.now) {
		t.Errorf("it left on %s, recorded at %s; want %s and %s", got.LeftOn, got.EndedAt, left, s.now)
	}
	for _, task := range s.tasks() {
		if task.Kind == orders.TaskHandOver && (task.Day != left || task.Status != orders.TaskDone) {
			t.Errorf("its task is %s on %s, want done on %s", task.Status, task.Day, left)
		}
	}
	history, err := s.book.Journal(s.ctx, s.owner, orders.ListQuery{Parent: o.ID})
	s.must(err)
	if said := history.Items[0].Text; !strings.Contains(said, "on "+left.String()) {
		t.Errorf("its history says %q", said)
	}
	trace, err := s.book.TraceSoap(s.ctx, s.owner, orders.SoapAsk{OrderID: o.ID})
	s.must(err)
	if line := trace.Batches[0].Lines[0]; line.LeftOn != left {
		t.Errorf("the trace has it leave on %s", line.LeftOn)
	}
}

// TestHandOverIsTodayUnlessSaid gives no day.
func TestHandOverIsTodayUnlessSaid(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	o, _ := s.take(s.wants(20, 60))
	for s.step() {
		s.sound(false)
	}
	got, _, err := s.book.HandOver(s.ctx, s.owner, o.ID, 0, orders.HandOverFact{})
	s.must(err)
	if got.LeftOn != s.today() {
		t.Errorf("it left on %s, want %s", got.LeftOn, s.today())
	}
}
