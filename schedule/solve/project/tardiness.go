package project

import (
	"context"
)

// solveTardiness looks for a schedule of least weighted tardiness.
func solveTardiness(ctx context.Context, p *Problem) (*Schedule, error) {
	if p.hasMaximumLags() {
		return nil, errMaximumLags
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	g, names := newNetwork(p)
	order := make([]int, g.n)
	for i := range order {
		order[i] = i
	}
	b := &builder{network: g}
	starts := make([]int, g.n)
	b.build(order, starts)
	named := make([]int, g.n)
	for i, a := range names {
		named[a] = starts[i]
	}
	return &Schedule{Starts: named, Value: p.value(named), Built: 1}, nil
}
