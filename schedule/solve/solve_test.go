package solve

import (
	"context"
	"errors"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
)

// machine is a problem of single tasks on one machine that is always open, in
// cells of one minute, each task its own goal.
func machine(budget int, jobs ...[3]int) *Problem {
	p := &Problem{Resources: []Resource{{Capacity: 1}}, Budget: budget}
	for t := range 2000 {
		p.Grid = append(p.Grid, t)
	}
	for i, job := range jobs {
		length, due, weight := job[0], job[1], job[2]
		p.Jobs = append(p.Jobs, Job{Due: due, Modes: []Mode{{Tasks: []Task{{
			Calendar: Always, Duration: length, Uses: []Use{{Resource: 0, Amount: 1}},
		}}}}})
		p.Goals = append(p.Goals, Goal{Jobs: []int{i}, Due: due, Weight: weight, Told: Never})
	}
	return p
}

func solved(t *testing.T, p *Problem) *Schedule {
	t.Helper()
	s, err := Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestEarliestDueDate: where all can be in time, the order of due dates shows it
// (Jackson 1955). The jobs are of our own making.
func TestEarliestDueDate(t *testing.T) {
	jobs := [][3]int{{4, 4, 1}, {3, 7, 1}, {6, 13, 1}, {2, 15, 1}, {5, 20, 1}}
	s := solved(t, machine(1, jobs...))
	if s.Objective.Late != 0 {
		t.Errorf("by due date nothing is late, but %d jobs are", s.Objective.Late)
	}
}

// exhaustive tries all orders of jobs on one machine for the least weighted
// number of late jobs, and among those the least weighted tardiness.
func exhaustive(jobs [][3]int) (late, tardiness int) {
	late = 1 << 30
	var try func(rest [][3]int, now, l, w int)
	try = func(rest [][3]int, now, l, w int) {
		if len(rest) == 0 {
			if l < late || l == late && w < tardiness {
				late, tardiness = l, w
			}
			return
		}
		for i, job := range rest {
			end, dl, dw := now+job[0], 0, 0
			if end > job[1] {
				dl, dw = job[2], job[2]*(end-job[1])
			}
			try(append(slices.Clone(rest[:i]), rest[i+1:]...), end, l+dl, w+dw)
		}
	}
	try(jobs, 0, 0, 0)
	return late, tardiness
}

// mooreHodgson is the least number of late jobs on one machine by the rule of
// Moore (Management Science 15, 1968, with Hodgson's simplification), from
// memory: by due date, and whenever one is late, send back the longest so far.
func mooreHodgson(jobs [][3]int) int {
	jobs = slices.Clone(jobs)
	slices.SortFunc(jobs, func(a, b [3]int) int { return a[1] - b[1] })
	var kept []int
	now, late := 0, 0
	for _, job := range jobs {
		kept = append(kept, job[0])
		now += job[0]
		if now > job[1] {
			longest := slices.Index(kept, slices.Max(kept))
			now -= kept[longest]
			kept = slices.Delete(kept, longest, longest+1)
			late++
		}
	}
	return late
}

// TestMooreHodgson compares the search with the rule, on jobs of equal weight.
func TestMooreHodgson(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 30 {
		var jobs [][3]int
		for range 12 {
			length := 1 + random.IntN(10)
			jobs = append(jobs, [3]int{length, length + random.IntN(40), 1})
		}
		slices.SortFunc(jobs, func(a, b [3]int) int { return a[1] - b[1] })
		if got, want := solved(t, machine(2000, jobs...)).Objective.Late, mooreHodgson(jobs); got != want {
			t.Errorf("%v: %d late, %d by the rule", jobs, got, want)
		}
	}
}

// TestSmallMachines compares the search with all orders there are.
func TestSmallMachines(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 40 {
		var jobs [][3]int
		for range 6 {
			length := 1 + random.IntN(9)
			jobs = append(jobs, [3]int{length, length + random.IntN(20), 1 + random.IntN(3)})
		}
		slices.SortFunc(jobs, func(a, b [3]int) int { return a[1] - b[1] })
		late, tardiness := exhaustive(jobs)
		if o := solved(t, machine(3000, jobs...)).Objective; o.Late != late || o.Tardiness != tardiness {
			t.Errorf("%v: %d late by %d, at best %d by %d", jobs, o.Late, o.Tardiness, late, tardiness)
		}
	}
}

// chain is a job of two tasks, the second between 10 and 15 minutes after the
// first, holding resource 1 in between.
func chain() Job {
	return Job{Due: Never, Modes: []Mode{{
		Tasks: []Task{
			{Calendar: 0, Duration: 5, Uses: []Use{{Resource: 0, Amount: 1}}},
			{Calendar: 0, Duration: 5, Uses: []Use{{Resource: 0, Amount: 1}}},
		},
		Lags:  []Lag{{From: 0, To: 1, Min: 10, Max: 15}},
		Spans: []Span{{Resource: 1, Amount: 1, From: 0, To: 1}},
	}}}
}

// TestMaximumLag has closed time that the second task would fall into: the first
// has to wait, and a second job waits for the resource held between.
func TestMaximumLag(t *testing.T) {
	p := &Problem{
		Grid: []Time{0, 1000}, Calendars: [][]Window{{{0, 12}, {60, 200}}}, Budget: 1,
		Resources: []Resource{{Capacity: 1}, {Capacity: 1}}, Jobs: []Job{chain(), chain()},
	}
	s := solved(t, p)
	if got, want := s.Jobs[0].Starts, []Time{60, 75}; !slices.Equal(got, want) {
		t.Errorf("first job starts at %v, want %v", got, want)
	}
	if got, want := s.Jobs[1].Starts, []Time{80, 95}; !slices.Equal(got, want) {
		t.Errorf("second job starts at %v, want %v", got, want)
	}
	if s.Jobs[0].Causes[0].Kind != ByMaxLag {
		t.Errorf("the first task waits because of %v", s.Jobs[0].Causes[0].Kind)
	}
}

// TestNoPlace: a job that can not be placed is left out, and its goal counts as
// late by Unplaced.
func TestNoPlace(t *testing.T) {
	p := machine(5, [3]int{4, 4, 2})
	p.Jobs[0].Modes[0].Tasks[0].Uses[0].Amount = 2
	s := solved(t, p)
	if s.Jobs[0] != nil || s.Objective.Late != 2 || s.Objective.Tardiness != 2*Unplaced || s.Objective.Unplaced != 1 {
		t.Errorf("placed %v, objective %+v", s.Jobs[0], s.Objective)
	}
}

// TestLatest: the last release found is in time, and a minute later is not.
func TestLatest(t *testing.T) {
	p := machine(1, [3]int{30, 200, 1}, [3]int{20, 300, 1})
	p.Resources[0].Taken = []Reservation{{From: 100, To: 120, Amount: 1}}
	s := solved(t, p)
	job := p.Jobs[0]
	job.Due = 140
	at, ok := s.Latest(job)
	if !ok || at != 70 {
		t.Errorf("the last release is %d (%v), want 70: the machine is taken from 100 to 120", at, ok)
	}
	job.Due = 20
	if at, ok := s.Latest(job); ok {
		t.Errorf("released at %d it can not be in time", at)
	}
	job.Due = 200
	if at, ok := s.Latest(job, job); !ok || at != 140 {
		t.Errorf("two are in time from %d (%v), want 140: one after the other", at, ok)
	}
}

// TestWithout gives back all a job holds.
func TestWithout(t *testing.T) {
	p := machine(1, [3]int{30, 200, 1}, [3]int{20, 300, 1})
	s := solved(t, p)
	if pl := s.Without(0).board.place(&p.Jobs[0], p.Jobs[0].Release, true); !slices.Equal(pl.Starts, s.Jobs[0].Starts) {
		t.Errorf("put back, the job starts at %v instead of %v", pl.Starts, s.Jobs[0].Starts)
	}
}

// TestProfile compares a profile with plain counters.
func TestProfile(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	p, plain := newProfile(Resource{Capacity: 3}), make([]int, 100)
	for range 300 {
		from := random.IntN(99)
		to := from + 1 + random.IntN(100-from)
		amount := random.IntN(5) - 2
		p.add(from, to, amount)
		for i := from; i < to && i < 100; i++ {
			plain[i] += amount
		}
		need := 1 + random.IntN(3)
		_, free, found := p.blocked(from, min(to, 100), need)
		want := false
		for i := from; i < min(to, 100); i++ {
			want = want || plain[i]+need > 3
		}
		if found != want || found && free < 100 && plain[free]+need > 3 {
			t.Fatalf("blocked over [%d, %d) is %v with %d free next, want %v in %v", from, to, found, free, want, plain)
		}
	}
}

func TestSameAgain(t *testing.T) {
	var jobs [][3]int
	random := rand.New(rand.NewPCG(9, 9))
	for range 20 {
		jobs = append(jobs, [3]int{1 + random.IntN(9), 10 + random.IntN(50), 1 + random.IntN(3)})
	}
	a, b := solved(t, machine(500, jobs...)), solved(t, machine(500, jobs...))
	if !reflect.DeepEqual(a.Jobs, b.Jobs) {
		t.Error("two runs give two schedules")
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Solve(ctx, machine(500, [3]int{5, 1, 1}, [3]int{5, 1, 1})); !errors.Is(err, context.Canceled) {
		t.Errorf("a cancelled search returns %v", err)
	}
}

func TestMalformed(t *testing.T) {
	for name, spoil := range map[string]func(*Problem){
		"no grid":         func(p *Problem) { p.Grid = nil },
		"no mode":         func(p *Problem) { p.Jobs[0].Modes = nil },
		"no task":         func(p *Problem) { p.Jobs[0].Modes[0].Tasks = nil },
		"linked to later": func(p *Problem) { p.Jobs[0].After = []Link{{Job: 1}} },
	} {
		p := machine(1, [3]int{5, 1, 1}, [3]int{5, 1, 1})
		spoil(p)
		if _, err := Solve(context.Background(), p); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
