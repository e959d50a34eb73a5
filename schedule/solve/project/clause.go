package project

import (
	"cmp"
	"slices"
)

// clause holds at least one true literal. The first two are watched.
type clause struct {
	literals []literal
	levels   int32 // decision levels it joined when learned: few is good
	used     int32 // conflicts it helped to explain lately
}

// watch waits for a literal of a clause to become false: that is when the
// literal's opposite side reaches at.
type watch struct {
	at     int32
	clause int32
	other  literal // some literal of the clause: if true there is nothing to do
}

// clauses are what was learned.
type clauses struct {
	all     []clause
	watches [][]watch // by the side whose growth falsifies
	limit   int       // clauses to keep before the next forgetting
}

func (e *engine) watchFor(l literal, c int32, other literal) {
	n := l.not()
	e.watches[n.side] = append(e.watches[n.side], watch{n.at, c, other})
}

// attach adds a clause of two or more literals; the first two are watched.
func (e *engine) attach(c clause) int32 {
	id := int32(len(e.all))
	e.all = append(e.all, c)
	e.watchFor(c.literals[0], id, c.literals[1])
	e.watchFor(c.literals[1], id, c.literals[0])
	return id
}

// wake visits the clauses of which a step made a watched literal false.
//
// It is one loop because every step of the search passes through it.
func (e *engine) wake(side, was, low int32) bool {
	list := e.watches[side]
	kept := 0
	for i := 0; i < len(list); i++ {
		w := list[i]
		if w.at > low || w.at <= was || e.holds(w.other) {
			list[kept] = w
			kept++
			continue
		}
		first, moved := e.rewatch(w, side)
		if moved {
			continue
		}
		list[kept] = watch{w.at, w.clause, first}
		kept++
		if !e.holds(first) && !e.force(first, w.clause) {
			kept += copy(list[kept:], list[i+1:])
			e.watches[side] = list[:kept]
			return false
		}
	}
	e.watches[side] = list[:kept]
	return true
}

// rewatch puts the other watched literal first and looks for another that is
// not false to watch instead of the one that became so.
func (e *engine) rewatch(w watch, side int32) (first literal, moved bool) {
	ls := e.all[w.clause].literals
	lost := literal{side ^ 1, 1 - w.at}
	if ls[0] == lost {
		ls[0], ls[1] = ls[1], ls[0]
	}
	if e.holds(ls[0]) {
		return ls[0], false
	}
	for k := 2; k < len(ls); k++ {
		if !e.fails(ls[k]) {
			ls[1], ls[k] = ls[k], ls[1]
			e.watchFor(ls[1], w.clause, ls[0])
			return ls[0], true
		}
	}
	return ls[0], false
}

// force sets the only literal left of a clause.
func (e *engine) force(l literal, c int32) bool {
	if !e.fails(l) {
		return e.set(l, reason{kind: byClause, of: c})
	}
	e.broken = e.broken[:0]
	for _, x := range e.all[c].literals {
		e.broken = append(e.broken, x.not())
	}
	return false
}

// forget drops the worse half of the clauses when there are too many, and what
// the root has decided. The trail must be settled at the root.
func (e *engine) forget() {
	if len(e.all) < e.limit {
		return
	}
	slices.SortStableFunc(e.all, func(a, b clause) int {
		return cmp.Or(cmp.Compare(a.levels, b.levels), cmp.Compare(b.used, a.used), cmp.Compare(len(a.literals), len(b.literals)))
	})
	good := 0
	for good < len(e.all) && e.all[good].levels <= 2 {
		good++
	}
	keep := e.all[:max(len(e.all)/2, min(good, e.limit*3/4))]
	for s := range e.watches {
		e.watches[s] = e.watches[s][:0]
	}
	e.all = e.all[:0]
	for _, c := range keep {
		if c.used /= 2; e.reduce(&c) {
			e.attach(c)
		}
	}
	clear(e.all[len(e.all):cap(e.all)]) // let the memory go
	e.limit += e.limit / 20
}

// reduce takes out the literals that the root made false; false when the clause
// is true there. At the root's fixpoint two literals or more remain.
func (e *engine) reduce(c *clause) bool {
	left := c.literals[:0]
	for _, l := range c.literals {
		switch {
		case e.holds(l):
			return false
		case !e.fails(l):
			left = append(left, l)
		}
	}
	c.literals = left
	return len(left) > 1
}
