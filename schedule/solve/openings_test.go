package solve

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
)

// crowded is a random problem of chains of three tasks through hours, with hands,
// two kinds of unit and a store, some of which are taken.
func crowded(r *rand.Rand) *Problem {
	p := &Problem{Start: r.IntN(100), Budget: 1}
	for day := range 60 {
		p.Grid = append(p.Grid, day*100)
	}
	for range 2 {
		var windows []Window
		for at := r.IntN(40); at < 5000; at += 1 + r.IntN(150) {
			to := at + 1 + r.IntN(60)
			windows = append(windows, Window{at, to})
			at = to
		}
		p.Calendars = append(p.Calendars, windows)
	}
	for _, capacity := range []int{1 + r.IntN(2), 2, 2, 30} {
		res := Resource{Capacity: capacity}
		for range r.IntN(4) {
			from := r.IntN(3000)
			res.Taken = append(res.Taken, Reservation{from, from + r.IntN(400), 1 + r.IntN(2)})
		}
		p.Resources = append(p.Resources, res)
	}
	for i := range 2 + r.IntN(12) {
		p.Jobs = append(p.Jobs, Job{Release: r.IntN(500), Due: r.IntN(4000), Modes: []Mode{crowdedMode(r), crowdedMode(r)}})
		p.Goals = append(p.Goals, Goal{Jobs: []int{i}, Due: p.Jobs[i].Due, Weight: 1, Told: Never})
	}
	return p
}

func crowdedMode(r *rand.Rand) Mode {
	task := func() Task { return Task{Calendar: r.IntN(2), Duration: 1 + r.IntN(25), Uses: []Use{{0, 1}}} }
	m := Mode{Tasks: []Task{task(), task(), task()}, Cost: r.IntN(3)}
	if r.IntN(2) == 0 {
		m.Tasks[2].Units, m.Tasks[2].UnitSeconds = r.IntN(20), r.IntN(400)
	}
	most := 30 + r.IntN(200)
	m.Lags = []Lag{{From: 0, To: 1, Min: r.IntN(30), Max: most}, {From: 1, To: 2, Cells: true, Min: r.IntN(6), Max: -1}}
	if r.IntN(2) == 0 {
		m.Lags[0] = Lag{From: 0, To: 1, Cells: true, Min: r.IntN(2), Max: 1 + r.IntN(3)}
	}
	m.Lags[1].Wish = m.Lags[1].Min + r.IntN(4)
	m.Spans = []Span{
		{Resource: 1, Amount: 1 + r.IntN(2), From: 0, To: 1, Tail: r.IntN(20)},
		{Resource: 2, Amount: 1, From: 0, To: 1},
		{Resource: 3, Amount: 1 + r.IntN(12), From: 1, FromEnd: true, To: 2},
	}
	return m
}

// TestOpeningsSkipNothing: a schedule is the same whether full windows are passed
// over or looked at.
func TestOpeningsSkipNothing(t *testing.T) {
	for seed := range uint64(300) {
		p := crowded(rand.New(rand.NewPCG(seed, 3)))
		order := rand.New(rand.NewPCG(seed, 4)).Perm(len(p.Jobs))
		with, without := newBoard(p), newBoard(p)
		without.openings = nil
		a, b := with.decode(order, nil), without.decode(order, nil)
		if !reflect.DeepEqual(a.Jobs, b.Jobs) {
			t.Fatalf("seed %d: with openings %v, without %v", seed, a.Objective, b.Objective)
		}
		for _, o := range with.openings {
			fresh := &openings{calendar: o.calendar, use: o.use}
			fresh.measure(p, with.profiles[o.use.Resource])
			if !slices.Equal(fresh.longest, o.longest) || !slices.Equal(fresh.most, o.most) {
				t.Fatalf("seed %d: the openings after all changes are not those of the profile", seed)
			}
		}
	}
}

// TestPlacedFirst: no unbroken placement of one job, by trying every start of every
// task, is feasible earlier in any task than the one that was found.
func TestPlacedFirst(t *testing.T) {
	placed := 0
	for seed := range uint64(400) {
		r := rand.New(rand.NewPCG(seed, 5))
		p := crowded(r)
		b := newBoard(p)
		for j := range len(p.Jobs) - 1 {
			b.insert(j, false)
		}
		m := crowdedMode(r)
		m.Tasks[2].Units = 0
		release := r.IntN(300)
		found := b.tryMode(&m, 0, release, nil, 0, Never)
		want := b.firstByTrial(&m, release, 2500)
		if want == nil {
			continue
		}
		placed++
		if found == nil || !slices.Equal(found.Starts, want) {
			t.Errorf("seed %d: placed at %v, but %v is feasible", seed, found, want)
		}
	}
	if placed < 100 {
		t.Errorf("only %d jobs found a place", placed)
	}
}

// firstByTrial is the first starts of three unbroken tasks, before a time.
func (b *board) firstByTrial(m *Mode, release, before Time) []Time {
	var starts [3][]Time
	for i := range m.Tasks {
		for at := max(release, b.problem.Start); at < before; at++ {
			if b.runs(&m.Tasks[i], at) {
				starts[i] = append(starts[i], at)
			}
		}
	}
	end := func(task int, at Time) Time { return at + m.Tasks[task].Duration }
	for _, x := range starts[0] {
		for _, y := range starts[1] {
			if !b.lagged(&m.Lags[0], x, end(0, x), y) || !b.held(m.Spans[0], x, end(1, y)+m.Spans[0].Tail) || !b.held(m.Spans[1], x, end(1, y)) {
				continue
			}
			for _, z := range starts[2] {
				if b.lagged(&m.Lags[1], y, end(1, y), z) && b.held(m.Spans[2], end(1, y), end(2, z)) {
					return []Time{x, y, z}
				}
			}
		}
	}
	return nil
}

// runs reports whether a task may run at a time, minute by minute.
func (b *board) runs(t *Task, at Time) bool {
	open := slices.ContainsFunc(b.problem.Calendars[t.Calendar], func(w Window) bool { return w.From <= at && at+t.Duration <= w.To })
	return open && b.held(Span{Resource: t.Uses[0].Resource, Amount: t.Uses[0].Amount}, at, at+t.Duration)
}

func (b *board) held(s Span, from, to Time) bool {
	p := b.profiles[s.Resource]
	for at := from; at < to; at++ {
		if p.level[p.step(at)]+s.Amount > p.capacity {
			return false
		}
	}
	return true
}

func (b *board) lagged(lag *Lag, start, end, next Time) bool {
	if !lag.Cells {
		return next >= end+lag.Min && (lag.Max < 0 || next <= end+lag.Max)
	}
	days := b.problem.cell(next) - b.problem.cell(start)
	return next >= end && days >= max(lag.Min, lag.Wish) && (lag.Max < 0 || days <= lag.Max)
}
