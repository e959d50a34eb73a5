package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"

	"ripeline/orders/localpg"
)

func TestMain(m *testing.M) { os.Exit(Main(m)) }

// makeSchema is a small schema; it counts how often it is built.
func makeSchema(built *atomic.Int64) func(context.Context, string) error {
	return func(ctx context.Context, ownerURL string) error {
		built.Add(1)
		conn, err := pgx.Connect(ctx, ownerURL)
		if err != nil {
			return err
		}
		_, err = conn.Exec(ctx, `CREATE TABLE mold (name text); INSERT INTO mold VALUES ('loaf'); GRANT SELECT, INSERT ON mold TO ripeline_app`)
		return errors.Join(err, conn.Close(ctx))
	}
}

// addAndCount adds a row as the app role and returns how many there are. The
// connection stays open, as a careless test would leave it.
func addAndCount(t *testing.T, db *DB) (count int, name string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), `INSERT INTO mold VALUES ('slab')`); err != nil {
		t.Fatal(err)
	}
	if err := conn.QueryRow(t.Context(), `SELECT count(*), current_database() FROM mold`).Scan(&count, &name); err != nil {
		t.Fatal(err)
	}
	return count, name
}

// databases counts the databases of the cluster, template included.
func databases(t *testing.T, c *cluster) (count int) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), c.server.admin)
	if err != nil {
		t.Fatal(err)
	}
	err = conn.QueryRow(t.Context(), `SELECT count(*) FROM pg_database WHERE starts_with(datname, $1)`, c.prefix).Scan(&count)
	if err := errors.Join(err, conn.Close(t.Context())); err != nil {
		t.Fatal(err)
	}
	return count
}

// checkIsolation runs parallel tests on c, each of which must find the schema
// untouched, and expects nothing but the template left after them.
func checkIsolation(t *testing.T, c *cluster) {
	t.Helper()
	var built atomic.Int64
	once := int64(1)
	if c.server.admin != "" {
		once = 0 // by a test before this one: they run in random order
	}
	t.Run("parallel", func(t *testing.T) {
		for i := range 6 {
			t.Run(fmt.Sprint(i), func(t *testing.T) {
				t.Parallel()
				count, name := addAndCount(t, c.database(t, makeSchema(&built)))
				if count != 2 || !strings.HasPrefix(name, c.prefix) {
					t.Errorf("%s holds %d molds, want the one of the schema and ours", name, count)
				}
			})
		}
	})
	if t.Failed() || c.failed != nil {
		return
	}
	if got := built.Load(); got != once {
		t.Errorf("the schema was built %d times", got)
	}
	if got := databases(t, c); got != 1 {
		t.Errorf("%d databases are left, want only the template", got)
	}
}

func TestPrivateServer(t *testing.T) {
	checkIsolation(t, shared)
}

func TestOutsideServer(t *testing.T) {
	needPostgres(t)
	c := &cluster{ends: true, getenv: func(key string) string {
		return map[string]string{"DATABASE_URL_TEST": shared.server.admin}[key]
	}}
	checkIsolation(t, c)
	if err := c.end(); err != nil {
		t.Fatal(err)
	}
	c.server.admin = shared.server.admin
	if got := databases(t, c); got != 0 {
		t.Errorf("%d databases are left", got)
	}
}

// needPostgres makes sure of the shared server, or skips.
func needPostgres(t *testing.T) {
	t.Helper()
	var built atomic.Int64
	New(t, makeSchema(&built))
}

func TestOwnerMayChangeTheSchemaAndAppMayNot(t *testing.T) {
	t.Parallel()
	var built atomic.Int64
	db := New(t, makeSchema(&built))
	for url, allowed := range map[string]bool{db.OwnerURL: true, db.AppURL: false} {
		conn, err := pgx.Connect(t.Context(), url)
		if err != nil {
			t.Fatal(err)
		}
		_, err = conn.Exec(t.Context(), `ALTER TABLE mold ADD COLUMN cavities int`)
		if (err == nil) != allowed {
			t.Errorf("%s: %v", url, err)
		}
	}
}

// verdict is a test that records how it was ended.
type verdict struct {
	testing.TB
	fatal, skip string
}

func (v *verdict) Fatal(args ...any) { v.fatal = fmt.Sprint(args...); runtime.Goexit() }

func (v *verdict) Skipf(format string, args ...any) {
	v.skip = fmt.Sprintf(format, args...)
	runtime.Goexit()
}

// judge asks c for a database on behalf of a test that is expected to end.
func judge(t *testing.T, c *cluster, migrate func(context.Context, string) error) *verdict {
	t.Helper()
	v := &verdict{TB: t}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		c.database(v, migrate)
	}()
	<-ended
	return v
}

func TestWithoutPostgres(t *testing.T) {
	t.Parallel()
	var built atomic.Int64
	for ci, want := range map[string]bool{"true": true, "": false} {
		c := &cluster{ends: true, binDir: t.TempDir(), getenv: func(key string) string {
			return map[string]string{"CI": ci}[key]
		}}
		v := judge(t, c, makeSchema(&built))
		if (v.fatal != "") != want || (v.skip != "") == want {
			t.Errorf("with CI=%q: fatal %q, skip %q", ci, v.fatal, v.skip)
		}
		if text := v.fatal + v.skip; !strings.Contains(text, "apt-get install postgresql") {
			t.Errorf("with CI=%q the message does not say what to do: %s", ci, text)
		}
		if err := c.end(); err != nil {
			t.Error(err)
		}
	}
}

func TestUnusableSettings(t *testing.T) {
	t.Parallel()
	var built atomic.Int64
	c := &cluster{ends: true, getenv: func(string) string { return "host=somewhere" }}
	if v := judge(t, c, makeSchema(&built)); !strings.Contains(v.fatal, "DATABASE_URL_TEST is no postgres:// URL") {
		t.Errorf("fatal = %q", v.fatal)
	}
	if v := judge(t, &cluster{}, makeSchema(&built)); !strings.Contains(v.fatal, "add func TestMain") {
		t.Errorf("fatal = %q", v.fatal)
	}
}

func TestFailingMigrationFailsEveryTest(t *testing.T) {
	needPostgres(t)
	c := &cluster{ends: true, getenv: func(key string) string {
		return map[string]string{"DATABASE_URL_TEST": shared.server.admin}[key]
	}}
	for range 2 {
		v := judge(t, c, func(context.Context, string) error { return errors.New("lye before water") })
		if !strings.Contains(v.fatal, "lye before water") {
			t.Errorf("fatal = %q", v.fatal)
		}
	}
	if err := c.end(); err != nil {
		t.Error(err)
	}
}

// tests is a package's tests that all end with one code.
type tests func() int

func (f tests) Run() int { return f() }

func TestMainEndsTheServer(t *testing.T) {
	needPostgres(t)
	stopped := errors.New("would not stop")
	for _, test := range []struct {
		code, want int
		err        error
	}{{0, 0, nil}, {3, 3, nil}, {0, 1, stopped}, {3, 3, stopped}} {
		c := &cluster{prefix: "ripeline_test_main_"}
		run := tests(func() int {
			c.server = shared.server
			c.server.stop = func(context.Context) error { return test.err }
			return test.code
		})
		if got := c.main(run); got != test.want {
			t.Errorf("main = %d after code %d and stop %v, want %d", got, test.code, test.err, test.want)
		}
	}
}

func TestSweepRemovesOnlyWhatIsAbandoned(t *testing.T) {
	t.Parallel()
	gone := exec.Command("true")
	if err := gone.Run(); err != nil {
		t.Fatal(err)
	}
	parent := t.TempDir()
	dead := fmt.Sprintf("%s%d-1", dirPrefix, gone.Process.Pid)
	alive := fmt.Sprintf("%s%d-1", dirPrefix, os.Getpid())
	for _, name := range []string{dead, alive, dirPrefix + "soap", "other"} {
		if err := os.Mkdir(filepath.Join(parent, name), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	if err := sweep(parent); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]bool{dead: false, alive: true, dirPrefix + "soap": true, "other": true} {
		if _, err := os.Stat(filepath.Join(parent, name)); (err == nil) != want {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestServedDirectoryIsNotAbandoned(t *testing.T) {
	t.Parallel()
	var built atomic.Int64
	gone := exec.Command("true")
	if err := gone.Run(); err != nil {
		t.Fatal(err)
	}
	New(t, makeSchema(&built)) // skips where there is no PostgreSQL
	dir := filepath.Join(t.TempDir(), fmt.Sprintf("%s%d-1", dirPrefix, gone.Process.Pid))
	pg, err := localpg.Start(t.Context(), localpg.Config{Dir: dir, Fast: true})
	if err != nil {
		t.Fatal(err)
	}
	if abandoned(dir) {
		t.Error("a directory with a running server counts as abandoned")
	}
	if err := pg.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
	if !abandoned(dir) {
		t.Error("a directory without a server does not count as abandoned")
	}
}
