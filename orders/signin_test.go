package orders_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"ripeline/orders"
)

// TestGuessingLocksOutNobodyElse guesses from one address until it has to wait: the
// right person still gets in from another. Guesses from everywhere end in the end.
func TestGuessingLocksOutNobodyElse(t *testing.T) {
	store := openStore(t)
	s := newShop(t, store)
	p, err := s.book.Person(s.ctx, s.owner, s.owner.PersonID)
	s.must(err)
	guess := func(addr string) error {
		_, _, err := s.book.SignIn(s.ctx, p.Email, "a wrong guess", addr)
		return err
	}
	for range 5 {
		if err := guess("198.51.100.1"); !errors.Is(err, orders.ErrSignIn) {
			t.Fatal(err)
		}
	}
	if err := guess("198.51.100.1"); !errors.Is(err, orders.ErrThrottled) {
		t.Errorf("a sixth guess from one address: %v", err)
	}
	if _, _, err := s.book.SignIn(s.ctx, p.Email, "a long enough secret", "192.0.2.1"); err != nil {
		t.Errorf("the right password from elsewhere: %v", err)
	}
	for i := range 95 {
		s.must(store.System(s.ctx, func(tx orders.SystemTx) error {
			return tx.AddSignIn(s.ctx, p.Email, fmt.Sprintf("203.0.113.%d", i), s.now)
		}))
	}
	if _, _, err := s.book.SignIn(s.ctx, p.Email, "a long enough secret", "192.0.2.2"); !errors.Is(err, orders.ErrThrottled) {
		t.Errorf("after 100 guesses from everywhere: %v", err)
	}
	s.now = s.now.Add(16 * time.Minute)
	if _, _, err := s.book.SignIn(s.ctx, p.Email, "a long enough secret", "192.0.2.2"); err != nil {
		t.Errorf("a quarter of an hour later: %v", err)
	}
}

// TestGuessesAtOnceAreCounted tries more wrong passwords at the same time than
// may be tried one after another.
func TestGuessesAtOnceAreCounted(t *testing.T) {
	s := newShop(t, openStore(t))
	p, err := s.book.Person(s.ctx, s.owner, s.owner.PersonID)
	s.must(err)
	if _, _, err := s.book.SignIn(s.ctx, p.Email, "a long enough secret", "192.0.2.1"); err != nil {
		t.Fatalf("the right password: %v", err)
	}
	const guesses = 12
	errs := make([]error, guesses)
	var all sync.WaitGroup
	for i := range guesses {
		all.Go(func() { _, _, errs[i] = s.book.SignIn(s.ctx, p.Email, "a wrong guess", "192.0.2.1") })
	}
	all.Wait()
	tried := 0
	for _, err := range errs {
		if errors.Is(err, orders.ErrSignIn) {
			tried++
		} else if !errors.Is(err, orders.ErrThrottled) {
			t.Error(err)
		}
	}
	if tried != 5 {
		t.Errorf("%d of %d guesses were tried, want 5", tried, guesses)
	}
}
