package solve

import (
	"context"
	"math/rand/v2"
	"slices"
)

// search improves a priority order by changing it around what is late.
type search struct {
	problem *Problem
	empty   *board
	order   []int
	free    []bool
	best    *Schedule
	built   int
}

// run builds schedules until the budget is spent or nothing is left to improve.
func (s *search) run(ctx context.Context) error {
	random := rand.New(rand.NewPCG(s.problem.Seed, uint64(len(s.problem.Jobs))))
	for s.built = 1; s.built < s.problem.Budget && s.worthIt(); s.built++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		s.step(random)
	}
	s.best.Built = s.built
	return ctx.Err()
}

// worthIt reports whether a part of the objective that matters is above zero.
func (s *search) worthIt() bool {
	o := s.best.Objective
	return len(s.order) > 1 && (o.Late > 0 || o.Changes > 0 || o.Unplaced > 0 || o.Short > 0)
}

// step tries one changed order.
func (s *search) step(random *rand.Rand) {
	order, free := slices.Clone(s.order), slices.Clone(s.free)
	at := slices.Index(order, s.target(random))
	switch random.IntN(4) {
	case 0: // to somewhere earlier
		move(order, at, random.IntN(at+1))
	case 1: // send back what is in the way, or the job itself
		move(order, random.IntN(at+1), len(order)-1)
	case 2: // give up the base of a job, and try another place for it
		free[order[at]] = !free[order[at]]
		move(order, at, random.IntN(at+1))
	default: // exchange with any
		other := random.IntN(len(order))
		order[at], order[other] = order[other], order[at]
		free[order[at]] = s.best.Objective.Late > 0
	}
	found := s.empty.clone().decode(order, free)
	if found.Objective.Compare(s.best.Objective) < 0 {
		s.best, s.order, s.free = found, order, free
	}
}

// target picks a job of a late goal, or any that is unplaced, moved or hurried.
func (s *search) target(random *rand.Rand) int {
	var late, wanting []int
	for i := range s.problem.Goals {
		if d, broken := s.problem.goal(s.best, i); d > 0 || broken {
			late = append(late, s.problem.Goals[i].Jobs...)
		}
	}
	for j, pl := range s.best.Jobs {
		if pl == nil || pl.Short > 0 || s.problem.Jobs[j].moves(pl) > 0 {
			wanting = append(wanting, j)
		}
	}
	if pool := append(late, wanting...); len(pool) > 0 {
		return pool[random.IntN(len(pool))]
	}
	return random.IntN(len(s.order))
}

// move takes the element at one place to another, shifting those between.
func move(order []int, from, to int) {
	j := order[from]
	if from < to {
		copy(order[from:to], order[from+1:to+1])
	} else {
		copy(order[to+1:from+1], order[to:from])
	}
	order[to] = j
}
