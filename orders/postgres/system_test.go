package postgres_test

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

func TestLookUps(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w, other := newWorld(t, s, "tideline"), newWorld(t, s, "saltgrass")
	system(t, s, func(tx orders.SystemTx) error {
		n, err := tx.CountWorkshops(t.Context())
		if n != 2 {
			t.Errorf("%d workshops, want 2", n)
		}
		at, byEmail, err1 := tx.PersonByEmail(t.Context(), strings.ToUpper(w.Owner.Email))
		if at != w.ID || !reflect.DeepEqual(byEmail, w.Owner) {
			t.Errorf("by email: %s, %+v", at, byEmail)
		}
		at, byID, err2 := tx.PersonByID(t.Context(), other.Owner.ID)
		if at != other.ID || !reflect.DeepEqual(byID, other.Owner) {
			t.Errorf("by id: %s, %+v", at, byID)
		}
		at, token, err3 := tx.TokenByHash(t.Context(), w.Token.Hash)
		if at != w.ID || !reflect.DeepEqual(token, w.Token) {
			t.Errorf("token: %s, %+v", at, token)
		}
		at, feed, err4 := tx.FeedByHash(t.Context(), w.Feed.Hash)
		if at != w.ID || !reflect.DeepEqual(feed, w.Feed) {
			t.Errorf("feed: %s, %+v", at, feed)
		}
		return errors.Join(err, err1, err2, err3, err4)
	})
	for name, find := range map[string]func(orders.SystemTx) error{
		"email": func(tx orders.SystemTx) error {
			_, _, err := tx.PersonByEmail(t.Context(), "no@example.org")
			return err
		},
		"email of bits": func(tx orders.SystemTx) error { _, _, err := tx.PersonByEmail(t.Context(), "a\x00\xff"); return err },
		"id":            func(tx orders.SystemTx) error { _, _, err := tx.PersonByID(t.Context(), unknownID); return err },
		"no id":         func(tx orders.SystemTx) error { _, _, err := tx.PersonByID(t.Context(), "17"); return err },
		"token":         func(tx orders.SystemTx) error { _, _, err := tx.TokenByHash(t.Context(), w.Feed.Hash); return err },
		"feed":          func(tx orders.SystemTx) error { _, _, err := tx.FeedByHash(t.Context(), nil); return err },
	} {
		if err := s.System(t.Context(), find); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("unknown %s: %v, want ErrNotFound", name, err)
		}
	}
}

func TestRevokedKeysAreNotFound(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	w.Token.RevokedAt, w.Feed.RevokedAt = noon(3, 1), noon(3, 1)
	write(t, s, w.ID, func(tx orders.Tx) error {
		return errors.Join(tx.Tokens().Update(t.Context(), &w.Token), tx.Feeds().Update(t.Context(), &w.Feed))
	})
	system(t, s, func(tx orders.SystemTx) error {
		if _, _, err := tx.TokenByHash(t.Context(), w.Token.Hash); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("token: %v, want ErrNotFound", err)
		}
		if _, _, err := tx.FeedByHash(t.Context(), w.Feed.Hash); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("feed: %v, want ErrNotFound", err)
		}
		return nil
	})
}

func TestWorkshopIDsArePaged(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	var want, got []string
	for _, name := range []string{"tideline", "saltgrass", "dune"} {
		want = append(want, newWorld(t, s, name).ID)
	}
	slices.Sort(want)
	for after := ""; len(got) <= len(want); {
		var ids []string
		system(t, s, func(tx orders.SystemTx) (err error) {
			ids, err = tx.WorkshopIDs(t.Context(), after, 2)
			return err
		})
		if len(ids) == 0 {
			break
		}
		got, after = append(got, ids...), ids[len(ids)-1]
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestUseIsNotedOnceAMinute(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	start := noon(3, 1)
	for _, c := range []struct{ at, want time.Time }{
		{start, start},
		{start.Add(59 * time.Second), start},
		{start.Add(60 * time.Second), start.Add(60 * time.Second)},
		{start.Add(61 * time.Second), start.Add(60 * time.Second)},
	} {
		system(t, s, func(tx orders.SystemTx) error {
			return errors.Join(tx.Used(t.Context(), w.Token.Hash, c.at), tx.Used(t.Context(), w.Feed.Hash, c.at),
				tx.Used(t.Context(), []byte("unknown"), c.at))
		})
		read(t, s, w.ID, func(tx orders.Tx) error {
			token, err := tx.Tokens().Get(t.Context(), w.Token.ID)
			feed, err2 := tx.Feeds().Get(t.Context(), w.Feed.ID)
			if !token.UsedAt.Equal(c.want) || !feed.UsedAt.Equal(c.want) || token.Version != 1 || feed.Version != 1 {
				t.Errorf("used at %s: noted %s and %s, want %s", c.at, token.UsedAt, feed.UsedAt, c.want)
			}
			return errors.Join(err, err2)
		})
	}
}

func TestSecretIsUsedUpOnce(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	s, admin := open(t, db.AppURL), connect(t, adminURL(t, db))
	system(t, s, func(tx orders.SystemTx) error {
		return errors.Join(tx.SetSecret(t.Context(), "setup", []byte("first")), tx.SetSecret(t.Context(), "setup", []byte("second")))
	})
	use := func(tx orders.SystemTx) error {
		value, err := tx.Secret(t.Context(), "setup")
		if err == nil && string(value) != "second" {
			t.Errorf("secret %q, want the second", value)
		}
		return err
	}
	second := make(chan error, 1)
	system(t, s, func(tx orders.SystemTx) error {
		must(t, use(tx))
		go func() { second <- s.System(t.Context(), use) }()
		waitForLock(t, admin)
		return tx.SetSecret(t.Context(), "setup", nil)
	})
	if err := <-second; !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("who came second: %v, want ErrNotFound", err)
	}
}

func TestSecretIsMadeOnce(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	s, admin := open(t, db.AppURL), connect(t, adminURL(t, db))
	keep := func(tx orders.SystemTx, value string) (string, error) {
		kept, err := tx.KeepSecret(t.Context(), "key", []byte(value))
		return string(kept), err
	}
	var first, second string
	done := make(chan error, 1)
	system(t, s, func(tx orders.SystemTx) error {
		var err error
		if first, err = keep(tx, "first"); err != nil {
			return err
		}
		go func() {
			done <- s.System(t.Context(), func(tx orders.SystemTx) (err error) {
				second, err = keep(tx, "second")
				return err
			})
		}()
		waitForLock(t, admin)
		return nil
	})
	if err := <-done; err != nil || first != "first" || second != "first" {
		t.Errorf("kept %q, and %q by who came second: %v; want the first for both", first, second, err)
	}
}

// waitForLock returns once a transaction of the database waits for another.
func waitForLock(t *testing.T, admin *pgx.Conn) {
	t.Helper()
	const waiting = `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`
	for end := time.Now().Add(20 * time.Second); query[int](t, admin, waiting)[0] == 0; {
		if time.Now().After(end) {
			t.Fatal("nothing waits for the transaction under way")
		}
	}
}

func TestSignInFailuresAreCounted(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	start := noon(3, 1)
	long := strings.Repeat("é", 400) + "\x00\xff"
	system(t, s, func(tx orders.SystemTx) error {
		return errors.Join(
			tx.AddSignIn(t.Context(), "Maud@example.org", "10.0.0.1", start),
			tx.AddSignIn(t.Context(), "maud@example.org", "10.0.0.1", start.Add(time.Minute)),
			tx.AddSignIn(t.Context(), "maud@example.org", "10.0.0.1", start.Add(time.Minute)),
			tx.SignInSucceeded(t.Context(), "Maud@example.org", "10.0.0.1", start.Add(time.Minute)),
			tx.AddSignIn(t.Context(), long, "10.0.0.1", start.Add(2*time.Minute)),
		)
	})
	for _, c := range []struct {
		email, addr string
		since       time.Time
		want        orders.SignInFailures
	}{
		{"MAUD@example.org", "10.0.0.1", start, orders.SignInFailures{ByEmail: 2, ByAddr: 3, ByBoth: 2}},
		{"maud@example.org", "10.0.0.2", start.Add(time.Second), orders.SignInFailures{ByEmail: 1}},
		{long, "10.0.0.1", start.Add(time.Hour), orders.SignInFailures{}},
		{long, "", start, orders.SignInFailures{ByEmail: 1}},
	} {
		system(t, s, func(tx orders.SystemTx) error {
			got, err := tx.SignInFailures(t.Context(), c.email, c.addr, c.since)
			if got != c.want {
				t.Errorf("%.20q %s since %s: %+v, want %+v", c.email, c.addr, c.since, got, c.want)
			}
			return err
		})
	}
	system(t, s, func(tx orders.SystemTx) error {
		if err := tx.AddSignIn(t.Context(), "x", "y", start.Add(25*time.Hour)); err != nil {
			return err
		}
		got, err := tx.SignInFailures(t.Context(), "maud@example.org", "10.0.0.1", start)
		if got != (orders.SignInFailures{}) {
			t.Errorf("a day later %+v are kept", got)
		}
		return err
	})
}

func TestJournalIsOnlyAddedTo(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	w := newWorld(t, open(t, db.AppURL), "tideline")
	for name, url := range roles(t, db) {
		conn := connect(t, url)
		if _, err := conn.Exec(t.Context(), `SELECT set_config('ripeline.workshop', $1, false)`, w.ID); err != nil {
			t.Fatal(err)
		}
		for _, sql := range []string{`UPDATE journal SET text = 'x'`, `DELETE FROM journal`, `TRUNCATE journal`} {
			if _, err := conn.Exec(t.Context(), sql); err == nil {
				t.Errorf("%s: %s was accepted", name, sql)
			}
		}
		if n := query[int](t, conn, `SELECT count(*) FROM journal WHERE text = 'Accepted it'`)[0]; n != 1 {
			t.Errorf("%s: %d entries left, want 1", name, n)
		}
	}
}

func TestIdempotencyKeys(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	s := open(t, db.AppURL)
	w, other := newWorld(t, s, "tideline"), newWorld(t, s, "saltgrass")
	admin := connect(t, adminURL(t, db))
	_, err := admin.Exec(t.Context(), `UPDATE idempotency_keys SET created_at = now() - interval '25 hours'`)
	must(t, err)
	recall := func(of *world, key string) error {
		return s.Write(t.Context(), of.ID, func(tx orders.Tx) error {
			if err := tx.Remember(t.Context(), "new-"+key, []byte("h"), []byte("[]")); err != nil {
				return err
			}
			hash, result, err := tx.Remembered(t.Context(), key)
			if err == nil && (string(hash) != "request" || string(result) != "{}") {
				t.Errorf("remembered %q and %q", hash, result)
			}
			return err
		})
	}
	must(t, recall(w, "key"))
	if err := recall(w, "unknown"); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("unknown key: %v, want ErrNotFound", err)
	}
	_, err = admin.Exec(t.Context(), `UPDATE idempotency_keys SET created_at = now() - interval '3 days' WHERE workshop_id = $1`, w.ID)
	must(t, err)
	if err := recall(w, "key"); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("key of three days ago: %v, want ErrNotFound", err)
	}
	must(t, recall(other, "key"))
}

// TestWorkshopIsMadeWholeOrNotAtAll checks that nothing is left of a workshop
// that could not be furnished.
func TestWorkshopIsMadeWholeOrNotAtAll(t *testing.T) {
	s := newStore(t)
	w, owner := sampleWorkshop("Half"), samplePerson("Half")
	broken := errors.New("no ingredients")
	err := s.System(t.Context(), func(tx orders.SystemTx) error {
		return tx.CreateWorkshop(t.Context(), &w, &owner, func(orders.Tx) error { return broken })
	})
	if !errors.Is(err, broken) {
		t.Fatalf("error is %v, want %v", err, broken)
	}
	system(t, s, func(tx orders.SystemTx) error {
		n, err := tx.CountWorkshops(t.Context())
		if n != 0 {
			t.Errorf("%d workshops, want none", n)
		}
		return err
	})
}
