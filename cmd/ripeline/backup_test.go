package main

import (
	"bytes"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ripeline/orders"
)

// kept is what a restored installation must show as the old one did.
type kept struct{ plan, orders, batches, journal, people, feed string }

// keep looks with the caller's token, and at the feed by its address.
func keep(c caller, feed string) kept {
	c.t.Helper()
	read := func(path string) string {
		r := c.send(http.MethodGet, path, nil)
		if r.status != http.StatusOK {
			c.t.Fatalf("%s answers %s", path, r)
		}
		return string(r.body)
	}
	return kept{
		plan: read("/plan"), orders: read("/orders"), batches: read("/batches"), journal: read("/journal"), people: read("/people"),
		feed: string(feedBytes(c.t, feed)),
	}
}

func TestBackupRestoredIntoAnEmptyDirectory(t *testing.T) {
	t.Parallel()
	data, file := newDataDir(t), filepath.Join(t.TempDir(), "tidepool.backup")
	s := start(t, "serve", "--data", data)
	c, feed := busyWorkshop(t, s)
	before := keep(c, feed)
	if said := mustRun(t, "", "backup", "--data", data, file); !strings.Contains(said, file) {
		t.Errorf("backup says %q", said)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the backup has mode %v, %v: it holds hashes of secrets", info.Mode(), err)
	}
	if again := command(t, "", "backup", "--data", data, file); again.code != 1 || !strings.Contains(again.err, "exists already") {
		t.Errorf("backup over a file: %+v", again)
	}
	if into := command(t, "", "restore", "--data", data, file); into.code != 1 || !strings.Contains(into.err, "not empty") {
		t.Errorf("restore over a workshop: %+v", into)
	}
	s.stop()

	empty := newDataDir(t)
	refuseDamaged(t, empty, file)
	mustRun(t, "", "restore", "--data", empty, file)
	// The same address again: the feed names it.
	start(t, "serve", "--data", empty, "--addr", strings.TrimPrefix(s.base, "http://"))
	after := keep(c, feed)
	if after != before {
		t.Errorf("before:\n%+v\nrestored:\n%+v", before, after)
	}
	if signed := c.send(http.MethodPost, "/sign-in", map[string]any{"email": ownerEmail, "password": ownerPassword}); signed.status != http.StatusCreated {
		t.Errorf("the owner can not sign in: %s", signed)
	}
	tell(c, listed[orders.Batch](c, "/batches?state=planned")[0].ID, "pour", map[string]any{})
}

// busyWorkshop has an accepted order, a poured batch and a feed; it returns
// the feed's address.
func busyWorkshop(t testing.TB, s *serving) (caller, string) {
	t.Helper()
	c := setUp(t, s)
	g := furnish(c)
	answered[orderAnswer](t, c.send(http.MethodPost, "/orders", g.order("Naming day", 60, today(t).AddDays(60), true)), http.StatusCreated)
	tell(c, listed[orders.Batch](c, "/batches?state=planned")[0].ID, "pour", map[string]any{})
	feed := answered[feedAnswer](t, c.send(http.MethodPost, "/feeds", map[string]any{"name": "Everything", "kind": "all"}), http.StatusCreated)
	return c, feed.URL
}

// refuseDamaged tries to restore what is left of a backup, and what was never
// one. None of it may write anything: a good backup fits in afterwards.
func refuseDamaged(t *testing.T, data, file string) {
	t.Helper()
	good, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	flipped := bytes.Clone(good)
	flipped[len(flipped)/2] ^= 0x10
	for name, content := range map[string][]byte{
		"cut in half": good[:len(good)/2], "without its end": good[:len(good)-1], "damaged": flipped,
		"with more behind": append(bytes.Clone(good), good...), "empty": nil, "text": []byte("Dear diary\n"),
	} {
		bad := filepath.Join(t.TempDir(), "bad.backup")
		if err := os.WriteFile(bad, content, 0o600); err != nil {
			t.Fatal(err)
		}
		got := command(t, "", "restore", "--data", data, bad)
		if got.code != 1 || !strings.Contains(got.err, "can not be restored") {
			t.Errorf("a backup %s: %+v", name, got)
		}
	}
}
