package postgres_test

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"sync"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/orders/postgres"
)

const lease = 5 * time.Minute

// claim claims a delivery; the zero Delivery when none is due.
func claim(t *testing.T, s *postgres.Store, now time.Time) orders.Delivery {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second) // a claim that waits would wait for ever
	defer cancel()
	var d orders.Delivery
	err := s.System(ctx, func(tx orders.SystemTx) (err error) {
		_, d, err = tx.ClaimDelivery(ctx, now, lease)
		return err
	})
	if err != nil && !errors.Is(err, orders.ErrNotFound) {
		t.Fatal(err)
	}
	return d
}

func finish(ctx context.Context, s *postgres.Store, d orders.Delivery) error {
	return s.System(ctx, func(tx orders.SystemTx) error { return tx.FinishDelivery(ctx, d) })
}

func deliveries(t *testing.T, s *postgres.Store, workshop string, q orders.ListQuery) (all []orders.Delivery) {
	t.Helper()
	read(t, s, workshop, func(tx orders.Tx) error {
		page, err := tx.Deliveries(t.Context(), q)
		all = page.Items
		return err
	})
	return all
}

func TestDeliveriesAreClaimedOnceEach(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	replicas := []*postgres.Store{open(t, db.AppURL), open(t, db.AppURL)}
	w, other := newWorld(t, replicas[0], "tideline"), newWorld(t, replicas[0], "saltgrass") // one due each
	const each = 9
	for _, of := range []*world{w, other} {
		var ds []orders.Delivery
		for i := range each {
			d := sampleDelivery(of.Owner.ID, 3)
			d.Slot = "more-" + string(rune('a'+i))
			ds = append(ds, d)
		}
		system(t, replicas[0], func(tx orders.SystemTx) error { return tx.AddDeliveries(t.Context(), of.ID, ds) })
	}
	const claimers = 6
	var group sync.WaitGroup
	var claimed [claimers][]string
	for i := range claimers {
		group.Go(func() {
			for {
				d := claim(t, replicas[i%2], noon(3, 3))
				if d.ID == "" {
					return
				}
				claimed[i] = append(claimed[i], d.ID)
			}
		})
	}
	group.Wait()
	seen := map[string]int{}
	for _, ids := range claimed {
		for _, id := range ids {
			seen[id]++
		}
	}
	for id, n := range seen {
		if n != 1 {
			t.Errorf("%s was claimed %d times", id, n)
		}
	}
	if len(seen) != 2*(each+1) {
		t.Errorf("%d deliveries claimed, want %d", len(seen), 2*(each+1))
	}
}

func TestClaimedDeliveryIsSkippedNotWaitedFor(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	second := sampleDelivery(w.Owner.ID, 3)
	second.Slot = "07:00"
	system(t, s, func(tx orders.SystemTx) error {
		return tx.AddDeliveries(t.Context(), w.ID, []orders.Delivery{second})
	})
	system(t, s, func(tx orders.SystemTx) error {
		_, first, err := tx.ClaimDelivery(t.Context(), noon(3, 3), lease)
		if d := claim(t, s, noon(3, 3)); d.ID == "" || d.ID == first.ID {
			t.Errorf("beside an open claim of %s came %q", first.ID, d.ID)
		}
		return err
	})
}

func TestDeliveryFromDueToSent(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	due := noon(3, 3)
	if d := claim(t, s, due.Add(-time.Second)); d.ID != "" {
		t.Fatalf("claimed before it was due: %+v", d)
	}
	d := claim(t, s, due)
	want := sampleDelivery(w.Owner.ID, 3)
	want.ID, want.Status, want.Attempts, want.NextTry = d.ID, orders.DeliveryDue, 1, due.Add(lease)
	if !reflect.DeepEqual(d, want) {
		t.Fatalf("claimed\n     %+v\nwant %+v", d, want)
	}
	d.NextTry, d.LastError = due.Add(time.Hour), "mail server is away"
	must(t, finish(t.Context(), s, d))
	if early := claim(t, s, due.Add(time.Hour-time.Second)); early.ID != "" {
		t.Fatal("claimed before its next try")
	}
	d = claim(t, s, due.Add(time.Hour))
	if d.Attempts != 2 || d.LastError != "mail server is away" {
		t.Fatalf("second attempt: %+v", d)
	}
	d.Status, d.DoneAt, d.LastError = orders.DeliverySent, due.Add(time.Hour), ""
	must(t, finish(t.Context(), s, d))
	if again := claim(t, s, due.Add(24*time.Hour)); again.ID != "" {
		t.Error("a sent delivery was claimed again")
	}
	if err := finish(t.Context(), s, d); !errors.Is(err, orders.ErrConflict) {
		t.Errorf("finished twice: %v, want ErrConflict", err)
	}
	if got := deliveries(t, s, w.ID, orders.ListQuery{Status: "sent", Parent: w.Owner.ID}); len(got) != 1 || !reflect.DeepEqual(got[0], d) {
		t.Errorf("stored %+v, want %+v", got, d)
	}
}

func TestLostLeaseChangesNothing(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	newWorld(t, s, "tideline")
	slow := claim(t, s, noon(3, 3))
	second := claim(t, s, noon(3, 3).Add(lease))
	if second.ID != slow.ID || second.Attempts != 2 {
		t.Fatalf("after the lease came %+v", second)
	}
	failed := slow
	failed.Status, failed.DoneAt = orders.DeliveryFailed, noon(3, 3)
	if err := finish(t.Context(), s, failed); !errors.Is(err, orders.ErrConflict) {
		t.Errorf("who lost the lease gave it up: %v, want ErrConflict", err)
	}
	sent := slow
	sent.Status, sent.DoneAt = orders.DeliverySent, noon(3, 3)
	must(t, finish(t.Context(), s, sent)) // it left, whoever holds the lease
	second.Status, second.DoneAt = orders.DeliverySent, noon(3, 3)
	if err := finish(t.Context(), s, second); !errors.Is(err, orders.ErrConflict) {
		t.Errorf("sent a second time: %v, want ErrConflict", err)
	}
}

func TestDeliveryIsAddedOnce(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	add := func(change func(*orders.Delivery)) {
		d := sampleDelivery(w.Owner.ID, 3)
		change(&d)
		system(t, s, func(tx orders.SystemTx) error { return tx.AddDeliveries(t.Context(), w.ID, []orders.Delivery{d, d}) })
	}
	stored := func() []orders.Delivery { return deliveries(t, s, w.ID, orders.ListQuery{}) }

	add(func(*orders.Delivery) {})
	if all := stored(); len(all) != 1 {
		t.Fatalf("%d stored, want the one there was", len(all))
	}
	moved := noon(3, 3).Add(time.Hour)
	add(func(d *orders.Delivery) { d.DueAt, d.Subject = moved, "not this" })
	if all := stored(); len(all) != 1 || !all[0].DueAt.Equal(moved) || all[0].Subject == "not this" {
		t.Errorf("an unclaimed one was not moved: %+v", all)
	}
	claimed := claim(t, s, moved)
	add(func(*orders.Delivery) {})
	if all := stored(); !all[0].DueAt.Equal(moved) || !all[0].NextTry.Equal(claimed.NextTry) {
		t.Errorf("a claimed one was moved: %+v", all)
	}
	add(func(d *orders.Delivery) { d.Slot = "07:00" })
	add(func(d *orders.Delivery) { d.LocalDate = day(3, 4) })
	add(func(d *orders.Delivery) { d.Kind = "change" })
	if all := stored(); len(all) != 4 {
		t.Errorf("%d stored, want 4", len(all))
	}
}

func TestLastDelivered(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	last := func() (d orders.Delivery, err error) {
		err = s.System(t.Context(), func(tx orders.SystemTx) error {
			var err error
			d, err = tx.LastDelivered(t.Context(), w.Owner.ID, "digest")
			return err
		})
		return d, err
	}
	if _, err := last(); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("nothing delivered yet: %v, want ErrNotFound", err)
	}
	for d, status := range map[int]orders.DeliveryStatus{5: orders.DeliverySent, 6: orders.DeliveryShown, 7: orders.DeliveryEmpty, 4: orders.DeliverySent} {
		one := sampleDelivery(w.Owner.ID, d)
		one.Status, one.DoneAt = status, noon(3, d)
		system(t, s, func(tx orders.SystemTx) error { return tx.AddDeliveries(t.Context(), w.ID, []orders.Delivery{one}) })
	}
	d, err := last()
	must(t, err)
	if d.LocalDate != day(3, 6) {
		t.Errorf("last delivered is of %s, want %s", d.LocalDate, day(3, 6))
	}
}

// TestOldDeliveriesArePruned keeps what is due, what ended of late, and the last
// digest that reached its reader.
func TestOldDeliveriesArePruned(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline") // one is due
	for d, status := range map[int]orders.DeliveryStatus{
		5: orders.DeliverySent, 6: orders.DeliveryShown, 7: orders.DeliveryEmpty, 8: orders.DeliveryFailed, 20: orders.DeliveryEmpty,
	} {
		one := sampleDelivery(w.Owner.ID, d)
		one.Status, one.DoneAt = status, noon(3, d)
		system(t, s, func(tx orders.SystemTx) error { return tx.AddDeliveries(t.Context(), w.ID, []orders.Delivery{one}) })
	}
	prune := func(limit int) (n int) {
		system(t, s, func(tx orders.SystemTx) (err error) {
			n, err = tx.PruneDeliveries(t.Context(), noon(3, 15), limit)
			return err
		})
		return n
	}
	if first, second, third := prune(2), prune(2), prune(2); first != 2 || second != 1 || third != 0 {
		t.Errorf("deleted %d, %d and %d, want 2, 1 and none", first, second, third)
	}
	var left []string
	for _, d := range deliveries(t, s, w.ID, orders.ListQuery{}) {
		left = append(left, string(d.Status))
	}
	slices.Sort(left)
	if !slices.Equal(left, []string{"due", "empty", "shown"}) {
		t.Errorf("left are %v", left)
	}
}
