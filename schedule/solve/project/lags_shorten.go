package project

import "slices"

// marks remember, for each step of the trail, whether its literal was found to
// follow from the rest of the lesson.
type marks struct {
	of     []mark
	stamp  int32
	levels []int32 // the stamp at which a level was part of the lesson
	spare  []int32 // sides that follow from others
}

type mark struct {
	stamp   int32
	at      int32
	follows bool
}

// deepest bounds how far shorten looks back through explanations.
const deepest = 12

// shorten drops literals of the lesson that follow from others. Each may lean
// only on literals that became true before it, so that no two lean on each
// other.
func (e *engine) shorten() {
	e.sides = slices.DeleteFunc(e.sides, func(s int32) bool { return e.where[s] == none })
	slices.SortFunc(e.sides, func(a, b int32) int { return int(e.where[a] - e.where[b]) })
	e.sides = slices.Compact(e.sides) // a side may have mattered twice
	m := &e.marks
	m.stamp++
	for len(m.of) < len(e.steps) {
		m.of = append(m.of, mark{})
	}
	for len(m.levels) <= len(e.levels) {
		m.levels = append(m.levels, 0)
	}
	for _, s := range e.sides {
		m.levels[e.steps[e.where[s]].level] = m.stamp
	}
	m.spare = m.spare[:0]
	for _, s := range e.sides[:len(e.sides)-1] {
		if e.followsFrom(literal{s, e.need[s]}, e.where[s], e.where[s], 0) {
			m.spare = append(m.spare, s)
		}
	}
	for _, s := range m.spare {
		e.where[s] = none
	}
	e.sides = slices.DeleteFunc(e.sides, func(s int32) bool { return e.where[s] == none })
}

// follows reports whether a true literal is implied by literals of the lesson
// that are older than a step.
func (e *engine) follows(l literal, older int32, depth int) bool {
	i := e.madeBy(l)
	if i == none {
		return true
	}
	if w := e.where[l.side]; w != none && w < older && e.need[l.side] >= l.at {
		return true
	}
	m := &e.marks.of[i]
	if m.stamp == e.marks.stamp && (m.follows && l.at <= m.at || !m.follows && l.at >= m.at) {
		return m.follows
	}
	if depth >= deepest || e.marks.levels[e.steps[i].level] != e.marks.stamp {
		return false
	}
	follows := e.followsFrom(l, i, older, depth)
	*m = mark{e.marks.stamp, l.at, follows}
	return follows
}

// followsFrom looks at what forced a literal at step i.
func (e *engine) followsFrom(l literal, i, older int32, depth int) bool {
	s := e.steps[i]
	if s.why.kind == byDecision {
		return false
	}
	from := len(e.out)
	defer func() { e.out = e.out[:from] }()
	e.explain(s, l, i)
	for k := from; k < len(e.out); k++ {
		if !e.follows(e.out[k], older, depth+1) {
			return false
		}
	}
	return true
}
