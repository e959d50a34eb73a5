package project

import (
	"context"
	"fmt"
	"slices"
)

// Solve looks for a schedule of least makespan or, with Problem.Tardiness, of
// least weighted tardiness. It returns ErrInfeasible where there is none,
// ErrNotFound where the budget did not tell, what Validate finds, or the error
// of ctx. The same problem gives the same schedule on every machine.
func Solve(ctx context.Context, p *Problem) (*Schedule, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	if err := p.fits(); err != nil {
		return nil, err
	}
	switch {
	case p.Tardiness:
		return solveTardiness(ctx, p)
	case p.hasMaximumLags():
		return solveLags(ctx, p)
	}
	return solveMakespan(ctx, p)
}

// fits refuses an activity that asks for more than there ever is.
func (p *Problem) fits() error {
	for i, a := range p.Activities {
		for r, d := range a.Demands {
			if a.Duration > 0 && d > p.Capacities[r] {
				return fmt.Errorf("activity %d uses %d of resource %d, which has %d: %w", i, d, r, p.Capacities[r], ErrInfeasible)
			}
		}
	}
	return nil
}

// value is what a schedule with these starts is worth.
func (p *Problem) value(starts []int) int {
	makespan, tardiness := 0, 0
	for i, a := range p.Activities {
		makespan = max(makespan, starts[i]+a.Duration)
		tardiness += a.Weight * max(0, starts[i]+a.Duration-a.Due)
	}
	if p.Tardiness {
		return tardiness
	}
	return makespan
}

// topological orders activities so that lags point forwards; false where they
// run in a circle.
func (p *Problem) topological() ([]int, bool) {
	missing, after := make([]int, len(p.Activities)), make([][]int, len(p.Activities))
	for _, l := range p.Lags {
		missing[l.To]++
		after[l.From] = append(after[l.From], l.To)
	}
	var order []int
	for i := range missing {
		if missing[i] == 0 {
			order = append(order, i)
		}
	}
	for at := 0; at < len(order); at++ {
		for _, to := range after[order[at]] {
			if missing[to]--; missing[to] == 0 {
				order = append(order, to)
			}
		}
	}
	return order, len(order) == len(p.Activities)
}

// hasMaximumLags reports whether a lag holds an activity back to another's time:
// by a negative minimum, or in a circle.
func (p *Problem) hasMaximumLags() bool {
	_, straight := p.topological()
	return !straight || slices.ContainsFunc(p.Lags, func(l Lag) bool { return l.Min < 0 })
}
