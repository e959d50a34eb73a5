package project

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"
)

// checkLags finds what a schedule breaks: a lag, a capacity at any time, or the
// value it claims.
func checkLags(p *Problem, s *Schedule) error {
	end := 0
	for i, a := range p.Activities {
		if s.Starts[i] < 0 {
			return fmt.Errorf("activity %d starts at %d", i, s.Starts[i])
		}
		end = max(end, s.Starts[i]+a.Duration)
	}
	for _, l := range p.Lags {
		if s.Starts[l.To] < s.Starts[l.From]+l.Min {
			return fmt.Errorf("starts %d and %d break the lag %v", s.Starts[l.From], s.Starts[l.To], l)
		}
	}
	for t := range end {
		for r, left := range p.Capacities {
			for i, a := range p.Activities {
				if r < len(a.Demands) && s.Starts[i] <= t && t < s.Starts[i]+a.Duration {
					left -= a.Demands[r]
				}
			}
			if left < 0 {
				return fmt.Errorf("at %d resource %d lacks %d", t, r, -left)
			}
		}
	}
	if s.Value != end || s.Bound > s.Value {
		return fmt.Errorf("value %d and bound %d of a schedule that ends at %d", s.Value, s.Bound, end)
	}
	return nil
}

// tinyLags is a random problem small enough to try every schedule; about half
// have none.
func tinyLags(r *rand.Rand) *Problem {
	p := &Problem{Budget: 100_000, Seed: r.Uint64()}
	for range 1 + r.IntN(2) {
		p.Capacities = append(p.Capacities, 1+r.IntN(4))
	}
	n := 1 + r.IntN(5)
	for range n {
		a := Activity{Duration: r.IntN(4)}
		for _, c := range p.Capacities[:r.IntN(len(p.Capacities)+1)] {
			a.Demands = append(a.Demands, r.IntN(c+1))
		}
		p.Activities = append(p.Activities, a)
	}
	for range r.IntN(2 * n) {
		p.Lags = append(p.Lags, Lag{r.IntN(n), r.IntN(n), r.IntN(8) - 4})
	}
	return p
}

// bruteLags tries every schedule up to a length that is enough for any; -1 when
// there is none.
func bruteLags(p *Problem) int {
	long := 0
	for _, a := range p.Activities {
		long += a.Duration
	}
	for _, l := range p.Lags {
		long += max(l.Min, 0)
	}
	s := &Schedule{Starts: make([]int, len(p.Activities))}
	best := -1
	var place func(i, end int)
	place = func(i, end int) {
		if best >= 0 && end >= best {
			return
		}
		if i == len(p.Activities) {
			if s.Value, s.Bound = end, end; checkLags(p, s) == nil {
				best = end
			}
			return
		}
		for t := range long + 1 {
			s.Starts[i] = t
			if lagsSoFar(p, s.Starts[:i+1]) {
				place(i+1, max(end, t+p.Activities[i].Duration))
			}
		}
	}
	place(0, 0)
	return best
}

func lagsSoFar(p *Problem, starts []int) bool {
	for _, l := range p.Lags {
		if max(l.From, l.To) < len(starts) && starts[l.To] < starts[l.From]+l.Min {
			return false
		}
	}
	return true
}

// TestLagsBrute holds the solver against every schedule of tiny problems.
func TestLagsBrute(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	feasible, infeasible := 0, 0
	for k := range 1500 {
		p := tinyLags(r)
		best := bruteLags(p)
		s, err := solveLags(context.Background(), p)
		if best < 0 {
			infeasible++
			if !errors.Is(err, ErrInfeasible) {
				t.Fatalf("problem %d %+v: got %+v, %v; there is no schedule", k, p, s, err)
			}
			continue
		}
		feasible++
		if err != nil || s.Value != best || !s.Proved() {
			t.Fatalf("problem %d %+v: got %+v, %v; the best is %d", k, p, s, err, best)
		}
		if err := checkLags(p, s); err != nil {
			t.Fatalf("problem %d %+v: %v", k, p, err)
		}
	}
	if feasible < 300 || infeasible < 300 {
		t.Errorf("%d feasible and %d infeasible problems: too few to tell", feasible, infeasible)
	}
}

// TestLagsAgain asks the same twice.
func TestLagsAgain(t *testing.T) {
	for _, c := range lagSet(t, "testset_ubo50")[:12] {
		c.problem.Budget = 300
		first, errFirst := solveLags(context.Background(), c.problem)
		second, errSecond := solveLags(context.Background(), c.problem)
		if !reflect.DeepEqual(first, second) || !errors.Is(errSecond, errFirst) {
			t.Errorf("%s: %v (%v), then %v (%v)", c.name, first, errFirst, second, errSecond)
		}
	}
}

// TestLagsCancelled stops at a context that is over.
func TestLagsCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	p := &Problem{Activities: []Activity{{Duration: 1}}, Budget: 10}
	if s, err := solveLags(ctx, p); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, %v", s, err)
	}
}
