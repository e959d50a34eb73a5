package orders_test

import (
	"errors"
	"sync"
	"testing"

	"ripeline/orders"
)

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
