package solve

import (
	"context"
	"math/rand/v2"
	"slices"
)

// memory is how many steps back the search remembers what it had.
const memory = 25

// search improves a priority order by changing it around what is late. It takes
// a change when it is no worse than what it has, or than what it had some steps
// ago (late acceptance, Burke and Bykov 2017), which lets it leave a place where
// no single change helps.
//
// On every other leg it looks past the sum of tardiness, and at the
// late goal that is nearest to being in time instead: a job given up for good
// is very late, which must not count against giving it up.
type search struct {
	problem   *Problem
	empty     *board
	random    *rand.Rand
	order     []int
	free      []bool
	current   *Schedule
	nearest   bool // whether this leg looks at the nearest late goal
	past      [memory]Objective
	best      *Schedule
	bestOrder []int
	bestFree  []bool
}

func newSearch(p *Problem, empty *board, order []int, first *Schedule) *search {
	s := &search{
		problem: p, empty: empty, order: order, free: make([]bool, len(order)), current: first, best: first,
		bestOrder: order, bestFree: make([]bool, len(order)),
		random: rand.New(rand.NewPCG(p.Seed, uint64(len(p.Jobs)))),
	}
	for i := range s.past {
		s.past[i] = first.Objective
	}
	return s
}

const (
	legs     = 20 // how many times the search turns from one aim to the other
	shortest = 20 // schedules in a leg at least
	kicks    = 3  // jobs that are moved anywhere before a leg
)

// turn begins a leg of the search near the best schedule so far.
func (s *search) turn(nearest bool) {
	s.nearest = nearest
	s.order, s.free = slices.Clone(s.bestOrder), slices.Clone(s.bestFree)
	for range kicks {
		a, b := s.random.IntN(len(s.order)), s.random.IntN(len(s.order))
		move(s.order, a, b)
	}
	s.current = s.empty.clone().decode(s.order, s.free)
	s.keep(s.current, s.order, s.free)
	for i := range s.past {
		s.past[i] = s.measure(s.current)
	}
}

// measure is what the search goes by.
func (s *search) measure(found *Schedule) Objective {
	o := found.Objective
	if !s.nearest || o.Late == 0 {
		return o
	}
	o.Tardiness = Never
	for i := range s.problem.Goals {
		if late, _ := s.problem.goal(found, i); late > 0 {
			o.Tardiness = min(o.Tardiness, late)
		}
	}
	return o
}

// run builds schedules until the budget is spent or nothing is left to improve.
func (s *search) run(ctx context.Context) error {
	built := 1 + s.sendBack()
	for ; built < s.problem.Budget && s.worthIt(); built++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if leg := max(shortest, s.problem.Budget/legs); built%leg == 0 {
			s.turn(built/leg%2 == 1)
			continue
		}
		s.step(built)
	}
	s.best.Built = built
	return ctx.Err()
}

// sendBack follows the rule of Moore and Hodgson as far as it carries: in the
// priority order it looks for the first job that is late, and sends to the back
// the job at or before it that takes the most time for its weight. It returns
// how many schedules it built.
func (s *search) sendBack() int {
	order, kept := slices.Clone(s.order), len(s.order)
	weights := s.weights()
	at, built := s.best, 0
	for built < s.problem.Budget-1 && at.Objective.Late > 0 {
		first := slices.IndexFunc(order[:kept], func(j int) bool {
			return at.Jobs[j] == nil || at.Jobs[j].End() > s.problem.Jobs[j].Due
		})
		if first < 0 {
			break
		}
		worst := 0
		for i := range order[:first+1] {
			if s.problem.Jobs[order[i]].length()*weights[order[worst]] > s.problem.Jobs[order[worst]].length()*weights[order[i]] {
				worst = i
			}
		}
		move(order, worst, len(order)-1)
		kept--
		at = s.empty.clone().decode(order, s.free)
		built++
		s.keep(at, order, s.free)
	}
	return built
}

// weights is the weight of the goals of each job, at least 1.
func (s *search) weights() []int {
	out := make([]int, len(s.order))
	for i := range s.problem.Goals {
		for _, j := range s.problem.Goals[i].Jobs {
			out[j] += s.problem.Goals[i].Weight
		}
	}
	for j := range out {
		out[j] = max(1, out[j])
	}
	return out
}

// length is the working time of a job's first mode.
func (j *Job) length() Time {
	sum := 0
	for i := range j.Modes[0].Tasks {
		sum += j.Modes[0].Tasks[i].length()
	}
	return sum
}

// worthIt reports whether a part of the objective that matters is above zero.
func (s *search) worthIt() bool {
	o := s.best.Objective
	return len(s.order) > 1 && (o.Late > 0 || o.Changes > 0 || o.Unplaced > 0 || o.Short > 0)
}

// step tries one changed order.
func (s *search) step(number int) {
	order, free := slices.Clone(s.order), slices.Clone(s.free)
	s.change(order, free)
	found := s.empty.clone().decode(order, free)
	past := &s.past[number%memory]
	if o := s.measure(found); o.Compare(s.measure(s.current)) <= 0 || o.Compare(*past) <= 0 {
		s.current, s.order, s.free = found, order, free
	}
	*past = s.measure(s.current)
	s.keep(found, order, free)
}

// keep remembers the best schedule.
func (s *search) keep(found *Schedule, order []int, free []bool) {
	if found.Objective.Compare(s.best.Objective) < 0 {
		s.best, s.bestOrder, s.bestFree = found, slices.Clone(order), slices.Clone(free)
	}
}

// change moves one or two jobs, most often around one that is late.
func (s *search) change(order []int, free []bool) {
	at := slices.Index(order, s.target())
	switch s.random.IntN(5) {
	case 0: // to somewhere earlier
		move(order, at, s.random.IntN(at+1))
	case 1: // give it up: others are then in time
		move(order, at, len(order)-1)
	case 2: // send back one of those in its way
		move(order, s.random.IntN(at+1), at+s.random.IntN(len(order)-at))
	case 3: // give up the base of a job, and try another place for it
		free[order[at]] = !free[order[at]]
		move(order, at, s.random.IntN(at+1))
	default: // exchange with any, which may leave its base while orders are late
		other := s.random.IntN(len(order))
		order[at], order[other] = order[other], order[at]
		free[order[at]] = s.current.Objective.Late > 0
	}
}

// target picks a job of a late goal, or one that is unplaced, moved or hurried;
// now and then any job.
func (s *search) target() int {
	var pool []int
	for i := range s.problem.Goals {
		if d, broken := s.problem.goal(s.current, i); d > 0 || broken {
			pool = append(pool, s.problem.Goals[i].Jobs...)
		}
	}
	for j, pl := range s.current.Jobs {
		if pl == nil || pl.Short > 0 || s.problem.Jobs[j].moves(pl) > 0 {
			pool = append(pool, j)
		}
	}
	if len(pool) == 0 || s.random.IntN(5) == 0 {
		return s.random.IntN(len(s.order))
	}
	return pool[s.random.IntN(len(pool))]
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
