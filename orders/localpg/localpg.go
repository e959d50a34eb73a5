// Package localpg runs a private PostgreSQL cluster as a child process, for
// whoever starts ripeline without naming a database of their own.
//
// The cluster listens on no network address, only on a Unix socket inside a
// directory of mode 0700, and that directory is its whole access control:
// whoever can open the socket is trusted. It belongs to one data directory and
// lives no longer than the process that started it: Stop ends it, and when the
// parent is killed the kernel (Linux) or the next Start (elsewhere) does.
//
// Beneath Config.Dir lie
//
//	lock     held for as long as the server runs; says who runs it and where
//	data     the PostgreSQL data directory
//	socket   the directory of the Unix socket, unless its path is too long or holds a comma
//
// PostgreSQL refuses to run as root. Started by root, the server steps down to
// an unprivileged user who owns data and socket.
package localpg

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// Database is the name of the application's database.
const Database = "ripeline"

// The roles of the cluster, as the second argument of Server.URL.
const (
	// OwnerRole owns the database and its schema and runs the migrations.
	OwnerRole = "ripeline_owner"
	// AppRole is the service's role. It is neither superuser nor owner, so
	// row-level security applies to it.
	AppRole = "ripeline_app"
	// AdminRole is the cluster's superuser, for backup and for tests.
	AdminRole = "postgres"
)

// startGrace bounds the shutdown of a server whose start failed half-way.
const startGrace = 15 * time.Second

// Config says where and how to run the cluster.
type Config struct {
	// Dir holds the cluster; it is made when missing. Required.
	Dir string
	// User is the unprivileged user to run PostgreSQL as when the caller is
	// root, and ignored otherwise. When empty: the owner of existing data, else
	// the first of "postgres" and "nobody" that exists.
	User string
	// BinDir holds the programs postgres and initdb. When empty the usual places
	// are searched: for the version that wrote existing data, else the newest.
	BinDir string
	// Fast gives up safety against a crash of the machine for speed. For tests.
	Fast bool
	// Log receives what the server logs. When nil that is dropped.
	Log *slog.Logger
}

// Server is a running cluster.
type Server struct {
	socketDir string
	home      *home
	tail      *lineLog
	process   *os.Process
	stopping  atomic.Bool
	done      chan struct{}
	err       error // why the server ended; to be read after done is closed
}

// Start brings the cluster in cfg.Dir up, creating it when the directory is
// new, and returns once it takes connections and holds Database, OwnerRole and
// AppRole. A predecessor that is still shutting down is waited for. ctx bounds
// the starting only, not the life of the server. Errors wrap the kinds this
// package exports and say what to do.
func Start(ctx context.Context, cfg Config) (*Server, error) {
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	h, err := openHome(ctx, cfg.Dir)
	if err != nil {
		return nil, fmt.Errorf("start PostgreSQL: %w", err)
	}
	s, err := startIn(ctx, h, cfg)
	if err != nil {
		return nil, fmt.Errorf("start PostgreSQL: %w", errors.Join(err, h.close()))
	}
	if err := s.prepare(ctx); err != nil {
		grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), startGrace)
		defer cancel()
		return nil, fmt.Errorf("start PostgreSQL: %w", errors.Join(err, s.Stop(grace)))
	}
	return s, nil
}

// startIn launches the server process for a home whose lock is held. The caller
// keeps the home when it fails.
func startIn(ctx context.Context, h *home, cfg Config) (*Server, error) {
	found, err := h.inspect()
	if err != nil {
		return nil, err
	}
	acc, err := chooseAccount(cfg.User, h.dataPath(), found)
	if err != nil {
		return nil, err
	}
	inst, err := findInstallation(ctx, cfg.BinDir, found)
	if err != nil {
		return nil, err
	}
	if err := h.handOver(acc); err != nil {
		return nil, err
	}
	if !found.exists() {
		err = h.initialise(ctx, inst, acc, cfg.Fast)
	} else {
		err = h.awaitPredecessor(ctx)
	}
	if err != nil {
		return nil, err
	}
	return launch(h, inst, acc, cfg)
}

// prepare waits until the server answers and sees to its database and roles.
func (s *Server) prepare(ctx context.Context) error {
	conn, err := s.awaitReady(ctx)
	if err != nil {
		return err
	}
	return errors.Join(ensureDatabase(ctx, conn), conn.Close(ctx))
}

// awaitReady connects as soon as the server lets it; recovery after a crash may
// take a while, which only ctx bounds.
func (s *Server) awaitReady(ctx context.Context) (*pgx.Conn, error) {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for {
		conn, err := pgx.Connect(ctx, s.URL("postgres", AdminRole))
		if err == nil {
			return conn, nil
		}
		select {
		case <-s.done:
			return nil, errors.New("the server ended before it took connections")
		case <-ctx.Done():
			return nil, fmt.Errorf("wait for the server: %w; last try: %w", context.Cause(ctx), err)
		case <-tick.C:
		}
		if !stillStarting(err) {
			return nil, fmt.Errorf("connect to the new server: %w", err)
		}
	}
}

// URL returns a connection string for the named database and role, in the form
// that pgx and libpq both take.
func (s *Server) URL(database, role string) string {
	return connString(s.socketDir, database, role)
}

// Stop asks the server to shut down, rolling open transactions back, and waits
// for it to end. When ctx ends first the server is made to quit at once, which
// loses nothing committed, and the cause is returned. A second Stop is harmless.
// After an unexpected death it returns the same as Err.
func (s *Server) Stop(ctx context.Context) error {
	s.stopping.Store(true)
	if err := s.signal(syscall.SIGINT); err != nil {
		return err
	}
	select {
	case <-s.done:
		return s.err
	case <-ctx.Done():
	}
	err := fmt.Errorf("stop PostgreSQL: forced to quit: %w", context.Cause(ctx))
	if killErr := s.signal(syscall.SIGQUIT); killErr != nil {
		return errors.Join(err, killErr)
	}
	<-s.done
	return err
}

// signal sends sig to the server; one that has already ended is not an error.
func (s *Server) signal(sig syscall.Signal) error {
	if err := s.process.Signal(sig); err != nil && !errors.Is(err, os.ErrProcessDone) {
		return fmt.Errorf("send %v to PostgreSQL: %w", sig, err)
	}
	return nil
}

// Done is closed when the server process has ended, for whatever reason.
func (s *Server) Done() <-chan struct{} { return s.done }

// Err tells why the server ended: nil while it runs and after an orderly Stop,
// else an error wrapping ErrDied with the last lines of its log.
func (s *Server) Err() error {
	select {
	case <-s.done:
		return s.err
	default:
		return nil
	}
}
