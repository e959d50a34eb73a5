package remind

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"ripeline/orders"
)

// idle is a store without workshops that counts the looks at it. before, when
// set, runs at the nth of them.
type idle struct {
	orders.Store
	looks  atomic.Int64
	before func(n int64) error
}

func (s *idle) System(_ context.Context, fn func(orders.SystemTx) error) error {
	return fn(idleTx{s: s})
}

type idleTx struct {
	orders.SystemTx
	s *idle
}

func (tx idleTx) WorkshopIDs(context.Context, string, int) ([]string, error) {
	n := tx.s.looks.Add(1)
	if tx.s.before != nil {
		return nil, tx.s.before(n)
	}
	return nil, nil
}

func (idleTx) PruneDeliveries(context.Context, time.Time, int) (int, error) { return 0, nil }

func (idleTx) ClaimDelivery(context.Context, time.Time, time.Duration) (string, orders.Delivery, error) {
	return "", orders.Delivery{}, orders.ErrNotFound
}

func runFor(t *testing.T, s *idle, log *slog.Logger, d time.Duration) {
	t.Helper()
	r, err := New(Config{Store: s, Mailer: &outbox{}, Now: time.Now, BaseURL: baseURL, Log: log})
	must(t, err)
	ctx, stop := context.WithTimeout(t.Context(), d)
	defer stop()
	must(t, r.Run(ctx))
}

func TestRunLooksAtOnceAndThenAtEachTick(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		var s idle
		runFor(t, &s, slog.New(slog.DiscardHandler), 65*time.Second)
		if n := s.looks.Load(); n != 4 {
			t.Errorf("%d looks in 65 seconds, want 4", n)
		}
	})
}

func TestRunSkipsWhileBusyAndSurvivesAPanic(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := idle{before: func(n int64) error {
			switch n {
			case 2:
				<-time.After(50 * time.Second) // two ticks pass
			case 3:
				panic("a look went wrong")
			case 4:
				return errors.New("the database is away")
			}
			return nil
		}}
		log, written := recordLog()
		runFor(t, &s, log, 135*time.Second)
		if n := s.looks.Load(); n != 5 {
			t.Errorf("%d looks, want 5", n)
		}
		for _, want := range []string{"a look went wrong", "the database is away"} {
			if !strings.Contains(written(), want) {
				t.Errorf("no %q in the log:\n%s", want, written())
			}
		}
	})
}

// forgetful is a store that fails the first writes of an outcome.
type forgetful struct {
	orders.Store
	fails atomic.Int64
}

func (s *forgetful) System(context.Context, func(orders.SystemTx) error) error {
	if s.fails.Add(-1) >= 0 {
		return errors.New("the database is restarting")
	}
	return nil
}

func TestAnOutcomeIsWrittenAsSoonAsTheDatabaseIsBack(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		for fails, works := range map[int64]bool{0: true, 4: true, 5: false} {
			store := &forgetful{}
			store.fails.Store(fails)
			r, err := New(Config{Store: store, Mailer: &outbox{}, Now: time.Now, BaseURL: baseURL, Log: slog.New(slog.DiscardHandler)})
			must(t, err)
			if err := r.save(t.Context(), orders.Delivery{}); (err == nil) != works {
				t.Errorf("%d failures: %v", fails, err)
			}
		}
	})
}

func TestBackOff(t *testing.T) {
	t.Parallel()
	for n, want := range map[int]time.Duration{
		0: time.Minute, 1: time.Minute, 2: 2 * time.Minute, 5: 16 * time.Minute, 6: 30 * time.Minute, 1000: 30 * time.Minute,
	} {
		if got := backOff(n); got != want {
			t.Errorf("after %d: %v, want %v", n, got, want)
		}
	}
}

func TestSettings(t *testing.T) {
	t.Parallel()
	good := Config{Store: &idle{}, Mailer: &outbox{}, Now: time.Now, BaseURL: baseURL + "/", Log: slog.New(slog.DiscardHandler)}
	for name, spoil := range map[string]func(*Config){
		"store": func(c *Config) { c.Store = nil }, "mailer": func(c *Config) { c.Mailer = nil }, "now": func(c *Config) { c.Now = nil },
		"log": func(c *Config) { c.Log = nil }, "address": func(c *Config) { c.BaseURL = "soap.example" },
		"scheme": func(c *Config) { c.BaseURL = "ftp://soap.example" }, "lease": func(c *Config) { c.Lease = -1 },
	} {
		c := good
		spoil(&c)
		if _, err := New(c); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	s, err := New(good)
	if err != nil || s.host != "soap.example" || messageHost("127.0.0.1") != "localhost" || messageHost("::1") != "localhost" {
		t.Errorf("%+v %v", s, err)
	}
}
