package project

import "context"

// engine searches schedules under lags and capacities and learns from each
// failure.
type engine struct {
	trail
	clauses
	edges
	lesson
	circles
	tree
	supplies []supply
	uses     [][]int32 // the supplies that each variable's activity uses
	starts   int32     // variables below are starts; the next is the makespan
	built    int
	budget   int
	best     []int32 // starts of the best schedule
	value    int32
}

// verdict is how a search ended.
type verdict int

const (
	exhausted verdict = iota // nothing better exists
	spent                    // the budget is gone
	restart
)

// propagate draws all conclusions from the steps not looked at yet; false with
// broken literals when they contradict each other. Cheap conclusions go first.
func (e *engine) propagate() bool {
	long := len(e.steps) + int(e.starts)
	for {
		for e.head < len(e.steps) {
			s := e.steps[e.head]
			if e.head > long {
				long = e.head + int(e.starts)
				if e.circle(int32(e.head)) {
					return false
				}
			}
			e.head++
			if !e.follow(s.side) || !e.wake(s.side, s.was, s.low) {
				return false
			}
			e.soil(s.side / 2)
		}
		id := e.nextDirty()
		if id == none {
			return true
		}
		e.supplies[id].dirty = false
		if !e.fit(id) {
			return false
		}
	}
}

// soil marks the resources whose profile a bound may have changed.
func (e *engine) soil(v int32) {
	if v < e.starts {
		for _, r := range e.uses[v] {
			e.supplies[r].dirty = true
		}
	}
}

func (e *engine) nextDirty() int32 {
	for r := range e.supplies {
		if e.supplies[r].dirty {
			return int32(r)
		}
	}
	return none
}

// run searches until nothing better exists or the budget is gone.
func (e *engine) run(ctx context.Context) (verdict, error) {
	for side := range e.low {
		if !e.follow(int32(side)) {
			return exhausted, nil
		}
	}
	for round := 1; ; round++ {
		if err := ctx.Err(); err != nil {
			return spent, err
		}
		v, err := e.dive(ctx, 64*luby(round), round)
		if v != restart || err != nil {
			return v, err
		}
	}
}

// luby is the round-th term of 1 1 2 1 1 2 4 1 1 2 ...
func luby(round int) int {
	k := 1
	for k < round+1 {
		k *= 2
	}
	if k == round+1 {
		return k / 2
	}
	return luby(round - k/2 + 1)
}

// dive searches from the root for a number of conflicts.
func (e *engine) dive(ctx context.Context, conflicts, round int) (verdict, error) {
	e.back(0)
	for {
		if !e.propagate() {
			e.stain()
			if e.built++; !e.learn() {
				return exhausted, nil
			}
			e.gain /= fading
			if conflicts--; e.built >= e.budget {
				return spent, nil
			}
			if err := ctx.Err(); err != nil {
				return spent, err
			}
			continue
		}
		if e.level() == 0 {
			e.settle()
			e.forget()
		}
		if conflicts < 0 {
			return restart, nil
		}
		l, open := e.choose(round)
		if open {
			e.decide(l)
			continue
		}
		e.keep()
		if e.built++; !e.demand() {
			return exhausted, nil
		}
		if e.built >= e.budget {
			return spent, nil
		}
	}
}

// stain marks every resource: what a conflict interrupted was not looked at.
func (e *engine) stain() {
	for r := range e.supplies {
		e.supplies[r].dirty = true
	}
}

// choose picks the next decision. Odd rounds start what can start first until
// there is a schedule.
func (e *engine) choose(round int) (literal, bool) {
	if e.guided || round%2 == 0 {
		if l, open := e.hottest(); open {
			return l, true
		}
	}
	return e.soonest()
}

// keep notes the schedule that the bounds have become.
func (e *engine) keep() {
	e.best = e.best[:0]
	for v := range e.starts {
		e.best = append(e.best, e.least(v))
	}
	e.value = e.least(e.starts)
	for v := range e.goal {
		e.goal[v] = e.least(int32(v))
	}
	e.guided = true
}

// demand asks for a smaller makespan from now on.
func (e *engine) demand() bool {
	e.back(0)
	return e.set(literal{2*e.starts + 1, 1 - e.value}, reason{})
}
