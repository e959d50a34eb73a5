package postgres_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

func TestOrderNumbersCountUp(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w, other := newWorld(t, s, "tideline"), newWorld(t, s, "saltgrass")
	next := func(workshop string, want int) {
		t.Helper()
		write(t, s, workshop, func(tx orders.Tx) error {
			got, err := tx.NextOrderNumber(t.Context())
			if got != want {
				t.Errorf("NextOrderNumber = %d, want %d", got, want)
			}
			return err
		})
	}
	next(w.ID, 2) // the world's own order is 1
	next(w.ID, 3)
	next(other.ID, 2)
	write(t, s, w.ID, func(tx orders.Tx) error {
		o := sampleOrder(10, w.Customer.ID, w.Design.ID)
		return tx.Orders().Insert(t.Context(), &o)
	})
	next(w.ID, 11)
}

func TestLotsAreNeverGivenTwice(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline") // has OAT-270301-1 and asked for a number
	write(t, s, w.ID, func(tx orders.Tx) error {
		for _, c := range []struct {
			prefix string
			want   int
		}{{"OAT-270301-", 3}, {"OAT-270301-", 4}, {"OAT-270302-", 1}, {"%", 1}} {
			got, err := tx.NextLot(t.Context(), c.prefix)
			if err != nil {
				return err
			}
			if got != c.want {
				t.Errorf("NextLot(%q) = %d, want %d", c.prefix, got, c.want)
			}
		}
		b := sampleBatch("OAT-270302-7", w.Design.ID, w.Mold.ID)
		if err := tx.Batches().Insert(t.Context(), &b); err != nil {
			return err
		}
		if err := tx.Batches().Delete(t.Context(), b.ID, 1); err != nil {
			return err
		}
		got, err := tx.NextLot(t.Context(), "OAT-270302-")
		if got != 2 {
			t.Errorf("NextLot = %d, want 2", got)
		}
		return err
	})
}

func TestLinesThatStayKeepTheirPieces(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	o := w.Order
	o.Lines = append([]orders.OrderLine{{DesignID: w.Design.ID, Pieces: 5}}, o.Lines...)
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.Orders().Update(t.Context(), &o) })
	allocated := func() (all []orders.Allocation) {
		read(t, s, w.ID, func(tx orders.Tx) (err error) {
			all, err = tx.Allocations(t.Context())
			return err
		})
		return all
	}
	if got := allocated(); len(got) != 1 || got[0].LineID != w.Order.Lines[0].ID {
		t.Errorf("allocations %+v, want the one of the line that stayed", got)
	}
	o.Lines = o.Lines[:1]
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.Orders().Update(t.Context(), &o) })
	if got := allocated(); len(got) != 0 {
		t.Errorf("allocations %+v, want none: the line is gone", got)
	}
}

func TestAllocationsAreReplacedWhole(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	left := w.Order // handed over with its pieces
	left.Status, left.EndedAt = orders.HandedOver, noon(5, 30)
	open := sampleOrder(2, w.Customer.ID, w.Design.ID)
	open.Status, open.EndedAt, open.LeftOn = orders.Accepted, time.Time{}, civil.Date{}
	write(t, s, w.ID, func(tx orders.Tx) error {
		return errors.Join(tx.Orders().Update(t.Context(), &left), tx.Orders().Insert(t.Context(), &open))
	})
	line := open.Lines[0].ID
	for _, want := range [][]orders.Allocation{
		{{BatchID: w.Batch.ID, OrderID: open.ID, LineID: line, Pieces: 3}, {StockID: w.Stock.ID, OrderID: open.ID, LineID: line, Pieces: 2}},
		{{StockID: w.Stock.ID, OrderID: open.ID, LineID: line, Pieces: 5}},
		{},
	} {
		write(t, s, w.ID, func(tx orders.Tx) error {
			if err := tx.SetAllocations(t.Context(), want); err != nil {
				return err
			}
			got, err := tx.Allocations(t.Context())
			if !reflect.DeepEqual(got, want) {
				t.Errorf("Allocations:\n got %+v\nwant %+v", got, want)
			}
			return err
		})
	}
	if n := countRows(t, s, w.ID)["allocations"]; n != 1 {
		t.Errorf("%d allocations stored, want the one of the order that left", n)
	}
}

func TestStatusIsTiedToItsTimes(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	at, none := noon(3, 1), time.Time{}
	for _, c := range []struct {
		status          orders.OrderStatus
		accepted, ended time.Time
		ok              bool
	}{
		{orders.Enquiry, none, none, true},
		{orders.Enquiry, at, none, false},
		{orders.Accepted, at, none, true},
		{orders.Accepted, none, none, false},
		{orders.HandedOver, at, at, true},
		{orders.HandedOver, at, none, false},
		{orders.Declined, none, at, true},
		{orders.Declined, at, at, false},
		{orders.Cancelled, at, at, true},
		{orders.Cancelled, none, at, false},
		{"lost", at, at, false},
	} {
		o := w.Order
		o.Status, o.AcceptedAt, o.EndedAt = c.status, c.accepted, c.ended
		err := s.Write(t.Context(), w.ID, func(tx orders.Tx) error {
			if err := tx.Orders().Update(t.Context(), &o); err != nil {
				return err
			}
			return errUndo
		})
		if c.ok && !errors.Is(err, errUndo) {
			t.Errorf("%+v: %v", c, err)
		}
		if !c.ok {
			wantInvalid(t, err, "status")
		}
	}
}

// errUndo ends a transaction without leaving anything behind.
var errUndo = errors.New("undo")

func TestBatchStateIsTiedToItsTimes(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	times := map[byte]time.Time{'p': noon(3, 1), 'c': noon(3, 3), 'w': noon(3, 30), 'e': noon(3, 31)}
	for _, c := range []struct {
		state orders.BatchState
		given string // p poured, c cut, w wrapped, e ended
		ok    bool
	}{
		{orders.BatchPlanned, "", true},
		{orders.BatchPlanned, "p", false},
		{orders.BatchPoured, "p", true},
		{orders.BatchPoured, "", false},
		{orders.BatchPoured, "pc", false},
		{orders.BatchCuring, "pc", true},
		{orders.BatchCuring, "c", false},
		{orders.BatchWrapped, "pcw", true},
		{orders.BatchWrapped, "pw", false},
		{orders.BatchFailed, "pe", true},
		{orders.BatchFailed, "pce", true},
		{orders.BatchFailed, "p", false},
		{orders.BatchCancelled, "e", true},
		{orders.BatchCancelled, "pe", false},
		{"melted", "pcwe", false},
	} {
		b := w.Batch
		b.State = c.state
		for letter, field := range map[byte]*time.Time{'p': &b.PouredAt, 'c': &b.CutAt, 'w': &b.WrappedAt, 'e': &b.EndedAt} {
			*field = time.Time{}
			if strings.IndexByte(c.given, letter) >= 0 {
				*field = times[letter]
			}
		}
		err := s.Write(t.Context(), w.ID, func(tx orders.Tx) error {
			if err := tx.Batches().Update(t.Context(), &b); err != nil {
				return err
			}
			return errUndo
		})
		if c.ok && !errors.Is(err, errUndo) {
			t.Errorf("%+v: %v", c, err)
		}
		if !c.ok {
			wantInvalid(t, err, "state")
		}
	}
}
