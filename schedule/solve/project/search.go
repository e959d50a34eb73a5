package project

import (
	"context"
	"math/rand/v2"
	"slices"
)

// plan is one schedule of the forward network.
type plan struct {
	starts   []int
	makespan int
}

// search looks for a short schedule.
type search struct {
	ctx      context.Context
	problem  *Problem
	names    []int // which activity a number stands for
	forward  *builder
	backward *builder
	random   *rand.Rand
	best     plan
	bound    int
	built    int
	err      error
	order    []int
	turned   []int
	keys     []int
}

func newSearch(ctx context.Context, p *Problem) *search {
	g, names := newNetwork(p)
	s := &search{
		ctx: ctx, problem: p, names: names,
		forward: &builder{network: g}, backward: &builder{network: g.mirror()},
		random: rand.New(rand.NewPCG(p.Seed, uint64(g.n))), //nolint:gosec // seeded on purpose: the same problem, the same schedule
		order:  make([]int, g.n), turned: make([]int, g.n), keys: make([]int, g.n),
	}
	heads, tails := g.heads(), g.tails()
	for i := range heads {
		s.bound = max(s.bound, heads[i]+tails[i])
	}
	return s
}

// over reports whether there is nothing more to look for, or no leave to.
func (s *search) over() bool {
	if s.built >= s.problem.Budget || s.err != nil {
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
	s.keep(q)
	return q
}

// keep remembers the best.
func (s *search) keep(q plan) {
	if s.best.starts == nil || q.makespan < s.best.makespan {
		s.best = plan{slices.Clone(q.starts), q.makespan}
	}
}

// justify moves everything right and then left again.
func (s *search) justify(q *plan) {
	if s.over() {
		return
	}
	s.forward.turn(q.starts, q.makespan, s.turned)
	s.backward.byStart(s.turned, s.order)
	makespan := s.backward.build(s.order, s.turned)
	s.built++
	s.backward.turn(s.turned, makespan, q.starts)
	s.forward.byStart(q.starts, s.order)
	q.makespan = s.forward.build(s.order, q.starts)
	s.built++
	s.keep(*q)
}

func (s *search) schedule() *Schedule {
	named := make([]int, len(s.names))
	for i, a := range s.names {
		named[a] = s.best.starts[i]
	}
	return &Schedule{Starts: named, Value: s.best.makespan, Bound: s.bound, Built: s.built}
}
