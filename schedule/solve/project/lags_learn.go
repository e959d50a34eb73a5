package project

import "slices"

// lesson is the scratch of one conflict's analysis: for each side at most one
// true literal that is still to be explained or learned.
type lesson struct {
	need  []int32 // of each side: the bound that matters
	where []int32 // the step that reached it; none: the side does not matter
	sides []int32 // those touched
	open  int     // literals of the conflict's level
	depth int32   // the conflict's level
	out   []literal
	seen  []witness
	marks marks
}

// cost is how late a true literal became so; none when it is free: true at the
// root or already part of the lesson.
func (e *engine) cost(l literal) int32 {
	if e.where[l.side] != none && e.need[l.side] >= l.at {
		return none
	}
	return e.madeBy(l)
}

// matter adds a true literal to the lesson.
func (e *engine) matter(l literal) {
	i := e.madeBy(l)
	if i == none {
		return
	}
	e.bump(l)
	old := e.where[l.side]
	switch {
	case old == none:
		e.sides = append(e.sides, l.side)
	case e.need[l.side] >= l.at:
		return
	case e.steps[old].level == e.depth:
		e.open--
	}
	e.need[l.side], e.where[l.side] = l.at, i
	if e.steps[i].level == e.depth {
		e.open++
	}
}

// explain appends to out the literals that were true before step i and forced l.
func (e *engine) explain(s step, l literal, i int32) {
	out := e.out
	switch s.why.kind {
	case byEdge:
		out = e.whyEdge(s.why.of, l.at, out)
	case byEdgeOff:
		out = e.whyEdgeOff(s.why.of, i, out)
	case byProfile:
		out = e.whyProfile(s.why, l, i, out)
	case byClause:
		c := &e.all[s.why.of]
		c.used++
		for _, x := range c.literals {
			if x.side != s.side || x.at != s.low {
				out = append(out, x.not())
			}
		}
	}
	e.out = out
}

// learn turns the broken literals into a clause with a single literal of the
// conflict's level (the first such point on the way back), returns to where it
// forces that literal's opposite, and sets it. False: nothing is left to try.
func (e *engine) learn() bool {
	e.unstep()
	e.depth = 0
	for _, l := range e.broken {
		if i := e.madeBy(l); i != none {
			e.depth = max(e.depth, e.steps[i].level)
		}
	}
	if e.depth == 0 {
		return false
	}
	e.back(e.depth)
	e.open = 0
	for _, l := range e.broken {
		e.matter(l)
	}
	e.retrace()
	return e.conclude()
}

// unstep replaces a last step that contradicts a bound by what forced it, as far
// as the contradiction needs it: the step itself is not to be learned from.
func (e *engine) unstep() {
	i := int32(len(e.steps) - 1)
	if i < 0 {
		return
	}
	s := e.steps[i]
	over := e.low[s.side^1]
	if s.low+over <= 0 {
		return
	}
	e.undo()
	e.out = e.out[:0]
	e.explain(s, literal{s.side, 1 - over}, i)
	e.broken = append(append(e.broken[:0], literal{s.side ^ 1, over}), e.out...)
}

// retrace explains literals of the conflict's level until one is left.
func (e *engine) retrace() {
	for {
		i := int32(len(e.steps) - 1)
		s := e.steps[i]
		if e.where[s.side] != i {
			e.undo()
			continue
		}
		if e.open == 1 {
			return
		}
		l := literal{s.side, e.need[s.side]}
		e.where[s.side] = none
		e.open--
		e.undo()
		e.out = e.out[:0]
		e.explain(s, l, i)
		for _, x := range e.out {
			e.matter(x)
		}
	}
}

// conclude makes the clause, shortened, and goes back to use it.
func (e *engine) conclude() bool {
	e.shorten()
	slices.SortFunc(e.sides, func(a, b int32) int { return int(e.where[b] - e.where[a]) })
	c := clause{literals: make([]literal, 0, len(e.sides))}
	last := int32(none)
	var second int32
	for k, side := range e.sides {
		level := e.steps[e.where[side]].level
		if level != last {
			c.levels++
			last = level
		}
		if k == 1 {
			second = level
		}
		c.literals = append(c.literals, literal{side, e.need[side]}.not())
	}
	for _, side := range e.sides {
		e.where[side] = none
	}
	e.sides = e.sides[:0]
	e.back(second)
	if len(c.literals) == 1 {
		return e.set(c.literals[0], reason{})
	}
	return e.set(c.literals[0], reason{kind: byClause, of: e.attach(c)})
}
