package localpg

import (
	"path/filepath"
	"testing"
)

// checkAttach finds the running server of a directory.
func checkAttach(t *testing.T, s *Server, dir string) {
	t.Helper()
	running, ok := Attach(dir)
	if !ok {
		t.Fatal("no server found")
	}
	for _, role := range []string{OwnerRole, AppRole} {
		if got, want := running.URL(Database, role), s.URL(Database, role); got != want {
			t.Errorf("URL = %s, want %s", got, want)
		}
	}
}

// checkDetached expects no server on a directory.
func checkDetached(t *testing.T, dir string) {
	t.Helper()
	if found, ok := Attach(dir); ok {
		t.Errorf("found a server on %s: %+v", dir, found)
	}
}

func TestAttachToNothing(t *testing.T) {
	t.Parallel()
	checkDetached(t, filepath.Join(t.TempDir(), "none"))
	checkDetached(t, t.TempDir())
}

func TestParseTenancy(t *testing.T) {
	t.Parallel()
	for content, want := range map[string]tenancy{
		"":                   {},
		"12\n":               {},
		"12\n34":             {},
		"12\n34\n":           {parent: 12, server: 34},
		"12\n0\n\n":          {parent: 12},
		"12\n34\n/a b/s\n":   {parent: 12, server: 34, socketDir: "/a b/s"},
		"12\n34\n/a\nb\n":    {parent: 12, server: 34, socketDir: "/a\nb"},
		"soap\nand\nwater\n": {},
	} {
		if got := parseTenancy(content); got != want {
			t.Errorf("parseTenancy(%q) = %+v, want %+v", content, got, want)
		}
	}
}
