package project

import (
	"context"
	"errors"
	"math/rand/v2"
	"reflect"
	"runtime"
	"testing"
)

// solved solves a problem and checks the schedule.
func solved(t testing.TB, p *Problem) *Schedule {
	t.Helper()
	s, err := Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	checkSchedule(t, p, s)
	return s
}

// TestProjects holds schedules of some instances of each published set against
// their best known bounds.
func TestProjects(t *testing.T) {
	t.Parallel()
	for _, set := range []string{"j30", "j60", "j120"} {
		all := readPSPLIB(t, set)
		for k := 0; k < len(all); k += len(all) / 16 {
			in := &all[k]
			in.problem.Budget, in.problem.Seed = 600, 1
			s := solved(t, &in.problem)
			if s.Value < in.lower || s.Bound > in.upper {
				t.Errorf("%s: value %d and bound %d, known are %d and %d", in.name, s.Value, s.Bound, in.upper, in.lower)
			}
			if excess := 100 * (s.Value - in.upper); excess > 15*in.upper {
				t.Errorf("%s: value %d, known is %d", in.name, s.Value, in.upper)
			}
		}
	}
}

// smallProblem draws a problem of few activities without maximum lags.
func smallProblem(random *rand.Rand, tardiness bool) *Problem {
	p := &Problem{Capacities: []int{1 + random.IntN(3), 1 + random.IntN(3)}, Tardiness: tardiness, Budget: 3000}
	n := 2 + random.IntN(4)
	for i := range n {
		p.Activities = append(p.Activities, Activity{
			Duration: random.IntN(4), Due: random.IntN(6), Weight: random.IntN(4),
			Demands: []int{random.IntN(p.Capacities[0] + 1), random.IntN(p.Capacities[1] + 1)},
		})
		for from := range i {
			if random.IntN(4) == 0 {
				p.Lags = append(p.Lags, Lag{from, i, random.IntN(5)})
			}
		}
	}
	return p
}

// leastByTrial is the least value over all starts up to the sum of all durations
// and lags, within which some best schedule lies.
func leastByTrial(p *Problem) int {
	horizon, least := 0, 1<<30
	for _, a := range p.Activities {
		horizon += a.Duration
	}
	for _, l := range p.Lags {
		horizon += l.Min
	}
	var try func(starts []int, used [][2]int)
	try = func(starts []int, used [][2]int) {
		i := len(starts)
		if i == len(p.Activities) {
			end, late := 0, 0
			for k, a := range p.Activities {
				end, late = max(end, starts[k]+a.Duration), late+a.Weight*max(0, starts[k]+a.Duration-a.Due)
			}
			if p.Tardiness {
				end = late
			}
			least = min(least, end)
			return
		}
		for at := 0; at+p.Activities[i].Duration <= horizon && (p.Tardiness || at+p.Activities[i].Duration < least); at++ {
			if next, ok := placedByTrial(p, append(starts[:i:i], at), used); ok {
				try(append(starts[:i:i], at), next)
			}
		}
	}
	try(nil, make([][2]int, horizon+1))
	return least
}

// placedByTrial adds the last of the starts to what is used of two resources.
func placedByTrial(p *Problem, starts []int, used [][2]int) ([][2]int, bool) {
	i := len(starts) - 1
	for _, l := range p.Lags {
		if l.To == i && starts[i] < starts[l.From]+l.Min {
			return nil, false
		}
	}
	used = append([][2]int{}, used...)
	for at := starts[i]; at < starts[i]+p.Activities[i].Duration; at++ {
		for r, d := range p.Activities[i].Demands {
			if used[at][r] += d; used[at][r] > p.Capacities[r] {
				return nil, false
			}
		}
	}
	return used, true
}

// TestSmallProblems compares with all starts there can be.
func TestSmallProblems(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(1, 2))
	for k := range 150 {
		p := smallProblem(random, k%2 == 1)
		s, least := solved(t, p), leastByTrial(p)
		if s.Value != least || s.Bound > least {
			t.Fatalf("value %d and bound %d, the least is %d: %+v", s.Value, s.Bound, least, *p)
		}
	}
}

// TestSameTwice solves again, on one processor.
func TestSameTwice(t *testing.T) { //nolint:paralleltest // it changes the number of processors
	in := readPSPLIB(t, "j60")[40]
	in.problem.Budget, in.problem.Seed = 1500, 3
	late := smallProblem(rand.New(rand.NewPCG(5, 5)), true)
	for _, p := range []*Problem{&in.problem, late, &readTardy(t, 40)[7].problem} {
		p.Budget = min(max(p.Budget, 200), 1500)
		first := solved(t, p)
		before := runtime.GOMAXPROCS(1)
		second := solved(t, p)
		runtime.GOMAXPROCS(before)
		if !reflect.DeepEqual(first, second) {
			t.Errorf("the second run gives %+v after %+v", second, first)
		}
	}
}

// TestManyUnits has more units and resources than one word of lanes takes.
func TestManyUnits(t *testing.T) {
	t.Parallel()
	p := &Problem{Capacities: []int{1 << 20, 3, 5}, Budget: 100}
	for range 4 {
		p.Activities = append(p.Activities, Activity{Duration: 2, Demands: []int{1 << 19, 1, 2}})
	}
	if s := solved(t, p); s.Value != 4 || !s.Proved() {
		t.Errorf("the schedule is %+v", s)
	}
}

func TestTardyUnderMaximumLags(t *testing.T) {
	t.Parallel()
	p := &Problem{
		Capacities: []int{1}, Tardiness: true, Budget: 100,
		Activities: []Activity{{Duration: 2, Demands: []int{1}, Weight: 1}, {Duration: 1, Demands: []int{1}, Due: 1, Weight: 3}},
		Lags:       []Lag{{0, 1, 2}, {1, 0, -3}},
	}
	if s := solved(t, p); s.Value != 8 || !s.Proved() {
		t.Errorf("the schedule is %+v", s)
	}
}

func TestCancelled(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, tardiness := range []bool{false, true} {
		p := smallProblem(rand.New(rand.NewPCG(4, 4)), tardiness)
		p.Activities[0].Weight, p.Activities[0].Duration, p.Activities[0].Due = 1, 3, 0
		if _, err := Solve(ctx, p); !errors.Is(err, context.Canceled) {
			t.Errorf("cancelled, Solve returns %v", err)
		}
	}
}
