package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// module is what go list says of a package.
type module struct {
	ImportPath string
	Imports    []string
}

// layer ranks the folders: a package may import its own rank or a lower one.
var layer = map[string]int{"calc": 0, "schedule": 1, "migrations": 1, "orders": 2, "api": 3, "cmd": 4}

// never lists what a package must not import beside the layers: its own
// project's packages, or drivers it must not know.
var never = map[string][]string{
	"ripeline/calc":                 {"ripeline/", "net", "os", "time", "database/"},
	"ripeline/schedule":             {"net/http", "database/sql", "github.com/jackc/"},
	"ripeline/schedule/solve":       {"ripeline/", "net", "os", "database/"},
	"ripeline/schedule/solve/chain": {"ripeline/", "net", "os", "database/"},
	"ripeline/schedule/ical":        {"net/http"},
	"ripeline/orders":               {"net/http", "database/sql", "github.com/jackc/", "ripeline/orders/"},
	"ripeline/api":                  {"ripeline/api/", "github.com/jackc/", "ripeline/orders/postgres"},
	"ripeline/api/pages":            {"github.com/jackc/", "ripeline/orders/postgres"},
}

func packages(t *testing.T) []module {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "go", "list", "-json=ImportPath,Imports", "ripeline/...")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []module
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var m module
		if err := dec.Decode(&m); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatalf("go list answered what is not JSON: %v", err)
		}
		all = append(all, m)
	}
}

func folder(path string) string {
	first, _, _ := strings.Cut(strings.TrimPrefix(path, "ripeline/"), "/")
	return first
}

// TestImportsFlowOneWay holds the real imports against the architecture:
// cmd -> api -> orders -> schedule -> calc.
func TestImportsFlowOneWay(t *testing.T) {
	all := packages(t)
	if len(all) < len(layer) {
		t.Fatalf("go list found %d packages", len(all))
	}
	for _, m := range all {
		rank, known := layer[folder(m.ImportPath)]
		if !known {
			t.Errorf("%s lies in a folder the architecture does not know", m.ImportPath)
		}
		for _, imp := range m.Imports {
			if strings.HasPrefix(imp, "ripeline/") && layer[folder(imp)] > rank {
				t.Errorf("%s imports %s: imports flow cmd -> api -> orders -> schedule -> calc", m.ImportPath, imp)
			}
			for _, bad := range never[m.ImportPath] {
				if imp == bad || (strings.HasPrefix(imp, bad) && strings.HasSuffix(bad, "/")) {
					t.Errorf("%s must not import %s", m.ImportPath, imp)
				}
			}
		}
	}
}
