package project

import "context"

// Shares of the budget, in hundredths: schedules are bred first, then the exact
// search has its turn, then schedules are bred again.
const (
	breedFirst = 10
	proveShare = 30
)

// The exact search has its whole share up to so many activities. Beyond, its
// steps take longer and prove less, and the share shrinks with the square; past
// the most, its preparation alone would take too long.
const (
	mostWhole = 60
	mostExact = 300
)

// solveMakespan looks for a schedule of least makespan where no lag is a maximum.
func solveMakespan(ctx context.Context, p *Problem) (*Schedule, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s := newSearch(ctx, p)
	s.breed(p.Budget * breedFirst / 100)
	if n := len(p.Activities); n <= mostExact {
		share := p.Budget * proveShare / 100
		if n > mostWhole {
			share = share * mostWhole / n * mostWhole / n
		}
		s.prove(share)
	}
	s.breed(p.Budget)
	if s.err != nil {
		return nil, s.err
	}
	return s.schedule(), nil
}
