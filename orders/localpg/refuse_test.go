package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// makeData lays out a data directory by hand, owned as Start would have it.
func makeData(t *testing.T, version string) (dir string) {
	t.Helper()
	dir = newDir(t)
	data := filepath.Join(dir, dataName)
	if err := os.MkdirAll(data, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if version != "" {
		if err := os.WriteFile(filepath.Join(data, "PG_VERSION"), []byte(version), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	acc, err := candidate("", cluster{})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chown(data, int(acc.uid), int(acc.gid)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// mode changes the mode of a path below dir.
func mode(t *testing.T, dir, name string, perm os.FileMode) string {
	t.Helper()
	if err := os.Chmod(filepath.Join(dir, name), perm); err != nil {
		t.Fatal(err)
	}
	return dir
}

// wantRefusal checks that Start fails with the kind and says all the words.
func wantRefusal(t *testing.T, cfg Config, kind error, words ...string) {
	t.Helper()
	s, err := Start(t.Context(), cfg)
	if err == nil {
		t.Fatal(errors.Join(errors.New("started"), s.Stop(context.Background())))
	}
	if !errors.Is(err, kind) {
		t.Errorf("Start = %v, want kind %v", err, kind)
	}
	for _, word := range words {
		if !strings.Contains(err.Error(), word) {
			t.Errorf("Start = %v, want it to say %q", err, word)
		}
	}
}

// checkSecondInstance tries to serve a directory again, by another name.
func checkSecondInstance(t *testing.T, first *Server, dir string) {
	t.Helper()
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(dir, link); err != nil {
		t.Fatal(err)
	}
	wantRefusal(t, Config{Dir: link}, ErrInUse, dir, fmt.Sprintf("process %d", os.Getpid()), "stop it first")
	connect(t, first.URL(Database, AppRole))
}

func TestOtherMajorVersion(t *testing.T) {
	t.Parallel()
	needPostgres(t)
	wantRefusal(t, Config{Dir: makeData(t, "9\n")}, ErrVersion, "PostgreSQL 9", "apt-get install postgresql-9", "backup")
}

func TestLoosePermissions(t *testing.T) {
	t.Parallel()
	dir := mode(t, makeData(t, "15\n"), dataName, 0o750)
	wantRefusal(t, Config{Dir: dir}, ErrPermissions, "mode 0750", "chmod 700 "+filepath.Join(dir, dataName))

	dir = mode(t, makeData(t, "15\n"), ".", 0o777)
	wantRefusal(t, Config{Dir: dir}, ErrPermissions, "chmod o-w "+dir)
}

func TestForeignContent(t *testing.T) {
	t.Parallel()
	wantRefusal(t, Config{Dir: makeData(t, "")}, ErrNotCluster, "PG_VERSION", "move it away")
	wantRefusal(t, Config{Dir: makeData(t, "soap\n")}, ErrNotCluster, "soap", "backup")

	dir := newDir(t)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/etc", filepath.Join(dir, dataName)); err != nil {
		t.Fatal(err)
	}
	wantRefusal(t, Config{Dir: dir}, ErrNotCluster, "not a directory")
}

func TestDirectoryOfAnotherUser(t *testing.T) {
	t.Parallel()
	needRoot(t)
	wantRefusal(t, Config{Dir: makeData(t, "15\n"), User: "daemon"}, ErrOwner, "run as daemon", "chown -R daemon")

	dir := makeData(t, "15\n")
	if err := os.Chown(filepath.Join(dir, dataName), 0, 0); err != nil {
		t.Fatal(err)
	}
	wantRefusal(t, Config{Dir: dir}, ErrOwner, "belongs to root")
}

func TestDirectoryThatIsClosedToUs(t *testing.T) {
	t.Parallel()
	if os.Geteuid() == 0 {
		t.Skip("nothing is closed to root")
	}
	dir := filepath.Join(mode(t, t.TempDir(), ".", 0o500), "pg")
	wantRefusal(t, Config{Dir: dir}, ErrOwner, "as the owner of "+dir)
}

func TestNoProperUser(t *testing.T) {
	t.Parallel()
	needRoot(t)
	wantRefusal(t, Config{Dir: newDir(t), User: "root"}, ErrUser, "is root", "name another")
	wantRefusal(t, Config{Dir: newDir(t), User: "no-such-soaper"}, ErrUser, "no-such-soaper", "name an existing user")
}

func TestNoDirectory(t *testing.T) {
	t.Parallel()
	if _, err := Start(t.Context(), Config{}); err == nil || !strings.Contains(err.Error(), "Config.Dir is empty") {
		t.Errorf("Start = %v", err)
	}
}

func TestNoBinaries(t *testing.T) {
	t.Parallel()
	empty := t.TempDir()
	wantRefusal(t, Config{Dir: newDir(t), BinDir: empty}, ErrNoBinaries, empty, "apt-get install postgresql", "DATABASE_URL")

	old := t.TempDir()
	writeProgram(t, filepath.Join(old, "initdb"), "exit 0")
	writeProgram(t, filepath.Join(old, "postgres"), `echo "postgres (PostgreSQL) 13.9"`)
	wantRefusal(t, Config{Dir: newDir(t), BinDir: old}, ErrNoBinaries, "only version 13")

	mute := t.TempDir()
	writeProgram(t, filepath.Join(mute, "initdb"), "exit 0")
	writeProgram(t, filepath.Join(mute, "postgres"), "exit 3")
	wantRefusal(t, Config{Dir: newDir(t), BinDir: mute}, ErrNoBinaries, "exit status 3")
}

func TestFailingInitdbIsQuotedAndLeavesNothing(t *testing.T) {
	t.Parallel()
	bin := openDir(t)
	writeProgram(t, filepath.Join(bin, "initdb"), `echo "the mold is cracked" >&2; exit 1`)
	writeProgram(t, filepath.Join(bin, "postgres"), `echo "postgres (PostgreSQL) 15.1"`)
	dir := newDir(t)
	_, err := Start(t.Context(), Config{Dir: dir, BinDir: bin})
	if err == nil || !strings.Contains(err.Error(), "the mold is cracked") {
		t.Errorf("Start = %v", err)
	}
	left, err := filepath.Glob(filepath.Join(dir, "data*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// checkFailingServer leaves a directory whose server can not start.
func checkFailingServer(t *testing.T, dir string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, dataName, "postgresql.conf"), []byte("soap = yes\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	wantRefusal(t, Config{Dir: dir}, ErrDied, "soap")
}

// checkTooPowerfulRole leaves a directory whose app role has too much power.
func checkTooPowerfulRole(t *testing.T, dir string) {
	t.Helper()
	s := start(t, Config{Dir: dir})
	run(t, connect(t, s.URL(Database, AdminRole)), `ALTER ROLE ripeline_app BYPASSRLS`)
	stop(t, s)
	wantRefusal(t, Config{Dir: dir}, ErrRole, "ALTER ROLE ripeline_app NOSUPERUSER NOBYPASSRLS")
}

func TestSocketPath(t *testing.T) {
	needPostgres(t)
	temp := t.TempDir()
	long := strings.Repeat("very-", 20)
	dir := filepath.Join(t.TempDir(), long)
	t.Setenv("TMPDIR", temp)
	s := start(t, Config{Dir: dir})
	if filepath.Dir(s.socketDir) != temp {
		t.Errorf("the socket is in %s, want it below %s", s.socketDir, temp)
	}
	connect(t, s.URL(Database, AppRole))
	stop(t, s)
	if _, err := os.Stat(s.socketDir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the socket directory is left behind: %v", err)
	}

	t.Setenv("TMPDIR", filepath.Join(temp, long))
	wantRefusal(t, Config{Dir: dir}, ErrSocketPath, "100", "TMPDIR", "shorter data directory")
}

func TestSocketUsable(t *testing.T) {
	t.Parallel()
	fits := "/" + strings.Repeat("s", maxSocketPath-len(socketFile)-2)
	for dir, want := range map[string]bool{fits: true, fits + "s": false, "/a,b": false} {
		if got := socketUsable(dir); got != want {
			t.Errorf("socketUsable(%q) = %v", dir, got)
		}
	}
}
