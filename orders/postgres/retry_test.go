package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"ripeline/orders"
	"ripeline/orders/postgres"
)

func TestWritersOfOneWorkshopLoseNothing(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	replicas := []*postgres.Store{open(t, db.AppURL), open(t, db.AppURL)}
	w := newWorld(t, replicas[0], "tideline")
	const writers, rounds = 8, 10
	var group sync.WaitGroup
	errs := make([]error, writers)
	for i := range writers {
		group.Go(func() {
			for range rounds {
				errs[i] = errors.Join(errs[i], replicas[i%2].Write(t.Context(), w.ID, func(tx orders.Tx) error {
					stock, err := tx.Stocks().Get(t.Context(), w.Stock.ID)
					if err != nil {
						return err
					}
					stock.Pieces++
					return errors.Join(tx.Stocks().Update(t.Context(), &stock),
						tx.AddJournal(t.Context(), orders.JournalEntry{At: noon(3, 1), Action: "stock.change"}))
				}))
			}
		})
	}
	group.Wait()
	must(t, errors.Join(errs...))
	read(t, replicas[0], w.ID, func(tx orders.Tx) error {
		stock, err := tx.Stocks().Get(t.Context(), w.Stock.ID)
		if want := w.Stock.Pieces + writers*rounds; stock.Pieces != want || stock.Version != 1+writers*rounds {
			t.Errorf("%d pieces at version %d, want %d", stock.Pieces, stock.Version, want)
		}
		return err
	})
}

// TestDeadlockIsTriedAgain lets two transactions lock two secrets in opposite
// orders: the server undoes one of them, which must then be done again.
func TestDeadlockIsTriedAgain(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	names := [2]string{"a", "b"}
	system(t, s, func(tx orders.SystemTx) error {
		return errors.Join(tx.SetSecret(t.Context(), "a", []byte("0")), tx.SetSecret(t.Context(), "b", []byte("0")))
	})
	var both, group sync.WaitGroup
	both.Add(2)
	var attempts [2]int
	var errs [2]error
	for i := range 2 {
		group.Go(func() {
			errs[i] = s.System(t.Context(), func(tx orders.SystemTx) error {
				attempts[i]++
				if err := tx.SetSecret(t.Context(), names[i], fmt.Append(nil, i)); err != nil {
					return err
				}
				if attempts[i] == 1 {
					both.Done()
					both.Wait()
				}
				return tx.SetSecret(t.Context(), names[1-i], fmt.Append(nil, i))
			})
		})
	}
	group.Wait()
	must(t, errors.Join(errs[0], errs[1]))
	if attempts[0]+attempts[1] < 3 {
		t.Errorf("attempts %v: there was no deadlock to get out of", attempts)
	}
}

func TestLostConnectionIsTriedAgain(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	attempts := 0
	write(t, s, w.ID, func(tx orders.Tx) error {
		if _, err := tx.TouchBook(t.Context()); err != nil {
			return err
		}
		if attempts++; attempts == 1 {
			_, err := postgres.Raw(tx).Exec(t.Context(), `SELECT pg_terminate_backend(pg_backend_pid())`)
			return err
		}
		return nil
	})
	read(t, s, w.ID, func(tx orders.Tx) error {
		got, err := tx.Workshop(t.Context())
		if attempts != 2 || got.BookRevision != 1 {
			t.Errorf("%d attempts, revision %d; want 2 and 1", attempts, got.BookRevision)
		}
		return err
	})
}

func TestRetryingEnds(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	attempts := 0
	err := s.System(t.Context(), func(tx orders.SystemTx) error {
		attempts++
		_, err := postgres.RawSystem(tx).Exec(t.Context(), `DO $$ BEGIN RAISE EXCEPTION USING ERRCODE = 'serialization_failure'; END $$`)
		return err
	})
	if err == nil || attempts != 6 {
		t.Errorf("%d attempts, %v; want 6 and an error", attempts, err)
	}
}

func TestWhatIsWrongIsNotTriedAgain(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	attempts := 0
	err := s.Write(t.Context(), w.ID, func(tx orders.Tx) error {
		attempts++
		if _, err := tx.TouchBook(t.Context()); err != nil {
			return err
		}
		return orders.ErrForbidden
	})
	if !errors.Is(err, orders.ErrForbidden) || attempts != 1 {
		t.Errorf("%d attempts, %v; want 1 and ErrForbidden", attempts, err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.Write(ctx, w.ID, func(orders.Tx) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	read(t, s, w.ID, func(tx orders.Tx) error {
		got, err := tx.Workshop(t.Context())
		if got.BookRevision != 0 {
			t.Errorf("the refused write left revision %d", got.BookRevision)
		}
		return err
	})
}
