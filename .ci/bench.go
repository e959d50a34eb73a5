// Command bench runs every benchmark and writes what it reports as one table, to
// standard output and to testdata/bench.md. It holds nothing against a limit: what
// a benchmark is to reach stands beside it, for a person to compare.
//
//	go run .ci/bench.go [-bench REGEXP] [-benchtime 1s] [packages]
//
// Any benchmark becomes a row. What it reports by ReportMetric is shown as it is
// named: a unit of two parts, such as "p99-ms", is a name and a unit.
package main

import (
	"bufio"
	"bytes"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

const file = "testdata/bench.md"

func main() {
	pattern := flag.String("bench", ".", "which benchmarks")
	length := flag.String("benchtime", "1s", "how long each runs")
	flag.Parse()
	packages := flag.Args()
	if len(packages) == 0 {
		packages = []string{"./..."}
	}
	if err := run(*pattern, *length, packages); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func run(pattern, length string, packages []string) error {
	began := time.Now()
	args := append([]string{"test", "-run", "^$", "-bench", pattern, "-benchmem", "-benchtime", length, "-p", "1", "-timeout", "60m"}, packages...)
	command := exec.Command("go", args...)
	command.Stderr = os.Stderr
	out, err := command.StdoutPipe()
	if err != nil {
		return err
	}
	if err := command.Start(); err != nil {
		return fmt.Errorf("go test: %w", err)
	}
	found, err := read(out)
	if err := command.Wait(); err != nil {
		return fmt.Errorf("a benchmark failed, so %s stays as it was: %w", file, err)
	}
	if err != nil {
		return err
	}
	if len(found) == 0 {
		return fmt.Errorf("no benchmark is named like %q", pattern)
	}
	var text bytes.Buffer
	write(&text, found, time.Since(began))
	if _, err := os.Stdout.Write(text.Bytes()); err != nil {
		return err
	}
	if pattern != "." {
		return nil // a part is not the table
	}
	return os.WriteFile(file, text.Bytes(), 0o644)
}

// row is what one benchmark reported.
type row struct {
	name    string
	metrics map[string]float64 // by unit
}

// result is a line of a benchmark, in the format that golang.org/design/14313
// describes.
var result = regexp.MustCompile(`^Benchmark(\S+?)(?:-\d+)?\s+\d+\s+(.*)$`)

// read collects the benchmarks' lines and shows the others, and how far it is.
func read(out io.Reader) ([]row, error) {
	var found []row
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		parts := result.FindStringSubmatch(lines.Text())
		if parts == nil {
			if strings.Contains(lines.Text(), "FAIL") || strings.HasPrefix(lines.Text(), "    ") {
				fmt.Fprintln(os.Stderr, lines.Text())
			}
			continue
		}
		r := row{name: parts[1], metrics: map[string]float64{}}
		fields := strings.Fields(parts[2])
		for i := 0; i+1 < len(fields); i += 2 {
			value, err := strconv.ParseFloat(fields[i], 64)
			if err != nil {
				return nil, fmt.Errorf("read %q: %w", lines.Text(), err)
			}
			r.metrics[fields[i+1]] = value
		}
		found = append(found, r)
		fmt.Fprintln(os.Stderr, r.name)
	}
	return found, lines.Err()
}

// goals says what benchmarks are to reach, the first that fits; figures of others
// are marked as from memory.
var goals = []struct{ name, goal string }{
	{`(?i)j30\b.*\b1,?000$`, "best published about 0.10 % (Kolisch and Hartmann 2006, from memory)"},
	{`(?i)j30\b.*\b5,?000$`, "0.10 %; best published about 0.04 % (from memory)"},
	{`(?i)j30\b.*\b50,?000$`, "0.02 %; best published about 0.00–0.02 % (from memory)"},
	{`(?i)j60\b.*\b1,?000$`, "best published about 11.7 % (from memory)"},
	{`(?i)j60\b.*\b5,?000$`, "best published about 11.1 % (from memory)"},
	{`(?i)j60\b.*\b50,?000$`, "10.9 %; best published about 10.7 % (from memory)"},
	{`(?i)j120\b.*\b1,?000$`, "best published about 34.7 % (from memory)"},
	{`(?i)j120\b.*\b5,?000$`, "best published about 33.4 % (from memory)"},
	{`(?i)j120\b.*\b50,?000$`, "32.5 %; best published about 31.5 % (from memory)"},
	{`(?i)(ubo|lags)`, "all feasible ones solved, mean gap under 3 %"},
	{`(?i)wt(40|50)`, "95 % optimal, mean gap under 0.1 %"},
	{`^WorkshopDays`, "all optimal, 3 in 4 proved, 2 s each"},
	{`^PromiseMany`, "p99 5 ms"},
	{`^Plan/.*/1000$`, "1 s"},
	{`^Plan/.*/10000$`, "10 s, 300 MB"},
	{`^Growth`, "14 times"},
	{`^Reshuffle`, "100 ms"},
	{`^Confidence`, "2 s for 1,000 futures"},
}

func goal(name string) string {
	for _, g := range goals {
		if regexp.MustCompile(g.name).MatchString(name) {
			return g.goal
		}
	}
	return ""
}

func write(w io.Writer, found []row, took time.Duration) {
	fmt.Fprintf(w, `# Benchmarks

The last run of `+"`make bench`"+`: %s, %d cores (%s), %s/%s, %s in all. Timings vary with the machine and with what else it does.

| benchmark | time | memory | allocations | found | to reach |
|---|--:|--:|--:|---|---|
`, runtime.Version(), runtime.NumCPU(), processor(), runtime.GOOS, runtime.GOARCH, took.Round(time.Second))
	for _, r := range found {
		fmt.Fprintf(w, "| %s | %s | %s | %s | %s | %s |\n", r.name, r.time(), r.memory(), r.allocations(), r.others(), goal(r.name))
	}
}

// processor is the name of the processor, where the system tells it.
func processor() string {
	info, err := os.ReadFile("/proc/cpuinfo")
	if err != nil {
		return "unknown processor"
	}
	for line := range strings.Lines(string(info)) {
		if name, value, ok := strings.Cut(line, ":"); ok && strings.TrimSpace(name) == "model name" {
			return strings.TrimSpace(value)
		}
	}
	return "unknown processor"
}

func (r row) time() string {
	d := time.Duration(r.metrics["ns/op"])
	switch {
	case d >= time.Second:
		return fmt.Sprintf("%.2f s", d.Seconds())
	case d >= time.Millisecond:
		return fmt.Sprintf("%.3g ms", d.Seconds()*1e3)
	}
	return fmt.Sprintf("%.3g µs", d.Seconds()*1e6)
}

func (r row) memory() string {
	bytes, ok := r.metrics["B/op"]
	if !ok {
		return ""
	}
	return fmt.Sprintf("%.3g MB", bytes/(1<<20))
}

func (r row) allocations() string {
	n, ok := r.metrics["allocs/op"]
	if !ok {
		return ""
	}
	return strconv.FormatFloat(n, 'f', 0, 64)
}

// others is what the benchmark reports of its own.
func (r row) others() string {
	var out []string
	for unit, value := range r.metrics {
		if slices.Contains([]string{"ns/op", "B/op", "allocs/op"}, unit) {
			continue
		}
		number := strconv.FormatFloat(value, 'g', 4, 64)
		if value >= 1000 {
			number = strconv.FormatFloat(value, 'f', 0, 64)
		}
		if name, of, two := strings.Cut(unit, "-"); two {
			out = append(out, name+" "+number+" "+of)
		} else {
			out = append(out, number+" "+unit)
		}
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}
