package project

import (
	"archive/tar"
	"compress/gzip"
	"encoding/csv"
	"errors"
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// dataFolder is where a published data set lies; tests skip without it.
func dataFolder(t testing.TB, name string) string {
	t.Helper()
	data := os.Getenv("RIPELINE_DATA")
	if data == "" {
		data = filepath.Join("..", "..", "..", "..", "shared", "data")
	}
	folder := filepath.Join(data, "or", name)
	if _, err := os.Stat(folder); errors.Is(err, os.ErrNotExist) {
		t.Skipf("no instances in %s: set RIPELINE_DATA", folder)
	}
	return folder
}

// psplibInstance is one instance of Kolisch and Sprecher's library.
type psplibInstance struct {
	name         string
	problem      Problem
	lower, upper int // best known bounds; equal where the optimum is proved
	critical     int // critical-path bound
}

// readPSPLIB reads a set such as j30, in the order of the table of best values.
func readPSPLIB(t testing.TB, set string) []psplibInstance {
	t.Helper()
	folder := dataFolder(t, "psplib")
	texts := untar(t, filepath.Join(folder, set+".sm.tar.gz"))
	table, err := os.Open(filepath.Join(folder, set+"_best.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = table.Close() }()
	rows, err := csv.NewReader(table).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var all []psplibInstance
	for _, row := range rows[1:] {
		numbers := ints(t, row[1:])
		all = append(all, psplibInstance{row[0], parsePSPLIB(t, texts[row[0]]), numbers[0], numbers[1], numbers[3]})
	}
	return all
}

// untar reads the files of an archive by their base names.
func untar(t testing.TB, name string) map[string]string {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	zipped, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	texts := map[string]string{}
	archive := tar.NewReader(zipped)
	for {
		head, err := archive.Next()
		if errors.Is(err, io.EOF) {
			return texts
		}
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(archive)
		if err != nil {
			t.Fatal(err)
		}
		texts[path.Base(head.Name)] = string(text)
	}
}

// parsePSPLIB reads one instance; the dummy first and last activities stay in.
func parsePSPLIB(t testing.TB, text string) Problem {
	t.Helper()
	var p Problem
	sections := strings.Split(text, "****\n")
	row := func(line string) []int {
		if strings.ContainsFunc(line, func(r rune) bool { return r >= 'A' && r <= 'z' || r == '-' || r == '*' }) {
			return nil
		}
		return ints(t, strings.Fields(line))
	}
	for _, part := range sections {
		for line := range strings.Lines(part) {
			v := row(line)
			switch {
			case len(v) == 0:
			case strings.HasPrefix(part, "PRECEDENCE"):
				for _, to := range v[3:] {
					p.Lags = append(p.Lags, Lag{From: v[0] - 1, To: to - 1})
				}
			case strings.HasPrefix(part, "REQUESTS"):
				p.Activities = append(p.Activities, Activity{Duration: v[2], Demands: v[3:]})
			case strings.HasPrefix(part, "RESOURCEAVAIL"):
				p.Capacities = v
			}
		}
	}
	for k, l := range p.Lags {
		p.Lags[k].Min = p.Activities[l.From].Duration
	}
	if len(p.Activities) == 0 || len(p.Capacities) == 0 || !slices.ContainsFunc(p.Lags, func(l Lag) bool { return l.To == len(p.Activities)-1 }) {
		t.Fatal("an instance was not read")
	}
	return p
}

// ints reads whole numbers.
func ints(t testing.TB, words []string) []int {
	t.Helper()
	numbers := make([]int, len(words))
	for i, word := range words {
		v, err := strconv.Atoi(word)
		if err != nil {
			t.Fatal(err)
		}
		numbers[i] = v
	}
	return numbers
}
