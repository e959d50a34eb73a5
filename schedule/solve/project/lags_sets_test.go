package project

import (
	"archive/tar"
	"bufio"
	"bytes"
	"cmp"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// lagCase is a published instance with what is known of it.
type lagCase struct {
	name         string
	problem      *Problem
	infeasible   bool
	lower, upper int // bounds of the least makespan
}

// lagSet reads one of the archives of rcpsp-max.
func lagSet(t testing.TB, set string) []lagCase {
	t.Helper()
	data := os.Getenv("RIPELINE_DATA")
	if data == "" {
		data = filepath.Join("..", "..", "..", "..", "shared", "data")
	}
	path := filepath.Join(data, "or", "rcpsp-max", set+".tar.gz")
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		t.Skipf("no %s: set RIPELINE_DATA", path)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	})
	zipped, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	cases, known := map[string]*Problem{}, map[string]string{}
	for files := tar.NewReader(zipped); ; {
		h, err := files.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(files)
		if err != nil {
			t.Fatal(err)
		}
		name := strings.ToLower(filepath.Base(h.Name))
		switch {
		case strings.HasSuffix(name, ".sch"):
			if cases[name], err = readLags(text); err != nil {
				t.Fatalf("%s: %v", h.Name, err)
			}
		case name == "optimum.csv":
			for _, line := range strings.Fields(strings.ToLower(string(text))) {
				instance, value, _ := strings.Cut(line, ",")
				known[instance] = value
			}
		}
	}
	return knownCases(t, cases, known)
}

func knownCases(t testing.TB, problems map[string]*Problem, known map[string]string) []lagCase {
	var out []lagCase
	for name, p := range problems {
		value, ok := known[name]
		if !ok {
			t.Fatalf("nothing is known of %s", name)
		}
		c := lagCase{name: name, problem: p, infeasible: value == "unsat"}
		if !c.infeasible {
			least, most, open := strings.Cut(value, "..")
			if !open {
				most = least
			}
			var errs [2]error
			c.lower, errs[0] = strconv.Atoi(least)
			c.upper, errs[1] = strconv.Atoi(most)
			if err := errors.Join(errs[:]...); err != nil {
				t.Fatal(err)
			}
		}
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b lagCase) int {
		return cmp.Or(cmp.Compare(len(a.name), len(b.name)), cmp.Compare(a.name, b.name))
	})
	return out
}

// readLags reads the ProGen/max form: the counts, a line for each activity with
// its successors and their lags, one with its duration and demands, and the
// capacities. The two that only mark the start and the end are kept.
func readLags(text []byte) (*Problem, error) {
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, 1<<20)
	row := func() []int {
		for lines.Scan() {
			if fields := strings.Fields(lines.Text()); len(fields) > 0 {
				var out []int
				for _, f := range fields {
					v, err := strconv.Atoi(strings.Trim(f, "[]"))
					if err != nil {
						return nil
					}
					out = append(out, v)
				}
				return out
			}
		}
		return nil
	}
	head := row()
	if len(head) < 2 {
		return nil, fmt.Errorf("no counts")
	}
	n := head[0] + 2
	p := &Problem{Activities: make([]Activity, n), Budget: 1}
	for i := range n {
		r := row()
		if len(r) < 3 || r[0] != i || len(r) != 3+2*r[2] {
			return nil, fmt.Errorf("activity %d: successors %v", i, r)
		}
		for k := range r[2] {
			p.Lags = append(p.Lags, Lag{i, r[3+k], r[3+r[2]+k]})
		}
	}
	for i := range n {
		r := row()
		if len(r) != 3+head[1] || r[0] != i {
			return nil, fmt.Errorf("activity %d: demands %v", i, r)
		}
		p.Activities[i] = Activity{Duration: r[2], Demands: r[3:]}
	}
	if p.Capacities = row(); len(p.Capacities) != head[1] {
		return nil, fmt.Errorf("capacities %v", p.Capacities)
	}
	return p, nil
}
