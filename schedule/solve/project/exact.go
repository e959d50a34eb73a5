package project

// prove searches exactly for something better than the best schedule, through so
// many dead ends at most.
func (s *search) prove(deadEnds int) {
	deadEnds = min(deadEnds, s.problem.Budget-s.built)
	if deadEnds < 1 || s.over() {
		return
	}
	limited := *s.problem
	limited.Budget = deadEnds
	e, err := newEngine(&limited)
	if err != nil {
		s.err = err
		return
	}
	if !e.guide(s.schedule()) {
		s.bound = s.best.makespan
		return
	}
	v, err := e.run(s.ctx)
	if err != nil {
		s.err = err
		return
	}
	s.built += e.built
	s.adopt(e.schedule(v))
}

// adopt takes over what the exact search found out.
func (s *search) adopt(found *Schedule) {
	s.bound = max(s.bound, found.Bound)
	if found.Value >= s.best.makespan {
		return
	}
	q := plan{make([]int, len(s.names)), found.Value}
	for i, a := range s.names {
		q.starts[i] = found.Starts[a]
	}
	s.best = q
	s.join(q)
}

// guide starts the search from a schedule, below whose makespan the next is
// sought; false: none can be below it.
func (e *engine) guide(known *Schedule) bool {
	for i, start := range known.Starts {
		side, at := int32(2*i), int32(start) //nolint:gosec // newEngine keeps both in bounds
		e.decide(literal{side, at})
		e.decide(literal{side + 1, -at})
	}
	e.propagate()
	e.keep()
	return e.demand()
}
