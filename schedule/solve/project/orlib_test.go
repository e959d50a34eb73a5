package project

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// tardyInstance is one instance of the library's weighted tardiness sets.
type tardyInstance struct {
	problem Problem
	optimum int
}

// readTardy reads the set of so many activities: durations, weights and due
// dates of 125 instances, and their optima.
func readTardy(t testing.TB, n int) []tardyInstance {
	t.Helper()
	folder := dataFolder(t, "wt-orlib")
	size := strconv.Itoa(n)
	read := func(name string) []int {
		text, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		return ints(t, strings.Fields(string(text)))
	}
	figures, optima := read("wt"+size+".txt"), read("wtopt"+size+".txt")
	if len(figures) != 3*n*len(optima) || len(optima) != 125 {
		t.Fatalf("%d figures and %d optima of %d activities", len(figures), len(optima), n)
	}
	all := make([]tardyInstance, len(optima))
	for k, optimum := range optima {
		v := figures[3*n*k:]
		all[k] = tardyInstance{Problem{Capacities: []int{1}, Tardiness: true}, optimum}
		for i := range n {
			all[k].problem.Activities = append(all[k].problem.Activities, Activity{
				Duration: v[i], Weight: v[n+i], Due: v[2*n+i], Demands: []int{1},
			})
		}
	}
	return all
}

// TestSingleMachineTardiness holds sequences against the library's optima (Crauwels,
// Potts and Van Wassenhove 1998).
func TestSingleMachineTardiness(t *testing.T) {
	t.Parallel()
	for _, n := range []int{40, 50} {
		hits, gap, proved, all := 0, 0.0, 0, everyNth(readTardy(t, n), 5)
		for _, in := range all {
			in.problem.Budget, in.problem.Seed = 500, 1
			s, err := Solve(context.Background(), &in.problem)
			if err != nil {
				t.Fatal(err)
			}
			checkSchedule(t, &in.problem, s)
			if s.Value < in.optimum || s.Bound > in.optimum {
				t.Errorf("value %d and bound %d, but the optimum is %d", s.Value, s.Bound, in.optimum)
			}
			if s.Value == in.optimum {
				hits++
			}
			if s.Proved() {
				proved++
			}
			gap += float64(s.Value-in.optimum) / float64(max(1, in.optimum))
		}
		gap *= 100 / float64(len(all))
		t.Logf("wt%d at 500 schedules: %d of %d at the optimum, mean gap %.3f %%, %d proved", n, hits, len(all), gap, proved)
		if hits*100 < 95*len(all) || gap >= 0.1 {
			t.Errorf("wt%d: %d of %d at the optimum, mean gap %.3f %%", n, hits, len(all), gap)
		}
	}
}
