package project

import "context"

// solveLags finds a schedule with the least makespan under minimum and maximum
// lags.
//
// # How
//
// It is lazy clause generation (Ohrimenko, Stuckey, Codish, "Propagation via
// lazy clause generation", 2009) as Schutt, Feydt, Stuckey and Wallace used it
// for these problems ("Solving RCPSP/max by lazy clause generation", 2013):
// bounds are tightened by rules that can say why, and what explains a dead end
// becomes a clause, so that no dead end is met twice.
//
//   - Literals are "start is at least a time"; none is stored before a clause
//     needs it, and watches hold thresholds, so a long horizon costs nothing.
//   - Lags push bounds along edges. Two activities that together need more of a
//     resource than there is have a yes-or-no variable for their order, with an
//     edge each way; a circle of orders with a surplus is found by walking back.
//   - Resources push starts out of full times of the profile of sure use. A
//     push is explained by one full point, and by as few activities as fill it.
//   - The clause is that of the first single literal of the conflict's level,
//     each literal as weak as the explanation needs it, shortened by what
//     follows from the rest.
//   - Each schedule found asks for a shorter one; when nothing is left to try,
//     the last is the best. Before, Bound is what the root's propagation shows,
//     at least each resource's work at full use.
//
// Before the search lags are closed over all paths, which orders many pairs for
// good and finds circles; that takes n*n*n steps for n activities, and the
// orders n*n memory. A bound's change visits its edges and watches; a profile
// costs n*log n, and as little as n when little changed. Clauses are cut by
// half when there are too many, so memory stays bounded.
//
// # What is decided
//
// The question that was part of most recent conflicts, answered as the best
// schedule does; ties go to the older question. Until there is a schedule every
// other round starts the activity that can start first, of several the one with
// the least freedom, then the first. Rounds have 64 conflicts times 1 1 2 1 1 2
// 4 and so on (Luby, Sinclair, Zuckerman 1993). Nothing is drawn at random, so
// the seed does not matter. The budget counts conflicts and schedules.
//
// # Rejected
//
// A variable for each start and time, for its memory with long horizons
// (not measured). Measured on the hardest of the published instances: all closed
// lags as edges instead of those that no way replaces, a tenth slower and no
// better; heat that fades by 0.9, 0.98 or 0.99 instead of 0.95 a conflict, and
// rounds of 32 or 200 conflicts instead of 64, longer schedules; rounds that keep
// the best schedule's orders but in a neighbourhood, no better.
func solveLags(ctx context.Context, p *Problem) (*Schedule, error) {
	e, err := newEngine(p)
	if err != nil {
		return nil, err
	}
	v, err := e.run(ctx)
	switch {
	case err != nil:
		return nil, err
	case e.guided:
		return e.schedule(v), nil
	case v == exhausted:
		return nil, ErrInfeasible
	}
	return nil, ErrNotFound
}

// schedule is what the search found.
func (e *engine) schedule(v verdict) *Schedule {
	s := &Schedule{Starts: make([]int, e.starts), Value: int(e.value), Bound: int(e.value), Built: e.built}
	for i, t := range e.best {
		s.Starts[i] = int(t)
	}
	if v != exhausted {
		e.back(0)
		s.Bound = min(s.Bound, int(e.least(e.starts)))
	}
	return s
}
