package project

import "fmt"

// farthest bounds times and amounts, so that sums stay in 32 bits.
const farthest = 1 << 29

// newEngine states a problem as variables and constraints. The error is
// ErrInfeasible or says what is too large.
func newEngine(p *Problem) (*engine, error) {
	if err := p.short(); err != nil {
		return nil, err
	}
	if err := p.fits(); err != nil {
		return nil, err
	}
	d, ok := newDistances(p)
	if !ok {
		return nil, ErrInfeasible
	}
	open, ok := d.order(p)
	if !ok {
		return nil, ErrInfeasible
	}
	far := d.horizon(p)
	if err := p.small(far); err != nil {
		return nil, err
	}
	e := &engine{budget: p.Budget, starts: int32(len(p.Activities))}
	for range p.Activities {
		e.variable(0, int32(far))
	}
	soonest := d.soonest(p)
	if soonest > far {
		return nil, ErrInfeasible
	}
	e.variable(int32(soonest), int32(far))
	e.lags(p, d)
	e.orders(p, open)
	e.index()
	e.ready()
	e.supply(p)
	return e, nil
}

// short refuses single times that could overflow.
func (p *Problem) short() error {
	for i, a := range p.Activities {
		if a.Duration > farthest {
			return fmt.Errorf("activity %d takes %d: use a coarser unit, so that it stays under %d", i, a.Duration, farthest)
		}
	}
	for i, l := range p.Lags {
		if max(l.Min, -l.Min) > farthest {
			return fmt.Errorf("lag %d is %d: use a coarser unit, so that it stays under %d", i, l.Min, farthest)
		}
	}
	return nil
}

// small refuses sums numbers that could overflow.
func (p *Problem) small(far int) error {
	if far > farthest {
		return fmt.Errorf("the times add up to %d: use a coarser unit, so that they stay under %d", far, farthest)
	}
	for r := range p.Capacities {
		total := 0
		for _, a := range p.Activities {
			if r < len(a.Demands) {
				total += min(a.Demands[r], farthest+1)
			}
		}
		if total > farthest {
			return fmt.Errorf("the demands of resource %d add up to more than %d: use a coarser unit", r, farthest)
		}
	}
	return nil
}

// lags states the lags and that the makespan is no sooner than any end.
func (e *engine) lags(p *Problem, d *distances) {
	for i, a := range p.Activities {
		e.hold(int32(i), e.starts, int32(a.Duration), none)
	}
	for _, l := range d.needed(p) {
		e.hold(int32(l.From), int32(l.To), int32(l.Min), none)
	}
}

// orders states that the activities of a pair follow each other, one way or the
// other.
func (e *engine) orders(p *Problem, open []pair) {
	for _, x := range open {
		v := e.variable(0, 1)
		e.hold(int32(x.a), int32(x.b), int32(p.Activities[x.a].Duration), 2*v)
		e.hold(int32(x.b), int32(x.a), int32(p.Activities[x.b].Duration), 2*v+1)
	}
}

// ready makes room for what is kept of every side and variable.
func (e *engine) ready() {
	sides := len(e.low)
	e.watches = make([][]watch, sides)
	e.need, e.where = make([]int32, sides), make([]int32, sides)
	for i := range e.where {
		e.where[i] = none
	}
	e.met = make([]int, sides)
	e.goal = make([]int32, sides/2)
	e.uses = make([][]int32, e.starts)
	e.ids, e.gain, e.limit = map[uint64]int32{}, 1, 4000
}

// supply states the capacities.
func (e *engine) supply(p *Problem) {
	for r, capacity := range p.Capacities {
		s := supply{capacity: int32(min(capacity, farthest)), dirty: true}
		for i, a := range p.Activities {
			if r >= len(a.Demands) || a.Demands[r] == 0 || a.Duration == 0 {
				continue
			}
			s.starting = append(s.starting, int32(len(s.users)))
			s.users = append(s.users, user{int32(i), int32(a.Duration), int32(a.Demands[r])})
			e.uses[i] = append(e.uses[i], int32(len(e.supplies)))
		}
		if len(s.users) > 0 {
			s.ending = append(s.ending, s.starting...)
			e.supplies = append(e.supplies, s)
		}
	}
}
