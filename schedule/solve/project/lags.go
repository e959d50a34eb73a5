package project

import (
	"context"
)

// solveLags finds a schedule with the least makespan under minimum and maximum
// lags.
func solveLags(ctx context.Context, p *Problem) (*Schedule, error) {
	e, err := newEngine(p)
	if err != nil {
		return nil, err
	}
	v, err := e.run(ctx)
	if err != nil {
		return nil, err
	}
	if !e.guided {
		if v == exhausted {
			return nil, ErrInfeasible
		}
		return nil, ErrNotFound
	}
	return e.schedule(v), nil
}

// schedule is what the search found.
func (e *engine) schedule(v verdict) *Schedule {
	s := &Schedule{Starts: make([]int, e.starts), Value: int(e.value), Bound: int(e.value), Built: e.built}
	for i, t := range e.best {
		s.Starts[i] = int(t)
	}
	if v != exhausted {
		e.back(0)
		s.Bound = int(e.least(e.starts))
	}
	return s
}
