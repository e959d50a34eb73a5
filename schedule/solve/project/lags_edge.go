package project

import (
	"cmp"
	"slices"
)

// edge pushes one side by another while its condition holds:
// to >= from + weight. A lag is two edges without a condition, one for each
// side; an order of two activities that exclude each other is two with one.
type edge struct {
	from, to int32 // sides
	weight   int32
	when     int32 // side of a yes-or-no variable; none: always
}

// yes is the literal that a yes-or-no side is true: 1 for the variable and 0
// for its negative.
func yes(side int32) literal { return literal{side, 1 - side&1} }

// edges are the difference constraints, by the side they leave.
type edges struct {
	list  []edge
	leave []int32   // where each side's edges begin in list
	under [][]int32 // by condition
}

// hold adds to >= from + weight between variables, and its mirror.
func (e *engine) hold(from, to, weight, when int32) {
	e.edge(edge{2 * from, 2 * to, weight, when})
	e.edge(edge{2*to + 1, 2*from + 1, weight, when})
}

func (e *engine) edge(g edge) { e.list = append(e.list, g) }

// index puts the edges of each side together. All must be there.
func (e *engine) index() {
	slices.SortStableFunc(e.list, func(a, b edge) int { return cmp.Compare(a.from, b.from) })
	e.leave = make([]int32, len(e.low)+1)
	e.under = make([][]int32, len(e.low))
	for id, g := range e.list {
		e.leave[g.from+1] = int32(id + 1)
		if g.when != none {
			e.under[g.when] = append(e.under[g.when], int32(id))
		}
	}
	for side := range e.low {
		e.leave[side+1] = max(e.leave[side+1], e.leave[side])
	}
}

// follow pushes along the edges that leave a side or wait for it.
func (e *engine) follow(side int32) bool {
	low := e.low[side]
	for id := e.leave[side]; id < e.leave[side+1]; id++ {
		g := &e.list[id]
		switch {
		case g.when == none || e.holds(yes(g.when)):
			if !e.set(literal{g.to, low + g.weight}, reason{kind: byEdge, of: id}) {
				return false
			}
		case low+g.weight+e.low[g.to^1] > 0:
			if !e.set(yes(g.when).not(), reason{kind: byEdgeOff, of: id}) {
				return false
			}
		}
	}
	return e.enable(side)
}

// enable pushes along the edges for which a side is the condition.
func (e *engine) enable(side int32) bool {
	list := e.under[side]
	if len(list) == 0 || !e.holds(yes(side)) {
		return true
	}
	for _, id := range list {
		g := &e.list[id]
		if !e.set(literal{g.to, e.low[g.from] + g.weight}, reason{kind: byEdge, of: id}) {
			return false
		}
	}
	return true
}

// whyEdge explains a push to at least at.
func (e *engine) whyEdge(id, at int32, out []literal) []literal {
	g := &e.list[id]
	out = append(out, literal{g.from, at - g.weight})
	if g.when != none {
		out = append(out, yes(g.when))
	}
	return out
}

// whyEdgeOff explains that an edge did not fit before a step: its ends are
// closer than it asks. What is to spare loosens the end it comes from.
func (e *engine) whyEdgeOff(id, step int32, out []literal) []literal {
	g := &e.list[id]
	far := e.lowBefore(g.to^1, step)
	return append(out, literal{g.to ^ 1, far}, literal{g.from, 1 - g.weight - far})
}
