package localpg

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// parentEnv makes the test binary act as the parent of a server instead of
// running tests: it names the directory to serve until the process is killed.
const parentEnv = "LOCALPG_TEST_PARENT_OF"

func TestMain(m *testing.M) {
	if dir := os.Getenv(parentEnv); dir != "" {
		os.Exit(serveUntilKilled(dir))
	}
	os.Exit(m.Run())
}

// serveUntilKilled starts a server, prints its URL and waits for the end of
// standard input, which the test never closes before killing the process.
func serveUntilKilled(dir string) int {
	s, err := Start(context.Background(), Config{Dir: dir, Fast: true})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	fmt.Println(s.URL(Database, OwnerRole))
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		fmt.Fprintln(os.Stderr, err)
	}
	return 2
}

// logBuffer collects a log that several goroutines write.
type logBuffer struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (b *logBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.Write(p)
}

func (b *logBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.String()
}

// logger returns a logger that keeps everything in b.
func (b *logBuffer) logger() *slog.Logger {
	return slog.New(slog.NewTextHandler(b, &slog.HandlerOptions{Level: slog.LevelDebug}))
}

// needPostgres skips a test where PostgreSQL is absent, but fails in CI.
func needPostgres(t *testing.T) installation {
	t.Helper()
	inst, err := findInstallation(t.Context(), "", cluster{})
	if err == nil {
		return inst
	}
	if os.Getenv("CI") == "true" {
		t.Fatal(err)
	}
	t.Skip("NOT TESTED: ", err)
	return installation{}
}

// newDir returns a directory for a cluster, below a parent that only the
// testing user may enter.
func newDir(t *testing.T) string {
	t.Helper()
	return filepath.Join(t.TempDir(), "pg")
}

// start starts a server that the end of the test stops.
func start(t *testing.T, cfg Config) *Server {
	t.Helper()
	needPostgres(t)
	cfg.Fast = true
	s, err := Start(t.Context(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(context.Background()); err != nil && !errors.Is(err, ErrDied) {
			t.Error(err)
		}
	})
	return s
}

// stop stops a server in the middle of a test.
func stop(t *testing.T, s *Server) {
	t.Helper()
	if err := s.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// connect opens a connection that the end of the test closes.
func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := conn.Close(context.Background()); err != nil {
			t.Log("close: ", err)
		}
	})
	return conn
}

// run executes statements.
func run(t *testing.T, conn *pgx.Conn, statements ...string) {
	t.Helper()
	for _, sql := range statements {
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
}

// value runs a query for a single value.
func value[T any](t *testing.T, conn *pgx.Conn, sql string) T {
	t.Helper()
	var v T
	if err := conn.QueryRow(t.Context(), sql).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}
