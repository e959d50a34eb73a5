package orders_test

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"ripeline/orders"
)

// sameJSON wants two values to read the same.
func sameJSON(t testing.TB, what string, got, want any) {
	t.Helper()
	a, errA := json.Marshal(got)
	b, errB := json.Marshal(want)
	if errA != nil || errB != nil || string(a) != string(b) {
		t.Errorf("%s:\n got %s %v\nwant %s %v", what, a, errA, b, errB)
	}
}

func TestTicksAreSaved(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	tick := func(in orders.TickInput) orders.Sheet {
		t.Helper()
		sheet, err := s.book.Tick(s.ctx, s.owner, b.ID, in)
		s.must(err)
		return sheet
	}
	water := func(sheet orders.Sheet) orders.SheetItem { return sheet.Work[1].Items[0] }
	if w := water(s.sheet(b)); w.Item != "water" || !w.At.IsZero() || w.By != "" || w.Mass == 0 {
		t.Fatalf("before: %+v", w)
	}
	s.now = s.now.Add(time.Hour)
	if w := water(tick(orders.TickInput{Item: "water", Done: true})); !w.At.Equal(s.now) || w.By != "Inês" {
		t.Errorf("ticked: %+v", w)
	}
	if r := tick(orders.TickInput{Item: orders.ReadOilsTemp, Done: true, Reading: 38_500}).Readings[0]; r.Reading != 38_500 || r.By != "Inês" {
		t.Errorf("read: %+v", r)
	}
	if w := water(tick(orders.TickInput{Item: "water"})); !w.At.IsZero() {
		t.Errorf("taken back: %+v", w)
	}
	if now, err := s.book.Batch(s.ctx, s.owner, b.ID); err != nil || now.Version != b.Version {
		t.Errorf("ticking changed the batch to version %d, %v", now.Version, err)
	}
	for field, in := range map[string]orders.TickInput{
		"item":    {Item: "the kettle", Done: true},
		"reading": {Item: orders.ReadLyeTemp, Done: true, Reading: -1},
		"done":    {Item: orders.ReadLyeTemp, Reading: 41_000}, // kept, or taken back?
	} {
		_, err := s.book.Tick(s.ctx, s.owner, b.ID, in)
		invalidAt(t, err, field)
	}
	_, err := s.book.Tick(s.ctx, s.owner, b.ID, orders.TickInput{Item: "water", Done: true, Reading: 5})
	invalidAt(t, err, "reading")
	if _, err := s.book.Tick(s.ctx, s.owner, s.design.ID, orders.TickInput{Item: "water", Done: true}); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("tick on no batch: %v", err)
	}
}
