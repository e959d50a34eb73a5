package project

import (
	"context"
	"errors"
	"os"
	"testing"
)

// lagTally sums up what became of a set.
type lagTally struct {
	feasible, solved, infeasible, refuted, proved, open int
	gap                                                 float64
}

// lagRun solves every k-th instance and holds each answer against what is known.
func lagRun(t testing.TB, set string, every, budget int) lagTally {
	t.Helper()
	var sum lagTally
	for i, c := range lagSet(t, set) {
		if i%every != 0 {
			continue
		}
		if c.infeasible {
			sum.infeasible++
		} else {
			sum.feasible++
		}
		p := *c.problem
		p.Budget = budget
		s, err := Solve(context.Background(), &p)
		switch {
		case errors.Is(err, ErrNotFound):
			sum.open++
		case errors.Is(err, ErrInfeasible):
			if sum.refuted++; !c.infeasible {
				t.Errorf("%s/%s: refused, and %d is known", set, c.name, c.upper)
			}
		case err != nil:
			t.Fatal(err)
		default:
			sum.solved++
			sum.add(t, c, s)
		}
	}
	return sum
}

func (sum *lagTally) add(t testing.TB, c lagCase, s *Schedule) {
	t.Helper()
	if err := checkLags(c.problem, s); err != nil {
		t.Errorf("%s: %v", c.name, err)
	}
	if c.infeasible || s.Value < c.lower || s.Bound > c.upper {
		t.Errorf("%s: %d with bound %d, known are %d..%d", c.name, s.Value, s.Bound, c.lower, c.upper)
		return
	}
	sum.gap += 100 * float64(s.Value-c.upper) / float64(c.upper)
	if s.Proved() {
		sum.proved++
	}
}

// TestLagsSets holds a sample of the published instances against what is known
// of them: every feasible one is solved, every infeasible one recognised.
func TestLagsSets(t *testing.T) {
	for set, want := range map[string]struct {
		every  int
		proved float64 // share of the feasible
		gap    float64 // mean, in percent of the best known
	}{
		"sm_j10":         {3, 1, 0},
		"sm_j20":         {5, 0.9, 1},
		"sm_j30":         {9, 0.75, 2},
		"testset_ubo10":  {1, 1, 0},
		"testset_ubo20":  {1, 1, 0},
		"testset_ubo50":  {5, 0.8, 2},
		"testset_ubo100": {9, 0.7, 3},
	} {
		t.Run(set, func(t *testing.T) {
			sum := lagRun(t, set, want.every, 2000)
			if sum.solved != sum.feasible || sum.refuted != sum.infeasible {
				t.Errorf("%d of %d solved, %d of %d refuted", sum.solved, sum.feasible, sum.refuted, sum.infeasible)
			}
			if float64(sum.proved) < want.proved*float64(sum.feasible) || sum.gap > want.gap*float64(sum.feasible) {
				t.Errorf("%d of %d proved, mean gap %.2f%%", sum.proved, sum.feasible, sum.gap/float64(sum.feasible))
			}
		})
	}
}

// BenchmarkLags solves the published sets: every tenth instance, or all with
// RIPELINE_BENCH=full.
func BenchmarkLags(b *testing.B) {
	every := 10
	if os.Getenv("RIPELINE_BENCH") == "full" {
		every = 1
	}
	for _, set := range []string{
		"sm_j10", "sm_j20", "sm_j30",
		"testset_ubo10", "testset_ubo20", "testset_ubo50", "testset_ubo100", "testset_ubo200",
	} {
		b.Run(set, func(b *testing.B) {
			var sum lagTally
			for b.Loop() {
				sum = lagRun(b, set, every, 10_000)
			}
			solved, all := float64(max(1, sum.solved)), float64(sum.feasible+sum.infeasible)
			b.ReportMetric(100*float64(sum.solved)/float64(max(1, sum.feasible)), "%-solved")
			b.ReportMetric(100*float64(sum.refuted)/float64(max(1, sum.infeasible)), "%-refuted")
			b.ReportMetric(float64(sum.open), "open")
			b.ReportMetric(sum.gap/solved, "%-gap")
			b.ReportMetric(100*float64(sum.proved)/solved, "%-proved")
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N)/all, "ms/instance")
		})
	}
}
