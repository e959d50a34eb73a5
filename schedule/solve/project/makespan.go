package project

import "context"

// solveMakespan looks for a schedule of least makespan where no lag is a maximum.
func solveMakespan(ctx context.Context, p *Problem) (*Schedule, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s := newSearch(ctx, p)
	s.run()
	if s.err != nil {
		return nil, s.err
	}
	return s.schedule(), nil
}
