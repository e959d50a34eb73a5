package pgtest

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"

	"ripeline/orders/localpg"
)

// dirPrefix begins the names of the clusters' directories; the process id and
// random digits follow.
const dirPrefix = "ripeline-pgtest-"

// makeDir makes the directory of this process's cluster below parent. Others
// may pass through it, since as root the server runs as another user; what is in
// it is private by itself.
func makeDir(parent string) (string, error) {
	dir, err := os.MkdirTemp(parent, dirPrefix+strconv.Itoa(os.Getpid())+"-")
	if err != nil {
		return "", err
	}
	return dir, os.Chmod(dir, 0o711)
}

// sweep removes the directories of test processes that were killed, or ended by
// a panic, before they could do so themselves. Those of other users stay: the
// directory is theirs to remove.
func sweep(parent string) error {
	dirs, err := filepath.Glob(filepath.Join(parent, dirPrefix+"*"))
	if err != nil {
		return err
	}
	for _, dir := range dirs {
		if !abandoned(dir) {
			continue
		}
		if err := os.RemoveAll(dir); err != nil && !errors.Is(err, os.ErrPermission) {
			return fmt.Errorf("remove an abandoned test database: %w", err)
		}
	}
	return nil
}

// abandoned reports whether the process that made the directory is gone and
// nobody runs a server in it.
func abandoned(dir string) bool {
	digits, _, _ := strings.Cut(strings.TrimPrefix(filepath.Base(dir), dirPrefix), "-")
	pid, err := strconv.Atoi(digits)
	if err != nil || pid <= 0 || !errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
		return false
	}
	_, served := localpg.Attach(dir)
	return !served
}
