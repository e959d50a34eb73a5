// Package pgtest gives every test a PostgreSQL database of its own.
//
// A test process runs one private cluster, started by the first test that asks
// and stopped by Main. The schema is built once, in a template database; each
// test gets a copy of that, which costs milliseconds, and so may run in parallel
// with any other.
//
// With DATABASE_URL_TEST set to the postgres:// URL of a superuser, the
// databases are made on that server instead. Where there is neither that nor an
// installed PostgreSQL, tests fail when CI is "true" and are loudly skipped
// otherwise.
package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"testing"
	"time"

	"ripeline/orders/localpg"
)

// patience bounds every single step: starting, migrating, copying, dropping.
const patience = 2 * time.Minute

// DB is the database of one test, as two connection strings.
type DB struct {
	OwnerURL string // the role that owns the schema
	AppURL   string // the service's role, bound by row-level security
}

// shared is the cluster of the process. It is a variable because tests of one
// package have no other place in common; only Main and New use it.
var shared = &cluster{getenv: os.Getenv}

// Main runs the tests of a package and then ends the cluster. It returns the
// exit code. Every package that uses New needs:
//
//	func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }
func Main(m interface{ Run() int }) int { return shared.main(m) }

// New returns a fresh database with the schema that migrate builds. migrate
// runs once in a process, as the owner of an empty database, and must close its
// connections; later calls get copies of the result, so all tests of a package
// must pass the same. The database is dropped when the test ends, along with
// connections left open.
func New(t testing.TB, migrate func(ctx context.Context, ownerURL string) error) *DB {
	t.Helper()
	return shared.database(t, migrate)
}

func (c *cluster) main(m interface{ Run() int }) int {
	c.ends = true
	code := m.Run()
	if err := c.end(); err != nil {
		fmt.Fprintln(os.Stderr, "pgtest:", err)
		return max(code, 1)
	}
	return code
}

func (c *cluster) database(t testing.TB, migrate func(ctx context.Context, ownerURL string) error) *DB {
	t.Helper()
	if !c.ends {
		t.Fatal("pgtest.New without pgtest.Main: add func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }")
	}
	c.once.Do(func() { c.failed = c.begin(migrate) })
	if errors.Is(c.failed, localpg.ErrNoBinaries) && c.getenv("CI") != "true" {
		t.Skipf("NOT TESTED, NO DATABASE: %v (for tests the variable is DATABASE_URL_TEST)", c.failed)
	}
	if c.failed != nil {
		t.Fatal(c.failed)
	}
	name := c.nextName()
	if err := c.clone(name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.drop(name); err != nil {
			t.Error(err)
		}
	})
	return &DB{OwnerURL: c.server.url(name, localpg.OwnerRole), AppURL: c.server.url(name, localpg.AppRole)}
}
