package project

import "testing"

// checkSchedule holds a schedule against its problem, unit of time by unit of
// time, with nothing of the engine's code.
func checkSchedule(t testing.TB, p *Problem, s *Schedule) {
	t.Helper()
	if len(s.Starts) != len(p.Activities) {
		t.Fatalf("%d starts of %d activities", len(s.Starts), len(p.Activities))
	}
	end, tardiness := 0, 0
	for i, a := range p.Activities {
		if s.Starts[i] < 0 {
			t.Errorf("activity %d starts at %d", i, s.Starts[i])
		}
		end = max(end, s.Starts[i]+a.Duration)
		tardiness += a.Weight * max(0, s.Starts[i]+a.Duration-a.Due)
	}
	value := end
	if p.Tardiness {
		value = tardiness
	}
	if s.Value != value || s.Bound > s.Value {
		t.Errorf("the value is %d and not %d, the bound %d", value, s.Value, s.Bound)
	}
	if s.Built > p.Budget {
		t.Errorf("%d schedules were built; the budget is %d", s.Built, p.Budget)
	}
	for _, l := range p.Lags {
		if s.Starts[l.To] < s.Starts[l.From]+l.Min {
			t.Errorf("activity %d starts at %d, %d at %d: less than %d apart", l.From, s.Starts[l.From], l.To, s.Starts[l.To], l.Min)
		}
	}
	for r, capacity := range p.Capacities {
		checkCapacity(t, p, s, r, capacity, end)
	}
}

func checkCapacity(t testing.TB, p *Problem, s *Schedule, r, capacity, end int) {
	t.Helper()
	used := make([]int, end)
	for i, a := range p.Activities {
		for at := s.Starts[i]; at < s.Starts[i]+a.Duration && r < len(a.Demands); at++ {
			used[at] += a.Demands[r]
		}
	}
	for at, units := range used {
		if units > capacity {
			t.Errorf("%d units of resource %d are used at %d; there are %d", units, r, at, capacity)
			return
		}
	}
}
