package localpg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// predecessorGrace is how long a server that lost its parent may take to shut
// down: its last checkpoint writes out everything that is still in memory.
const predecessorGrace = 20 * time.Second

const pidFile = dataName + "/postmaster.pid"

// awaitPredecessor waits until no other server works on the data. As we hold
// the lock, one that still does has lost the process that started it.
func (h *home) awaitPredecessor(ctx context.Context) error {
	data, err := h.root.Stat(dataName)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, predecessorGrace)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	asked := false
	for {
		pid, err := h.recordedServer()
		if err != nil || pid == 0 {
			return err
		}
		if !servesData(pid, data) {
			return h.disownPID(pid)
		}
		if !asked && pid == h.predecessor {
			if err := askToStop(pid); err != nil {
				return err
			}
		}
		asked = true
		select {
		case <-ctx.Done():
			return h.stillServed(ctx, pid)
		case <-tick.C:
		}
	}
}

// askToStop tells an orphan that our own predecessor left behind to shut down.
// Where the kernel has told it already, saying so twice does no harm.
func askToStop(pid int) error {
	if err := syscall.Kill(pid, syscall.SIGINT); err != nil && !errors.Is(err, syscall.ESRCH) {
		return fmt.Errorf("stop the orphaned PostgreSQL process %d: %w", pid, err)
	}
	return nil
}

func (h *home) stillServed(ctx context.Context, pid int) error {
	return fmt.Errorf("%w: PostgreSQL process %d works on %s without a ripeline around it (%w); end it with: kill -INT %d",
		ErrInUse, pid, h.dataPath(), context.Cause(ctx), pid)
}

// recordedServer returns the process id in postmaster.pid, 0 when the file is
// gone or does not hold one.
func (h *home) recordedServer() (int, error) {
	content, err := h.root.ReadFile(pidFile)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("read %s: %w", filepath.Join(h.path, pidFile), err)
	}
	first, _, _ := strings.Cut(string(content), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(first))
	if err != nil || pid < 0 {
		return 0, nil //nolint:nilerr // PostgreSQL itself explains a damaged file best
	}
	return pid, nil
}

// disownPID settles a postmaster.pid whose process id now belongs to some
// unrelated process, as happens after a power cut and always in containers.
// PostgreSQL would refuse to start; but it takes its own parent's id for stale,
// and then still checks the rest of the file for servers left behind. So our id
// goes in there rather than the file away.
func (h *home) disownPID(pid int) error {
	if err := syscall.Kill(pid, 0); errors.Is(err, syscall.ESRCH) {
		return nil
	}
	content, err := h.root.ReadFile(pidFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	_, rest, _ := strings.Cut(string(content), "\n")
	return h.root.WriteFile(pidFile, fmt.Appendf(nil, "%d\n%s", os.Getpid(), rest), 0o600)
}
