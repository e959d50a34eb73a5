package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
)

// patience bounds every single wait: for a start, an answer, an end.
const patience = time.Minute

// testVersion is what the program under test calls itself.
const testVersion = "v0.0.0-tested"

// program is the path of the built program. TestMain sets it before any test
// runs.
var program string

func TestMain(m *testing.M) { os.Exit(withProgram(m)) }

// withProgram builds the program that users run, and runs the tests on it.
func withProgram(m *testing.M) int {
	dir, err := os.MkdirTemp("", "ripeline-built-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer func() { _ = os.RemoveAll(dir) }() // a temporary directory left behind fails no test
	program = filepath.Join(dir, "ripeline")
	build := exec.Command("go", "build", "-buildvcs=false", "-ldflags", "-X main.version="+testVersion, "-o", program, ".")
	if out, err := build.CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "go build: %v\n%s", err, out)
		return 1
	}
	return pgtest.Main(m)
}

// newDatabase is an empty, migrated database of the test's own.
func newDatabase(t testing.TB) *pgtest.DB {
	t.Helper()
	return pgtest.New(t, func(ctx context.Context, url string) error {
		return postgres.Migrate(ctx, url, slog.New(slog.DiscardHandler))
	})
}

// newDataDir is an empty data directory for a private database. Like
// newDatabase, it ends the test where there is no PostgreSQL.
func newDataDir(t testing.TB) string {
	t.Helper()
	newDatabase(t)
	return filepath.Join(t.TempDir(), "data")
}

// missing ends a test that can not run here.
func missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is not installed; install it from the system's packages", what)
	}
	t.Skipf("NOT TESTED, %s IS NOT INSTALLED", strings.ToUpper(what))
}

// environment is ours without what would steer the program, and with extra.
func environment(extra ...string) []string {
	env := slices.DeleteFunc(os.Environ(), func(pair string) bool {
		name, _, _ := strings.Cut(pair, "=")
		return name == "DATABASE_URL" || name == "COLUMNS" || strings.HasPrefix(name, "RIPELINE_")
	})
	return append(env, extra...)
}

// finished is how a command ended.
type finished struct {
	out, err string
	code     int
}

// command runs the program to its end.
func command(t testing.TB, stdin string, args ...string) finished {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Env, cmd.Stdin = environment(), strings.NewReader(stdin)
	cmd.Dir = t.TempDir()
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatalf("ripeline %s: %v", strings.Join(args, " "), err)
	}
	return finished{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
}

// mustRun runs the program, which must succeed, and returns what it printed.
func mustRun(t testing.TB, stdin string, args ...string) string {
	t.Helper()
	f := command(t, stdin, args...)
	if f.code != 0 {
		t.Fatalf("ripeline %s ended with %d: %s%s", strings.Join(args, " "), f.code, f.out, f.err)
	}
	return f.out
}

// serving is a running program that serves.
type serving struct {
	t     testing.TB
	cmd   *exec.Cmd
	base  string // its address, http and host
	log   *logged
	said  *logged // on standard output
	ended chan struct{}
}

// start runs the program with args until the test ends, and returns once it
// has said its address.
func start(t testing.TB, args ...string) *serving {
	t.Helper()
	s, err := launch(t, nil, args...)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		s.stop()
		if t.Failed() {
			t.Logf("ripeline %s said:\n%s%s", args[0], s.said, s.log)
		}
	})
	return s
}

// launch is start for those who end the program themselves. It listens on any
// free port unless args name one; env adds to the environment.
func launch(t testing.TB, env []string, args ...string) (*serving, error) {
	s := &serving{t: t, log: &logged{}, said: &logged{}, ended: make(chan struct{})}
	given := slices.Index(args, "--addr")
	if given < 0 {
		args = append(args, "--addr", "127.0.0.1:0")
	}
	s.cmd = exec.Command(program, args...)
	s.cmd.Env, s.cmd.Stderr = environment(append(env, "RIPELINE_LOG=warn")...), s.log
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := s.cmd.Start(); err != nil {
		return nil, err
	}
	address := make(chan string, 1)
	go s.listen(out, address)
	select {
	case s.base = <-address:
		if given >= 0 { // what it says may be how others reach it
			s.base = "http://" + args[given+1]
		}
		return s, nil
	case <-s.ended:
		return nil, fmt.Errorf("ripeline %s ended at once (%v): %s%s", args[0], s.cmd.ProcessState, s.said, s.log)
	case <-time.After(patience):
		return nil, errors.Join(fmt.Errorf("ripeline %s does not say its address: %s%s", args[0], s.said, s.log), s.cmd.Process.Kill())
	}
}

// freeAddress is one on which nothing listens, from below the ports that
// systems hand out by themselves.
func freeAddress(t testing.TB) string {
	t.Helper()
	for i := range 1000 {
		l, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", 20_000+(os.Getpid()*7+i)%12_000))
		if err == nil {
			if err := l.Close(); err != nil {
				t.Fatal(err)
			}
			return l.Addr().String()
		}
	}
	t.Fatal("no free port was found")
	return ""
}

// listen keeps what the program prints, and tells its address.
func (s *serving) listen(out io.Reader, address chan<- string) {
	defer close(s.ended)
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		s.said.add(lines.Text() + "\n")
		if at, ok := strings.CutPrefix(lines.Text(), "ripeline is at "); ok {
			address <- at
		}
	}
	_ = s.cmd.Wait() // how it ended stands in its state
}

// line waits for a line of standard output that begins with prefix, and
// returns the rest of it.
func (s *serving) line(prefix string) string {
	s.t.Helper()
	rest := ""
	await(s.t, "a line that begins with "+prefix, func() bool {
		for l := range strings.Lines(s.said.String()) {
			if after, ok := strings.CutPrefix(l, prefix); ok && strings.HasSuffix(l, "\n") {
				rest = strings.TrimSpace(after)
				return true
			}
		}
		return false
	})
	return rest
}

// setupToken is the one-time token of the link printed at the first start.
func (s *serving) setupToken() string {
	s.t.Helper()
	link := s.line("Set it up here, once: ")
	_, token, ok := strings.Cut(link, "/setup?token=")
	if !ok || token == "" {
		s.t.Fatalf("the set-up link is %q", link)
	}
	return token
}

// stop asks the program to end, which it must do in good order. A second stop
// does nothing.
func (s *serving) stop() {
	s.t.Helper()
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil && !errors.Is(err, os.ErrProcessDone) {
		s.t.Errorf("stop: %v", err)
	}
	select {
	case <-s.ended:
	case <-time.After(patience):
		s.t.Errorf("the program does not end: %v", s.cmd.Process.Kill())
		<-s.ended
	}
	if code := s.cmd.ProcessState.ExitCode(); code != 0 {
		s.t.Errorf("stopped, the program ended with %d: %s", code, s.log)
	}
}

// kill ends the program without warning.
func (s *serving) kill() error {
	err := s.cmd.Process.Kill()
	<-s.ended
	return err
}

// await polls until ok holds.
func await(t testing.TB, what string, ok func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for !ok() {
		select {
		case <-ctx.Done():
			t.Fatalf("waited in vain for %s", what)
		case <-tick.C:
		}
	}
}

// logged is text that several goroutines add to.
type logged struct {
	mu   sync.Mutex
	text strings.Builder
}

func (l *logged) Write(p []byte) (int, error) {
	l.add(string(p))
	return len(p), nil
}

func (l *logged) add(text string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text.WriteString(text)
}

func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}
