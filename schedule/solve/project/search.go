package project

import (
	"context"
	"math/rand/v2"
)

// plan is one schedule of the forward network. Its starts are never written to
// once it is made.
type plan struct {
	starts   []int
	makespan int
}

// search looks for a short schedule.
type search struct {
	ctx      context.Context //nolint:containedctx // a search lives for one call of Solve
	problem  *Problem
	names    []int // which activity a number stands for
	forward  *builder
	backward *builder
	random   *rand.Rand
	crowd    []plan // the population
	fill     []int  // keys of the first orders: the more urgent the lower
	best     plan
	bound    int
	built    int
	err      error
	order    []int // of the next schedule to build
	keys     []int // what it is sorted by
	turned   []int // starts in the backward network
}

func newSearch(ctx context.Context, p *Problem) *search {
	g, names := newNetwork(p)
	s := &search{
		ctx: ctx, problem: p, names: names,
		forward: &builder{network: g}, backward: &builder{network: g.mirror()},
		random: rand.New(rand.NewPCG(p.Seed, uint64(g.n))), //nolint:gosec // seeded on purpose: the same problem, the same schedule
		bound:  g.bound(p, names),
		fill:   g.tails(),
		order:  make([]int, g.n), keys: make([]int, g.n), turned: make([]int, g.n),
	}
	for i, tail := range s.fill {
		s.fill[i] = -tail
	}
	return s
}

// over reports whether there is nothing more to look for, or no leave to.
func (s *search) over() bool {
	if s.err != nil || s.built >= s.problem.Budget {
		return true
	}
	if s.best.starts != nil && s.best.makespan <= s.bound {
		return true
	}
	s.err = s.ctx.Err()
	return s.err != nil
}

// build makes the schedule of s.order.
func (s *search) build() plan {
	q := plan{starts: make([]int, s.forward.n)}
	q.makespan = s.forward.build(s.order, q.starts)
	s.built++
	if s.best.starts == nil || q.makespan < s.best.makespan {
		s.best = q
	}
	return q
}

// justified moves everything as far right as it goes, last things first, and
// then as far left: a schedule as short as q or shorter.
func (s *search) justified(q plan) plan {
	if s.built+2 > s.problem.Budget {
		return q
	}
	s.forward.turn(q.starts, q.makespan, s.turned)
	s.backward.byStart(s.turned, s.order)
	makespan := s.backward.build(s.order, s.turned)
	s.built++
	starts := make([]int, s.forward.n)
	s.backward.turn(s.turned, makespan, starts)
	s.forward.byStart(starts, s.order)
	left := s.build()
	if left.makespan > q.makespan {
		return q // where lags let an activity outlast what follows it
	}
	return left
}

// schedule is the best in the problem's own numbers.
func (s *search) schedule() *Schedule {
	named := make([]int, len(s.names))
	for i, a := range s.names {
		named[a] = s.best.starts[i]
	}
	return &Schedule{Starts: named, Value: s.best.makespan, Bound: s.bound, Built: s.built}
}
