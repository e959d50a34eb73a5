package postgres_test

import (
	"encoding/base64"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/schedule/civil"
)

// pages reads a list page by page and returns the names, a page per slice.
func pages[T any](t *testing.T, s *postgres.Store, workshop string, table func(orders.Tx) orders.Table[T], q orders.ListQuery, name func(T) string) [][]string {
	t.Helper()
	var all [][]string
	for {
		read(t, s, workshop, func(tx orders.Tx) error {
			page, err := table(tx).List(t.Context(), q)
			names := []string{}
			for _, item := range page.Items {
				names = append(names, name(item))
			}
			all, q.Cursor = append(all, names), page.Next
			return err
		})
		if q.Cursor == "" {
			return all
		}
		if len(all) > 100 {
			t.Fatal("the list has no end")
		}
	}
}

func moldName(m orders.Mold) string { return m.Name }

func TestListsArePaged(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline") // has one, retired
	write(t, s, w.ID, func(tx orders.Tx) error {
		for _, name := range []string{"beach", "Anchor", "cove", "anchor", "Dune", "cove", "ebb % tide"} {
			m := sampleMold()
			m.Name, m.Retired = name, false
			if err := tx.Molds().Insert(t.Context(), &m); err != nil {
				return err
			}
		}
		return nil
	})
	for _, c := range []struct {
		q    orders.ListQuery
		want string
	}{
		{orders.ListQuery{}, "[[Anchor anchor beach cove cove Dune ebb % tide]]"},
		{orders.ListQuery{Limit: 3}, "[[Anchor anchor beach] [cove cove Dune] [ebb % tide]]"},
		{orders.ListQuery{Limit: 7}, "[[Anchor anchor beach cove cove Dune ebb % tide]]"},
		{orders.ListQuery{Limit: 200, All: true}, "[[Anchor anchor beach cove cove Dune ebb % tide long loaf]]"},
		{orders.ListQuery{Text: "CO"}, "[[cove cove]]"},
		{orders.ListQuery{Text: "%"}, "[[ebb % tide]]"},
		{orders.ListQuery{Text: "nowhere"}, "[[]]"},
	} {
		if got := fmt.Sprint(pages(t, s, w.ID, orders.Tx.Molds, c.q, moldName)); got != c.want {
			t.Errorf("%+v:\n got %s\nwant %s", c.q, got, c.want)
		}
	}
}

func TestPagesGoOnWhileTheListChanges(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	add := func(name string) {
		write(t, s, w.ID, func(tx orders.Tx) error {
			m := sampleMold()
			m.Name, m.Retired = name, false
			return tx.Molds().Insert(t.Context(), &m)
		})
	}
	list := func(q orders.ListQuery) (page orders.Page[orders.Mold]) {
		read(t, s, w.ID, func(tx orders.Tx) (err error) {
			page, err = tx.Molds().List(t.Context(), q)
			return err
		})
		return page
	}
	add("bay")
	add("fen")
	first := list(orders.ListQuery{Limit: 1})
	add("abbey")
	add("cape")
	second := list(orders.ListQuery{Limit: 5, Cursor: first.Next})
	if len(second.Items) != 2 || second.Items[0].Name != "cape" || second.Items[1].Name != "fen" {
		t.Errorf("after %q came %+v, want cape and fen", first.Items[0].Name, second.Items)
	}
}

func TestNewestFirst(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline") // has one entry
	write(t, s, w.ID, func(tx orders.Tx) error {
		for i := range 4 {
			e := orders.JournalEntry{At: noon(3, 1), Action: "batch.pour", Subject: w.Batch.ID, Text: fmt.Sprint(i)}
			if err := tx.AddJournal(t.Context(), e); err != nil {
				return err
			}
		}
		return nil
	})
	var ids []int64
	q := orders.ListQuery{Limit: 2}
	for range 3 {
		read(t, s, w.ID, func(tx orders.Tx) error {
			page, err := tx.Journal(t.Context(), q)
			for _, e := range page.Items {
				ids = append(ids, e.ID)
			}
			q.Cursor = page.Next
			return err
		})
	}
	if want := []int64{5, 4, 3, 2, 1}; !slices.Equal(ids, want) || q.Cursor != "" {
		t.Errorf("journal %v (next %q), want %v and no next", ids, q.Cursor, want)
	}
	read(t, s, w.ID, func(tx orders.Tx) error {
		page, err := tx.Journal(t.Context(), orders.ListQuery{Parent: w.Order.ID})
		if len(page.Items) != 1 || page.Items[0].Action != "order.accept" || page.Items[0].Text != "Accepted it" {
			t.Errorf("journal of the order: %+v", page.Items)
		}
		return err
	})
}

func TestListsAreNarrowed(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	second := sampleOrder(2, w.Customer.ID, w.Design.ID)
	second.NeededBy = day(5, 1)
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.Orders().Insert(t.Context(), &second) })
	number := func(o orders.Order) string { return fmt.Sprint(o.Number) }
	for _, c := range []struct {
		q    orders.ListQuery
		want string
	}{
		{orders.ListQuery{}, "[[2 1]]"},
		{orders.ListQuery{Limit: 1}, "[[2] [1]]"},
		{orders.ListQuery{Status: "accepted"}, "[[1]]"},
		{orders.ListQuery{Status: "lost"}, "[[]]"},
		{orders.ListQuery{Parent: w.Customer.ID}, "[[2 1]]"},
		{orders.ListQuery{Parent: unknownID}, "[[]]"},
		{orders.ListQuery{Parent: "17"}, "[[]]"},
	} {
		if got := fmt.Sprint(pages(t, s, w.ID, orders.Tx.Orders, c.q, number)); got != c.want {
			t.Errorf("%+v: got %s, want %s", c.q, got, c.want)
		}
	}
}

func TestListsRefuseWhatTheyDidNotGive(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	made := func(text string) string { return base64.RawURLEncoding.EncodeToString([]byte(text)) }
	for _, c := range []struct {
		q     orders.ListQuery
		field string
	}{
		{orders.ListQuery{Limit: -1}, "limit"},
		{orders.ListQuery{Limit: 201}, "limit"},
		{orders.ListQuery{Cursor: "!"}, "cursor"},
		{orders.ListQuery{Cursor: made("not json")}, "cursor"},
		{orders.ListQuery{Cursor: made(`{"l":"molds","a":["a","b"]}`)}, "cursor"},
		{orders.ListQuery{Cursor: made(`{"l":"closed_days","a":["2027-01-01"]}`)}, "cursor"},
		{orders.ListQuery{Cursor: made(`{"l":"closed_days","a":["tomorrow-ish","` + unknownID + `"]}`)}, "cursor"},
		{orders.ListQuery{Cursor: made(`{"l":"closed_days","a":["2027-01-01","17"]}`)}, "cursor"},
		{orders.ListQuery{Cursor: made(`{"l":"closed_days","a":["2027-01-01\u0000","` + unknownID + `"]}`)}, "cursor"},
		{orders.ListQuery{Status: "open"}, "status"},
		{orders.ListQuery{Parent: unknownID}, "parent"},
	} {
		wantInvalid(t, s.Read(t.Context(), w.ID, func(tx orders.Tx) error {
			_, err := tx.Closed().List(t.Context(), c.q)
			return err
		}), c.field)
	}
}

// TestBatchesOfLateAreListedWithoutThoseOfYears asks for what ended on a day or later: a
// book of years holds thousands of batches, and few of them matter to a plan.
func TestBatchesOfLateAreListedWithoutThoseOfYears(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	failed, running := sampleBatch("LATE-1", w.Design.ID, w.Mold.ID), sampleBatch("RUN-1", w.Design.ID, w.Mold.ID)
	failed.EndedAt = noon(6, 2)
	running.State, running.WrappedAt, running.EndedAt, running.FailedStep, running.FailReason = orders.BatchCuring, time.Time{}, time.Time{}, "", ""
	write(t, s, w.ID, func(tx orders.Tx) error {
		return errors.Join(tx.Batches().Insert(t.Context(), &failed), tx.Batches().Insert(t.Context(), &running))
	})
	lot := func(b orders.Batch) string { return b.Lot }
	for from, want := range map[civil.Date]string{day(6, 2): "[[LATE-1]]", day(6, 3): "[[]]"} {
		if got := fmt.Sprint(pages(t, s, w.ID, orders.Tx.Batches, orders.ListQuery{From: from}, lot)); got != want {
			t.Errorf("ended from %s on: %s, want %s", from, got, want)
		}
	}
}
