package project

import (
	"context"
	"fmt"
	"os"
	"runtime"
	"testing"

	"golang.org/x/sync/errgroup"
)

// published are mean deviations in percent at 1,000, 5,000 and 50,000 schedules,
// the best in Kolisch and Hartmann's survey of 2006 (from memory): from the optimum
// for j30, from the critical-path bound for the others.
var published = map[string][3]float64{
	"j30":  {0.10, 0.04, 0.00},
	"j60":  {11.7, 11.1, 10.7},
	"j120": {34.7, 33.4, 31.5},
}

// wholeSets reports whether RIPELINE_BENCH asks for every instance of every set;
// otherwise samples are taken that end within about a minute.
func wholeSets() bool { return os.Getenv("RIPELINE_BENCH") == "full" }

// BenchmarkProjects runs the published sets and reports, beside the time, the mean
// deviation, what was published and how many of how many are proved optimal.
func BenchmarkProjects(b *testing.B) {
	for _, set := range []string{"j30", "j60", "j120"} {
		for k, budget := range []int{1000, 5000, 50_000} {
			b.Run(fmt.Sprintf("%s@%d", set, budget), func(b *testing.B) {
				all := readPSPLIB(b, set)
				if every := map[string][3]int{"j30": {2, 4, 8}, "j60": {6, 12, 48}, "j120": {12, 30, 120}}[set][k]; !wholeSets() {
					all = everyNth(all, every)
				}
				for b.Loop() {
					benchProjects(b, set, all, budget)
				}
				b.ReportMetric(published[set][k], "published-%")
			})
		}
	}
}

// everyNth keeps some of each class of a set.
func everyNth[T any](all []T, n int) []T {
	var kept []T
	for i := 0; i < len(all); i += n {
		kept = append(kept, all[i])
	}
	return kept
}

// benchProjects solves instances side by side; each by itself is one thread.
func benchProjects(b *testing.B, set string, all []psplibInstance, budget int) {
	b.Helper()
	found := make([]*Schedule, len(all))
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for k := range all {
		group.Go(func() error {
			p := all[k].problem
			p.Budget, p.Seed = budget, 1
			s, err := Solve(context.Background(), &p)
			found[k] = s
			return err
		})
	}
	if err := group.Wait(); err != nil {
		b.Fatal(err)
	}
	deviation, known, proved := 0.0, 0.0, 0
	for k, s := range found {
		in := &all[k]
		in.problem.Budget = budget
		checkSchedule(b, &in.problem, s)
		from := in.critical
		if set == "j30" {
			from = in.upper
		}
		deviation += 100 * float64(s.Value-from) / float64(from)
		known += 100 * float64(in.upper-from) / float64(from)
		if s.Proved() {
			proved++
		}
	}
	n := float64(len(all))
	b.ReportMetric(deviation/n, "deviation-%")
	b.ReportMetric(known/n, "best-known-%") // of the same instances
	b.ReportMetric(float64(proved), "proved")
	b.ReportMetric(n, "instances")
}

// BenchmarkTardiness runs the single-machine sets.
func BenchmarkTardiness(b *testing.B) {
	for _, n := range []int{40, 50} {
		b.Run(fmt.Sprintf("wt%d@500", n), func(b *testing.B) {
			all := readTardy(b, n)
			if !wholeSets() {
				all = everyNth(all, 5)
			}
			for b.Loop() {
				benchTardy(b, all)
			}
		})
	}
}

func benchTardy(b *testing.B, all []tardyInstance) {
	b.Helper()
	hits, gap := 0, 0.0
	for _, in := range all {
		in.problem.Budget, in.problem.Seed = 500, 1
		s, err := Solve(context.Background(), &in.problem)
		if err != nil {
			b.Fatal(err)
		}
		checkSchedule(b, &in.problem, s)
		if s.Value == in.optimum {
			hits++
		}
		gap += 100 * float64(s.Value-in.optimum) / float64(max(1, in.optimum))
	}
	b.ReportMetric(float64(hits), "optimal")
	b.ReportMetric(float64(len(all)), "instances")
	b.ReportMetric(gap/float64(len(all)), "deviation-%")
}
