package localpg

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// ownerOf returns the user and group of a file.
func ownerOf(t *testing.T, path string) (uid, gid uint32) {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		t.Fatalf("no owner for %s", path)
	}
	return stat.Uid, stat.Gid
}

func needRoot(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("only root can step down")
	}
}

func TestRootStepsDownBelowAClosedParent(t *testing.T) {
	t.Parallel()
	needRoot(t)
	needPostgres(t)
	want, err := candidate("", cluster{})
	if err != nil {
		t.Fatal(err)
	}
	checkServerUser(t, start(t, Config{Dir: filepath.Join(newDir(t), "deep")}), want)
}

func TestRootKeepsTheOwnerOfExistingData(t *testing.T) {
	t.Parallel()
	needRoot(t)
	nobody, err := lookUp("nobody")
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(openDir(t), "pg")
	first := start(t, Config{Dir: dir, User: "nobody"})
	checkServerUser(t, first, nobody)
	stop(t, first)
	checkServerUser(t, start(t, Config{Dir: dir}), nobody)
}

// checkServerUser checks who owns the files and runs the process.
func checkServerUser(t *testing.T, s *Server, want account) {
	t.Helper()
	for _, path := range []string{s.home.dataPath(), s.socketDir, filepath.Join(s.home.path, lockName)} {
		if uid, gid := ownerOf(t, path); uid != want.uid || gid != want.gid {
			t.Errorf("%s belongs to %d:%d, want %s", path, uid, gid, want.name)
		}
	}
	admin := connect(t, s.URL(Database, AdminRole))
	uid := value[uint32](t, admin, `SELECT split_part(split_part(pg_read_file('/proc/self/status'), 'Uid:', 2), E'\t', 2)::bigint`)
	if uid != want.uid {
		t.Errorf("the server runs as user %d, want %s", uid, want.name)
	}
}

func TestMayEnter(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	uid, gid := ownerOf(t, dir)
	for _, test := range []struct {
		name string
		acc  account
		mode os.FileMode
		want bool
	}{
		{"owner", account{uid: uid, gid: gid}, 0o700, true},
		{"owner shut out", account{uid: uid, gid: gid}, 0o077, false},
		{"group", account{uid: uid + 1, gid: gid}, 0o710, true},
		{"group shut out", account{uid: uid + 1, gid: gid}, 0o701, false},
		{"others", account{uid: uid + 1, gid: gid + 1}, 0o701, true},
		{"others shut out", account{uid: uid + 1, gid: gid + 1}, 0o770, false},
	} {
		if err := os.Chmod(dir, test.mode); err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(dir)
		if err != nil {
			t.Fatal(err)
		}
		if got := test.acc.mayEnter(info); got != test.want {
			t.Errorf("%s: mayEnter with mode %o = %v", test.name, test.mode, got)
		}
	}
}
