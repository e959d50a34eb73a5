package localpg

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5/pgxpool"
)

// TestServer asks one server everything that leaves it running. The directory's
// name holds what connection strings and settings would stumble over.
func TestServer(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), `p g+"é'%?`)
	s := start(t, Config{Dir: dir})
	t.Run("keeps its promises", func(t *testing.T) { checkPromises(t, s) })
	t.Run("binds the app role to row-level security", func(t *testing.T) { checkRowSecurity(t, s) })
	t.Run("takes a pool", func(t *testing.T) { checkPool(t, s) })
	t.Run("is found by others", func(t *testing.T) { checkAttach(t, s, dir) })
	t.Run("refuses a second instance", func(t *testing.T) { checkSecondInstance(t, s, dir) })
}

// TestEndings ends servers of one directory in every way. Each must leave data
// that the next one takes up.
func TestEndings(t *testing.T) {
	t.Parallel()
	dir := newDir(t)
	t.Run("stopped", func(t *testing.T) { checkRestart(t, dir) })
	t.Run("stopped out of time", func(t *testing.T) { checkStopOutOfTime(t, dir) })
	t.Run("killed", func(t *testing.T) { checkKilled(t, dir) })
	t.Run("shut down by others", func(t *testing.T) { checkShutDownByOthers(t, dir) })
	t.Run("refused for its roles", func(t *testing.T) { checkTooPowerfulRole(t, dir) })
	t.Run("refused by itself", func(t *testing.T) { checkFailingServer(t, dir) })
}

// TestFirstStart begins with a start that is cancelled and the remains of one
// that was interrupted, on a system that lacks the preferred locale.
func TestFirstStart(t *testing.T) {
	t.Parallel()
	inst := needPostgres(t)
	dir := newDir(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Start(ctx, Config{Dir: dir, Fast: true}); err == nil {
		t.Fatal("started although cancelled")
	}
	if err := os.MkdirAll(filepath.Join(dir, freshName, "base"), 0o700); err != nil {
		t.Fatal(err)
	}
	bin := openDir(t)
	writeProgram(t, filepath.Join(bin, "initdb"), `case "$*" in *--locale=C.UTF-8*) exit 1;; esac; exec `+inst.dir+`/initdb "$@"`)
	writeProgram(t, filepath.Join(bin, "postgres"), `exec `+inst.dir+`/postgres "$@"`)

	s := start(t, Config{Dir: dir, BinDir: bin})
	if _, err := os.Stat(filepath.Join(dir, freshName)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the remains are still there: %v", err)
	}
	admin := connect(t, s.URL(Database, AdminRole))
	got := value[string](t, admin, `SELECT datcollate || ' ' || pg_encoding_to_char(encoding) FROM pg_database WHERE datname = 'ripeline'`)
	if got != "C UTF8" {
		t.Errorf("locale and encoding = %s", got)
	}
}

func checkRestart(t *testing.T, dir string) {
	t.Helper()
	s := start(t, Config{Dir: dir})
	run(t, connect(t, s.URL(Database, OwnerRole)), `CREATE TABLE note (text text)`, `INSERT INTO note VALUES ('forty loaves')`)
	stop(t, s)
	checkDetached(t, dir)
	if err := s.Stop(t.Context()); err != nil {
		t.Errorf("a second Stop: %v", err)
	}

	again := start(t, Config{Dir: dir})
	if got := value[string](t, connect(t, again.URL(Database, OwnerRole)), `SELECT text FROM note`); got != "forty loaves" {
		t.Errorf("after the restart the note says %q", got)
	}
	if again.Err() != nil {
		t.Errorf("Err of a running server = %v", again.Err())
	}
}

func checkPromises(t *testing.T, s *Server) {
	t.Helper()
	admin := connect(t, s.URL(Database, AdminRole))
	for query, want := range map[string]string{
		`SHOW listen_addresses`:        "",
		`SHOW unix_socket_permissions`: "0700",
		`SHOW timezone`:                "UTC",
		`SHOW server_encoding`:         "UTF8",
		`SELECT datcollate FROM pg_database WHERE datname = 'ripeline'`:                                                    "C.UTF-8",
		`SELECT pg_get_userbyid(datdba)::text FROM pg_database WHERE datname = 'ripeline'`:                                 OwnerRole,
		`SELECT count(*)::text FROM pg_roles WHERE rolname LIKE 'ripeline%' AND NOT (rolsuper OR rolbypassrls)`:            "2",
		`SELECT count(*)::text FROM pg_roles WHERE rolname LIKE 'ripeline%' AND (rolcreatedb OR rolcreaterole)`:            "0",
		`SELECT count(*)::text FROM pg_hba_file_rules WHERE type = 'host' AND auth_method <> 'reject'`:                     "0",
		`SELECT count(*)::text FROM pg_roles WHERE rolcanlogin AND rolname NOT LIKE 'ripeline%' AND rolname <> 'postgres'`: "0",
	} {
		if got := value[string](t, admin, query); got != want {
			t.Errorf("%s = %q, want %q", query, got, want)
		}
	}
	info, err := os.Stat(s.socketDir)
	if err != nil {
		t.Fatal(err)
	}
	if got := info.Mode().Perm(); got != 0o700 {
		t.Errorf("the socket directory has mode %o", got)
	}
}

func checkRowSecurity(t *testing.T, s *Server) {
	t.Helper()
	run(
		t, connect(t, s.URL(Database, OwnerRole)),
		`CREATE TABLE loaf (shop int)`,
		`INSERT INTO loaf VALUES (1), (1), (2)`,
		`ALTER TABLE loaf ENABLE ROW LEVEL SECURITY`,
		`CREATE POLICY own_shop ON loaf USING (shop = 2)`,
		`GRANT SELECT ON loaf TO ripeline_app`,
	)
	app := connect(t, s.URL(Database, AppRole))
	if got := value[int](t, app, `SELECT count(*) FROM loaf`); got != 1 {
		t.Errorf("the app role sees %d loaves, want the 1 of its shop", got)
	}
	if _, err := app.Exec(t.Context(), `CREATE TABLE mine (x int)`); err == nil {
		t.Error("the app role could create a table")
	}
}

func checkPool(t *testing.T, s *Server) {
	t.Helper()
	pool, err := pgxpool.New(t.Context(), s.URL(Database, AppRole))
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	var who string
	if err := pool.QueryRow(t.Context(), `SELECT current_user || '@' || current_database()`).Scan(&who); err != nil {
		t.Fatal(err)
	}
	if who != "ripeline_app@ripeline" {
		t.Errorf("connected as %s", who)
	}
}

func checkKilled(t *testing.T, dir string) {
	t.Helper()
	s := start(t, Config{Dir: dir})
	if err := s.process.Signal(syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	<-s.Done()
	if !errors.Is(s.Err(), ErrDied) || !strings.Contains(s.Err().Error(), "killed") {
		t.Errorf("Err = %v, want one that wraps ErrDied and says killed", s.Err())
	}
	if err := s.Stop(t.Context()); !errors.Is(err, ErrDied) {
		t.Errorf("Stop = %v, want the cause of death", err)
	}
}

func checkShutDownByOthers(t *testing.T, dir string) {
	t.Helper()
	s := start(t, Config{Dir: dir})
	if err := s.process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	<-s.Done()
	if !errors.Is(s.Err(), ErrDied) {
		t.Errorf("Err = %v, want ErrDied", s.Err())
	}
}

func checkStopOutOfTime(t *testing.T, dir string) {
	t.Helper()
	s := start(t, Config{Dir: dir})
	run(t, connect(t, s.URL(Database, OwnerRole)), `CREATE TABLE kept (x int)`)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	err := s.Stop(ctx)
	select {
	case <-s.Done():
	default:
		t.Error("Stop returned before the server had ended")
	}
	// The server may win the race against the deadline; then all is well.
	if err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("Stop = %v", err)
	}
	again := start(t, Config{Dir: dir})
	value[int](t, connect(t, again.URL(Database, OwnerRole)), `SELECT count(*) FROM kept`)
}

// openDir returns a directory that every user may enter and read.
func openDir(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for _, d := range []string{dir, filepath.Dir(dir)} {
		if err := os.Chmod(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// writeProgram writes a shell script.
func writeProgram(t *testing.T, path, body string) {
	t.Helper()
	if err := os.WriteFile(path, []byte("#!/bin/sh\n"+body+"\n"), 0o755); err != nil {
		t.Fatal(err)
	}
}
