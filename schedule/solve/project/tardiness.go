package project

import (
	"cmp"
	"context"
	"math/rand/v2"
	"slices"
)

// solveTardiness looks for a schedule of least weighted tardiness.
func solveTardiness(ctx context.Context, p *Problem) (*Schedule, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	switch {
	case p.hasMaximumLags():
		return tardyUnderLags(ctx, p)
	case p.oneAtATime():
		return solveSequence(ctx, p)
	}
	g, names := newNetwork(p)
	l := &lateSearch{
		problem: p, names: names, builder: builder{network: g},
		random: rand.New(rand.NewPCG(p.Seed, uint64(g.n))), //nolint:gosec // seeded on purpose: the same problem, the same schedule
		starts: make([]int, g.n), bound: p.leastTardiness(g.heads(), names),
	}
	return l.run(ctx)
}

// tardyUnderLags takes the shortest schedule found and says how late it is: with
// maximum lags, order alone makes no schedule.
func tardyUnderLags(ctx context.Context, p *Problem) (*Schedule, error) {
	found, err := solveLags(ctx, p)
	if err != nil {
		return nil, err
	}
	d, _ := newDistances(p) // solveLags found no cycle that is too long
	heads, names := make([]int, d.n), make([]int, d.n)
	for i := range d.n {
		names[i] = i
		for j := range d.n {
			heads[i] = max(heads[i], d.at(j, i))
		}
	}
	found.Value, found.Bound = p.value(found.Starts), p.leastTardiness(heads, names)
	return found, nil
}

// leastTardiness is what starting everything at its head would cost.
func (p *Problem) leastTardiness(heads, names []int) int {
	starts := make([]int, len(names))
	for i, a := range names {
		starts[a] = heads[i]
	}
	return p.value(starts)
}

// lateSearch moves activities about in an order, as long as that makes its
// schedule no worse.
type lateSearch struct {
	builder
	problem *Problem
	names   []int
	random  *rand.Rand
	starts  []int
	bound   int
	built   int
}

// run starts from the order of latest starts that meet the due dates.
func (l *lateSearch) run(ctx context.Context) (*Schedule, error) {
	order := l.dueOrder()
	value := l.cost(order)
	best := &Schedule{Starts: l.named(), Value: value, Bound: l.bound}
	trial, patience := slices.Clone(order), 20*(l.n+1)
	for idle := 1; l.built < l.problem.Budget && best.Value > best.Bound; idle++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		copy(trial, order)
		l.move(trial)
		leave := idle%patience == 0 // nothing better is near
		if leave {
			l.move(trial)
			l.move(trial)
		}
		cost := l.cost(trial)
		if cost <= value || leave {
			value = cost
			copy(order, trial)
		}
		if cost < best.Value {
			best.Starts, best.Value, idle = l.named(), cost, 0
		}
	}
	best.Built = l.built
	return best, nil
}

// dueOrder sorts by the due dates that follow from an activity's own and those
// of what comes after it.
func (l *lateSearch) dueOrder() []int {
	due := make([]int, l.n)
	for i, a := range l.names {
		due[i] = l.problem.Activities[a].Due - l.duration[i]
	}
	order := make([]int, l.n)
	for i := l.n - 1; i >= 0; i-- {
		order[i] = i
		for k := l.first[i]; k < l.first[i+1]; k++ {
			due[l.from[k]] = min(due[l.from[k]], due[i]-l.lag[k])
		}
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(due[a], due[b]), cmp.Compare(a, b)) })
	return order
}

// cost builds the schedule of an order.
func (l *lateSearch) cost(order []int) int {
	l.build(order, l.starts)
	l.built++
	cost := 0
	for i, a := range l.names {
		activity := &l.problem.Activities[a]
		cost += activity.Weight * max(0, l.starts[i]+activity.Duration-activity.Due)
	}
	return cost
}

// move puts an activity elsewhere or exchanges two.
func (l *lateSearch) move(order []int) {
	a, b := l.random.IntN(l.n), l.random.IntN(l.n)
	if l.random.IntN(2) == 0 {
		order[a], order[b] = order[b], order[a]
		return
	}
	shift(order, a, b)
}

// shift moves what stands at a to b.
func shift(order []int, a, b int) {
	moved := order[a]
	if a < b {
		copy(order[a:b], order[a+1:b+1])
	} else {
		copy(order[b+1:a+1], order[b:a])
	}
	order[b] = moved
}

func (l *lateSearch) named() []int {
	named := make([]int, l.n)
	for i, a := range l.names {
		named[a] = l.starts[i]
	}
	return named
}
