package postgres_test

import (
	"errors"
	"reflect"
	"testing"

	"ripeline/orders"
)

func TestWorkshopComesBackAsStored(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	var stored orders.Workshop
	read(t, s, w.ID, func(tx orders.Tx) (err error) {
		stored, err = tx.Workshop(t.Context())
		return err
	})
	if missing := unset("Workshop", reflect.ValueOf(w.Workshop)); len(missing) != 2 {
		t.Fatalf("the sample leaves out %v, want the two revisions only", missing)
	}
	want := w.Workshop
	want.PlanRevision = 1 // newWorld published one
	if !reflect.DeepEqual(stored, want) {
		t.Errorf("Workshop:\n got %+v\nwant %+v", stored, want)
	}

	changed := stored
	changed.Name, changed.Hours, changed.BookRevision = "Saltgrass", []orders.Window{}, 99
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.UpdateWorkshop(t.Context(), &changed) })
	if changed.Version != 2 || changed.BookRevision != 0 || changed.PlanRevision != 1 {
		t.Errorf("after the change: %+v", changed)
	}
	err := s.Write(t.Context(), w.ID, func(tx orders.Tx) error { return tx.UpdateWorkshop(t.Context(), &stored) })
	if !errors.Is(err, orders.ErrConflict) {
		t.Errorf("stale change: %v, want ErrConflict", err)
	}
	read(t, s, w.ID, func(tx orders.Tx) error {
		got, err := tx.Workshop(t.Context())
		if !reflect.DeepEqual(got, changed) {
			t.Errorf("Workshop:\n got %+v\nwant %+v", got, changed)
		}
		return err
	})
}

func TestBookRevisionRises(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	for want := 1; want <= 3; want++ {
		write(t, s, w.ID, func(tx orders.Tx) error {
			got, err := tx.TouchBook(t.Context())
			if got != want {
				t.Errorf("TouchBook = %d, want %d", got, want)
			}
			return err
		})
	}
	read(t, s, w.ID, func(tx orders.Tx) error {
		got, err := tx.Workshop(t.Context())
		if got.BookRevision != 3 || got.Version != 1 {
			t.Errorf("revision %d, version %d; want 3 and an unchanged 1", got.BookRevision, got.Version)
		}
		return err
	})
}

func TestUnknownWorkshop(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	never := func(orders.Tx) error { t.Error("fn ran"); return nil }
	for _, id := range []string{"", "17", "0190a0a0-0000-7000-8000-000000000000", "{0190a0a0-0000-7000-8000-0000000000}"} {
		if err := s.Write(t.Context(), id, never); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("Write(%q): %v", id, err)
		}
		if err := s.Read(t.Context(), id, never); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("Read(%q): %v", id, err)
		}
		err := s.System(t.Context(), func(tx orders.SystemTx) error { return tx.DeleteWorkshop(t.Context(), id) })
		if !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("DeleteWorkshop(%q): %v", id, err)
		}
	}
}

func TestReadWritesNothing(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	err := s.Read(t.Context(), w.ID, func(tx orders.Tx) error {
		_, err := tx.TouchBook(t.Context())
		return err
	})
	if err == nil {
		t.Error("a write in Read was accepted")
	}
}

func TestReadIsOneSnapshot(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	revision := func(tx orders.Tx) int {
		got, err := tx.Workshop(t.Context())
		must(t, err)
		return got.BookRevision
	}
	read(t, s, w.ID, func(tx orders.Tx) error {
		before := revision(tx)
		write(t, s, w.ID, func(other orders.Tx) error { _, err := other.TouchBook(t.Context()); return err })
		if after := revision(tx); after != before {
			t.Errorf("revision went from %d to %d within a Read", before, after)
		}
		return nil
	})
}

func TestClearBookKeepsPeopleAndJournal(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	s := open(t, db.AppURL)
	w, other := newWorld(t, s, "tideline"), newWorld(t, s, "saltgrass")
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.ClearBook(t.Context()) })
	kept := map[string]bool{
		"workshops": true, "hours": true, "people": true, "api_tokens": true, "reminder_rules": true, "deliveries": true,
		"journal": true, "idempotency_keys": true,
	}
	counts := countRows(t, s, w.ID)
	for table, n := range counts {
		if (n > 0) != kept[table] {
			t.Errorf("%s has %d rows left", table, n)
		}
	}
	for table, n := range countRows(t, s, other.ID) {
		if n == 0 {
			t.Errorf("the other workshop lost its %s", table)
		}
	}
	write(t, s, w.ID, func(tx orders.Tx) error {
		r := sampleRevision()
		if err := tx.AddRevision(t.Context(), &r); err != nil {
			return err
		}
		if r.Number != 2 {
			t.Errorf("the next revision is %d, want 2: numbers go on", r.Number)
		}
		return nil
	})
}

func TestDeletedWorkshopLeavesNothing(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	s := open(t, db.AppURL)
	w, other := newWorld(t, s, "tideline"), newWorld(t, s, "saltgrass")
	before := countRows(t, s, other.ID)
	system(t, s, func(tx orders.SystemTx) error { return tx.DeleteWorkshop(t.Context(), w.ID) })
	if after := countRows(t, s, other.ID); !reflect.DeepEqual(after, before) {
		t.Errorf("the other workshop has %v, had %v", after, before)
	}
	admin := connect(t, adminURL(t, db))
	for table := range before {
		key := "workshop_id"
		if table == "workshops" {
			key = "id"
		}
		if left := query[int](t, admin, "SELECT count(*) FROM "+table+" WHERE "+key+" = $1", w.ID)[0]; left != 0 {
			t.Errorf("%s keeps %d rows", table, left)
		}
	}
}
