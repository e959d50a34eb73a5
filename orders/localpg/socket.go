package localpg

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

const (
	socketName = "socket"
	// port only names the socket file; nothing listens on a network.
	port       = "5432"
	socketFile = ".s.PGSQL." + port
	// maxSocketPath leaves a little room below the system's limit on the path of
	// a Unix socket: 108 bytes on Linux and 104 on macOS (their sys/un.h).
	maxSocketPath = 100
)

// makeSocketDir makes the private directory of the socket: in the home when
// that makes a usable path, else in the directory for temporary files under
// a name that the same home always gets.
func (h *home) makeSocketDir(acc account) (string, error) {
	near := filepath.Join(h.path, socketName)
	if socketUsable(near) {
		return near, freshPrivate(h.root, socketName, acc)
	}
	sum := sha256.Sum256([]byte(h.path))
	name := "ripeline-" + hex.EncodeToString(sum[:8])
	far := filepath.Join(os.TempDir(), name)
	if !socketUsable(far) {
		return "", fmt.Errorf("%w: %s and %s both exceed %d bytes or hold a comma; choose a shorter data directory, or set TMPDIR to a shorter one such as /tmp",
			ErrSocketPath, filepath.Join(near, socketFile), filepath.Join(far, socketFile), maxSocketPath)
	}
	return far, makeFarSocketDir(name, acc)
}

// socketUsable reports whether clients can name the directory: short enough for
// the system, and free of commas, which separate hosts in connection strings.
func socketUsable(dir string) bool {
	return !strings.Contains(dir, ",") && len(filepath.Join(dir, socketFile)) <= maxSocketPath
}

// makeFarSocketDir works in a directory that others may write in, too: a
// directory that someone else put under the name is removed or, where the
// system forbids that, makes the start fail.
func makeFarSocketDir(name string, acc account) (err error) {
	temp, err := os.OpenRoot(os.TempDir())
	if err != nil {
		return fmt.Errorf("open the directory for temporary files: %w", err)
	}
	defer func() { err = errors.Join(err, temp.Close()) }()
	if err := freshPrivate(temp, name, acc); err != nil {
		return fmt.Errorf("%w; remove %s, or set TMPDIR to a directory of your own", err, filepath.Join(temp.Name(), name))
	}
	return nil
}

// removeSocketDir removes the directory of a server that has ended, unless
// someone has cleaned it away before.
func (s *Server) removeSocketDir() error {
	if err := os.RemoveAll(s.socketDir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("remove the socket directory: %w", err)
	}
	return nil
}
