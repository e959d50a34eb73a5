package localpg

import (
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// tenancy is the content of the lock file: who runs which server.
type tenancy struct {
	parent, server int    // process ids; server is 0 until it runs
	socketDir      string // empty until the server runs
}

// parseTenancy reads a lock file. What is missing stays zero: the file may
// stem from a process killed while writing it.
func parseTenancy(content string) tenancy {
	lines := strings.SplitN(content, "\n", 3)
	if len(lines) < 3 {
		return tenancy{}
	}
	parent, parentErr := strconv.Atoi(lines[0])
	server, serverErr := strconv.Atoi(lines[1])
	if parentErr != nil || serverErr != nil {
		return tenancy{}
	}
	return tenancy{parent: parent, server: server, socketDir: strings.TrimSuffix(lines[2], "\n")}
}

// note records in the lock file that this process runs the server.
func (h *home) note(server int, socketDir string) error {
	if err := h.lock.Truncate(0); err != nil {
		return err
	}
	_, err := h.lock.WriteAt(fmt.Appendf(nil, "%d\n%d\n%s\n", os.Getpid(), server, socketDir), 0)
	return err
}

// Running is a server that another process runs.
type Running struct {
	socketDir string
}

// URL is like Server.URL.
func (r Running) URL(database, role string) string { return connString(r.socketDir, database, role) }

// Attach finds the server that another process runs on the directory, so that
// a command can work beside the service. It reports false when there is none,
// or none yet, and also when that can not be found out: Start then says why.
func Attach(dir string) (Running, bool) {
	content, err := readHeldLock(filepath.Join(dir, lockName))
	if err != nil {
		return Running{}, false
	}
	now := parseTenancy(content)
	return Running{socketDir: now.socketDir}, now.socketDir != ""
}

// readHeldLock reads a lock file that someone holds; a free one is an error.
func readHeldLock(path string) (content string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_SH|syscall.LOCK_NB); {
	case err == nil:
		return "", errors.New("nobody holds the lock")
	case !errors.Is(err, syscall.EWOULDBLOCK):
		return "", err
	}
	all, err := io.ReadAll(f)
	return string(all), err
}

// connString names a database and role behind the socket in socketDir.
func connString(socketDir, database, role string) string {
	query := url.Values{"host": {socketDir}, "port": {port}, "sslmode": {"disable"}}
	// A plus sign is no space here, other than in the queries of web pages.
	raw := strings.ReplaceAll(query.Encode(), "+", "%20")
	u := url.URL{Scheme: "postgres", User: url.User(role), Path: "/" + database, RawQuery: raw}
	return u.String()
}
