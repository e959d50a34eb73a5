package solve

import (
	"context"
	"fmt"
)

// Solve finds a schedule of all jobs that can be placed at all. The error is
// that of ctx, or says what is wrong with the problem.
func Solve(ctx context.Context, p *Problem) (*Schedule, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	order := make([]int, len(p.Jobs))
	for i := range order {
		order[i] = i
	}
	empty := newBoard(p)
	board := empty
	if p.Budget > 1 { // the search begins anew from the empty one
		board = empty.clone()
	}
	s := newSearch(p, empty, order, board.decode(order, nil))
	if err := s.run(ctx); err != nil {
		return nil, err
	}
	return s.best, nil
}

// check guards against a malformed problem, which is a fault of the caller.
func (p *Problem) check() error {
	if len(p.Grid) < 2 {
		return fmt.Errorf("solve: the grid needs at least one cell")
	}
	for i := range p.Jobs {
		if len(p.Jobs[i].Modes) == 0 {
			return fmt.Errorf("solve: job %d has no mode", i)
		}
		for _, m := range p.Jobs[i].Modes {
			if len(m.Tasks) == 0 {
				return fmt.Errorf("solve: job %d has a mode without tasks", i)
			}
		}
		for _, link := range p.Jobs[i].After {
			if link.Job >= i || link.Job < 0 {
				return fmt.Errorf("solve: job %d is linked to job %d, which is not before it", i, link.Job)
			}
		}
	}
	return nil
}
