package project

import (
	"cmp"
	"math"
	"slices"
)

// Limits of the population.
const (
	leastCrowd = 10
	mostCrowd  = 100
)

// breed makes schedules out of schedules until so many are built in all.
func (s *search) breed(built int) {
	size := crowdSize(s.problem.Budget, s.forward.n)
	for s.best.starts == nil || s.built < built && len(s.crowd) < size && !s.over() {
		s.sample(len(s.crowd) == 0)
		s.crowd = append(s.crowd, s.justified(s.build()))
	}
	for s.built < built && !s.over() {
		a := s.random.IntN(len(s.crowd))
		if s.random.IntN(2) == 0 {
			s.shake(s.crowd[a])
		} else {
			b := (a + 1 + s.random.IntN(len(s.crowd)-1)) % len(s.crowd)
			s.cross(s.crowd[a], s.crowd[b])
		}
		s.join(s.justified(s.build()))
	}
}

// crowdSize grows with the root of the schedules there are for each activity:
// more would not have time to agree, fewer would agree too soon.
func crowdSize(budget, n int) int {
	size := 3 * math.Sqrt(float64(budget)/float64(max(1, n)))
	return max(leastCrowd, min(mostCrowd, int(size)))
}

// join puts a schedule in the place of the longest, unless it is longer or known.
func (s *search) join(q plan) {
	worst := 0
	for k, other := range s.crowd {
		if other.makespan >= s.crowd[worst].makespan {
			worst = k
		}
		if other.makespan == q.makespan && slices.Equal(other.starts, q.starts) {
			return
		}
	}
	if q.makespan <= s.crowd[worst].makespan {
		s.crowd[worst] = q
	}
}

// sample draws an order in which the longest tails come first, exactly or with
// chance.
func (s *search) sample(exactly bool) {
	for i, urgency := range s.fill {
		s.keys[i] = 4 * urgency
		if !exactly {
			s.keys[i] += s.random.IntN(33 + max(0, -urgency))
		}
	}
	s.sort()
}

// shake draws the activities of a stretch of the schedule later, some more, some
// less.
func (s *search) shake(q plan) {
	stretch := 1 + q.makespan/5
	from := s.random.IntN(q.makespan+stretch) - stretch
	later := s.forward.typical * 4
	for i, start := range q.starts {
		s.keys[i] = 16 * start
		if start >= from && start < from+stretch {
			s.keys[i] += s.random.IntN(16 * later)
		}
	}
	s.sort()
}

// cross puts what the father does in a stretch of time together into the order
// of the mother.
func (s *search) cross(mother, father plan) {
	stretch := father.makespan/4 + s.random.IntN(father.makespan/2+1)
	from := s.random.IntN(father.makespan - stretch + 1)
	to := from + stretch
	far := 2 * (mother.makespan + father.makespan + 1)
	for i := range s.keys {
		f, m := father.starts[i], mother.starts[i]
		switch {
		case f >= from && f < to:
			s.keys[i] = 2 * f
		case m < from:
			s.keys[i] = 2*m - far
		case m >= to:
			s.keys[i] = 2*m + far
		default:
			s.keys[i] = 2*from + s.random.IntN(2*stretch)
		}
	}
	s.sort()
	s.swap()
}

// swap exchanges some neighbours in the order.
func (s *search) swap() {
	for i := 0; i+1 < len(s.order); i++ {
		if s.random.IntN(20) == 0 {
			s.order[i], s.order[i+1] = s.order[i+1], s.order[i]
		}
	}
}

// sort writes the order of the keys, ties by number.
func (s *search) sort() {
	for i := range s.order {
		s.order[i] = i
	}
	slices.SortFunc(s.order, func(a, b int) int { return cmp.Or(cmp.Compare(s.keys[a], s.keys[b]), cmp.Compare(a, b)) })
}
