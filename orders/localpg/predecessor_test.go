package localpg

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// TestPredecessors starts servers where others have been, on one directory.
func TestPredecessors(t *testing.T) {
	t.Parallel()
	needPostgres(t)
	dir := newDir(t)
	t.Run("parent killed", func(t *testing.T) { checkKilledParent(t, dir) })
	t.Run("own orphan", func(t *testing.T) { checkOwnOrphan(t, dir) })
	t.Run("foreign server", func(t *testing.T) { checkForeignServer(t, dir) })
	t.Run("reused process id", func(t *testing.T) { checkReusedProcessID(t, dir) })
}

// checkKilledParent kills the process that started a server in mid-transaction.
func checkKilledParent(t *testing.T, dir string) {
	t.Helper()
	parent := exec.Command(os.Args[0])
	parent.Env = append(os.Environ(), parentEnv+"="+dir)
	parent.Stderr = os.Stderr
	if _, err := parent.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := parent.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := parent.Start(); err != nil {
		t.Fatal(err)
	}
	url, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(errors.Join(err, parent.Wait()))
	}
	conn := connect(t, strings.TrimSpace(url))
	run(t, conn, `CREATE TABLE batch (pieces int)`, `INSERT INTO batch VALUES (48)`, `BEGIN`, `INSERT INTO batch VALUES (1)`)

	if err := parent.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	var exit *exec.ExitError
	if err := parent.Wait(); !errors.As(err, &exit) {
		t.Fatalf("the parent ended with %v", err)
	}
	if runtime.GOOS == "linux" {
		wantShutdown(t, conn)
	}
	var log logBuffer
	s := start(t, Config{Dir: dir, Log: log.logger()})
	if got := value[int](t, connect(t, s.URL(Database, OwnerRole)), `SELECT sum(pieces) FROM batch`); got != 48 {
		t.Errorf("pieces = %d, want the 48 that were committed", got)
	}
	if text := log.String(); !strings.Contains(text, "database system was shut down at") {
		t.Errorf("the server was not shut down cleanly:\n%s", text)
	}
}

// wantShutdown waits until the server tells an idle connection that it is being
// shut down, all by itself.
func wantShutdown(t *testing.T, conn *pgx.Conn) {
	t.Helper()
	const adminShutdown = "57P01" // PostgreSQL's manual, appendix A
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	_, err := conn.WaitForNotification(ctx)
	var pgErr *pgconn.PgError
	if !errors.As(err, &pgErr) || pgErr.Code != adminShutdown {
		t.Errorf("after the parent's death the connection ended with %v", err)
	}
}

// orphan runs a server on dir without anyone holding the lock. The lock file
// names it as the last holder's server when named is true.
func orphan(t *testing.T, dir string, named bool) (ended <-chan error) {
	t.Helper()
	inst := needPostgres(t)
	h, err := openHome(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	found, err := h.inspect()
	if err != nil {
		t.Fatal(err)
	}
	acc, err := chooseAccount("", h.dataPath(), found)
	if err != nil {
		t.Fatal(err)
	}
	socketDir, err := h.makeSocketDir(acc)
	if err != nil {
		t.Fatal(err)
	}
	cmd, via, err := serverCommand(h, inst, acc, socketDir, true)
	if err != nil {
		t.Fatal(err)
	}
	started, ended := startLocked(cmd)
	if err := errors.Join(<-started, via.close()); err != nil {
		t.Fatal(err)
	}
	s := &Server{socketDir: socketDir, done: make(chan struct{})}
	conn, err := s.awaitReady(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	recorded := 0
	if named {
		recorded = cmd.Process.Pid
	}
	if err := errors.Join(conn.Close(t.Context()), h.note(recorded, socketDir), h.close()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := cmd.Process.Signal(syscall.SIGINT); err != nil && !errors.Is(err, os.ErrProcessDone) {
			t.Error(err)
		}
	})
	return ended
}

func checkOwnOrphan(t *testing.T, dir string) {
	t.Helper()
	ended := orphan(t, dir, true)
	start(t, Config{Dir: dir})
	if err := <-ended; err != nil {
		t.Errorf("the orphan ended with %v", err)
	}
}

func checkForeignServer(t *testing.T, dir string) {
	t.Helper()
	ended := orphan(t, dir, false)
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	_, err := Start(ctx, Config{Dir: dir, BinDir: needPostgres(t).dir})
	if !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), "kill -INT") {
		t.Errorf("Start = %v, want ErrInUse with the way out", err)
	}
	select {
	case err := <-ended:
		t.Errorf("the other server was ended: %v", err)
	default:
	}
}

// checkReusedProcessID leaves a postmaster.pid behind whose process id belongs
// to an unrelated living process of the same user.
func checkReusedProcessID(t *testing.T, dir string) {
	t.Helper()
	s := start(t, Config{Dir: dir})
	content, err := os.ReadFile(filepath.Join(dir, pidFile))
	if err != nil {
		t.Fatal(err)
	}
	stop(t, s)
	acc, err := candidate("", cluster{})
	if err != nil {
		t.Fatal(err)
	}
	unrelated := exec.Command("cat")
	confine(unrelated, acc, passage{})
	stdin, err := unrelated.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	started, ended := startLocked(unrelated)
	if err := <-started; err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := errors.Join(stdin.Close(), <-ended); err != nil {
			t.Error(err)
		}
	})
	_, rest, _ := strings.Cut(string(content), "\n")
	path := filepath.Join(dir, pidFile)
	if err := os.WriteFile(path, fmt.Appendf(nil, "%d\n%s", unrelated.Process.Pid, rest), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chown(path, int(acc.uid), int(acc.gid)); err != nil {
		t.Fatal(err)
	}
	start(t, Config{Dir: dir})
}
