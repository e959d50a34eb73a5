package localpg

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

const (
	lockName = "lock"
	dataName = "data"
	// freshName is where a cluster is built before it takes its real name, so
	// that an interrupted build is never mistaken for a cluster.
	freshName = "data.new"
	// lockGrace lets a parent that was just killed finish dying.
	lockGrace = time.Second
)

// home is Config.Dir with its lock held. File operations go through root, which
// never leaves the directory: it may belong to a less privileged user, whose
// symbolic links must not lead root astray.
type home struct {
	path        string // absolute, without symbolic links
	root        *os.Root
	lock        *os.File
	predecessor int // process id of the server that the last holder of the lock ran; 0 when unknown
}

// cluster describes the data directory. The zero value means that there is none.
type cluster struct {
	major    int // PostgreSQL's major version
	uid, gid uint32
}

func (c cluster) exists() bool { return c.major != 0 }

func (h *home) dataPath() string { return filepath.Join(h.path, dataName) }

// openHome makes the directory when missing, checks it and takes its lock.
func openHome(ctx context.Context, dir string) (*home, error) {
	if dir == "" {
		return nil, errors.New("Config.Dir is empty: name the directory that is to hold the database")
	}
	path, err := makeDir(dir)
	if err != nil {
		return nil, denied(dir, err)
	}
	root, err := os.OpenRoot(path)
	if err != nil {
		return nil, denied(path, err)
	}
	h := &home{path: path, root: root}
	if err := h.takeLock(ctx); err != nil {
		return nil, errors.Join(err, root.Close())
	}
	return h, nil
}

// makeDir returns dir absolute and free of symbolic links, created when missing.
func makeDir(dir string) (string, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	if err := os.MkdirAll(abs, 0o755); err != nil {
		return "", err
	}
	path, err := filepath.EvalSymlinks(abs)
	if err != nil {
		return "", err
	}
	info, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	if info.Mode().Perm()&0o002 != 0 {
		return "", fmt.Errorf("%w: everyone may write in %s; run: chmod o-w %s", ErrPermissions, path, path)
	}
	return path, nil
}

// denied turns a refused access to the directory into advice.
func denied(dir string, err error) error {
	if !errors.Is(err, fs.ErrPermission) {
		return err
	}
	return fmt.Errorf("%w: %w; start ripeline as the owner of %s, or choose another data directory", ErrOwner, err, dir)
}

// takeLock claims the directory for this process, so that two servers never
// share it. The kernel releases the lock however the process ends.
func (h *home) takeLock(ctx context.Context) error {
	lock, err := h.root.OpenFile(lockName, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return denied(h.path, err)
	}
	held := flock(ctx, lock)
	content, err := io.ReadAll(lock)
	if err != nil {
		return errors.Join(fmt.Errorf("read %s: %w", lock.Name(), err), lock.Close())
	}
	last := parseTenancy(string(content))
	if held != nil {
		return errors.Join(h.inUse(last.parent, held), lock.Close())
	}
	h.lock, h.predecessor = lock, last.server
	return nil
}

// flock takes an exclusive lock, trying for lockGrace.
func flock(ctx context.Context, f *os.File) error {
	ctx, cancel := context.WithTimeout(ctx, lockGrace)
	defer cancel()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if !errors.Is(err, syscall.EWOULDBLOCK) {
			return err
		}
		select {
		case <-ctx.Done():
			return err
		case <-tick.C:
		}
	}
}

// inUse explains a lock that could not be had.
func (h *home) inUse(parent int, err error) error {
	if !errors.Is(err, syscall.EWOULDBLOCK) {
		return fmt.Errorf("lock %s: %w", filepath.Join(h.path, lockName), err)
	}
	who := "another ripeline"
	if parent > 0 {
		who = fmt.Sprintf("another ripeline (process %d)", parent)
	}
	return fmt.Errorf("%w: %s runs on %s; stop it first, or choose another data directory", ErrInUse, who, h.path)
}

// handOver gives the lock file to the account when root made it, so that the
// same user can start without root the next time.
func (h *home) handOver(acc account) error {
	if acc.stepDown {
		if err := h.lock.Chown(int(acc.uid), int(acc.gid)); err != nil {
			return err
		}
	}
	return h.note(h.predecessor, "") // which may still run if this start is cut short
}

// inspect looks at the data directory.
func (h *home) inspect() (cluster, error) {
	info, err := h.root.Lstat(dataName)
	if errors.Is(err, fs.ErrNotExist) {
		return cluster{}, nil
	}
	if err != nil {
		return cluster{}, err
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !info.IsDir() || !ok {
		return cluster{}, fmt.Errorf("%w: %s is not a directory; move it away", ErrNotCluster, h.dataPath())
	}
	if perm := info.Mode().Perm(); perm&0o077 != 0 {
		return cluster{}, fmt.Errorf("%w: %s has mode %04o; run: chmod 700 %s", ErrPermissions, h.dataPath(), perm, h.dataPath())
	}
	major, err := h.readVersion()
	if err != nil {
		return cluster{}, err
	}
	return cluster{major: major, uid: stat.Uid, gid: stat.Gid}, nil
}

// readVersion reads which major version wrote the data.
func (h *home) readVersion() (int, error) {
	name := filepath.Join(dataName, "PG_VERSION")
	text, err := h.root.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, fmt.Errorf("%w: %s has no PG_VERSION, so it is no PostgreSQL data; move it away or choose another data directory", ErrNotCluster, h.dataPath())
	}
	if err != nil {
		return 0, denied(h.dataPath(), err)
	}
	var major int
	if _, err := fmt.Sscan(string(text), &major); err != nil || major <= 0 {
		return 0, fmt.Errorf("%w: %s says %q, which is no version; restore a backup into an empty data directory", ErrNotCluster, filepath.Join(h.path, name), text)
	}
	return major, nil
}

// close lets the directory go.
func (h *home) close() error { return errors.Join(h.lock.Close(), h.root.Close()) }
