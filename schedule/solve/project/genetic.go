package project

import (
	"cmp"
	"slices"
)

// run breeds schedules.
func (s *search) run() {
	size := s.populationSize()
	var old []plan
	tails := s.forward.tails()
	for len(old) < size && !s.over() {
		s.sample(tails, len(old) == 0)
		q := s.build()
		s.justify(&q)
		old = append(old, q)
	}
	for !s.over() {
		young := s.breed(old)
		old = s.survivors(append(old, young...), size)
	}
}

func (s *search) populationSize() int {
	return max(10, min(100, s.problem.Budget/100))
}

// sample draws an order in which long tails come first, more or less.
func (s *search) sample(tails []int, exactly bool) {
	for i := range s.keys {
		s.order[i] = i
		s.keys[i] = -tails[i] * 16
		if !exactly {
			s.keys[i] += s.random.IntN(16*8 + 4*tails[i])
		}
	}
	slices.SortFunc(s.order, func(a, b int) int { return cmp.Or(cmp.Compare(s.keys[a], s.keys[b]), cmp.Compare(a, b)) })
}

func (s *search) breed(old []plan) []plan {
	s.random.Shuffle(len(old), func(i, j int) { old[i], old[j] = old[j], old[i] })
	var young []plan
	for i := 0; i+1 < len(old) && !s.over(); i += 2 {
		for _, pair := range [][2]plan{{old[i], old[i+1]}, {old[i+1], old[i]}} {
			if s.over() {
				break
			}
			s.cross(pair[0], pair[1])
			q := s.build()
			s.justify(&q)
			young = append(young, q)
		}
	}
	return young
}

// cross puts a stretch of the father into the mother.
func (s *search) cross(mother, father plan) {
	length := father.makespan/4 + s.random.IntN(father.makespan/2+1)
	from := s.random.IntN(father.makespan - length + 1)
	to := from + length
	const far = 1 << 24
	for i := range s.keys {
		f, m := father.starts[i], mother.starts[i]
		switch {
		case f >= from && f < to:
			s.keys[i] = f * 2
		case m < from:
			s.keys[i] = m*2 - far
		case m >= to:
			s.keys[i] = m*2 + far
		default:
			s.keys[i] = from*2 + s.random.IntN(2*length)
		}
	}
	for i := range s.order {
		s.order[i] = i
	}
	slices.SortFunc(s.order, func(a, b int) int { return cmp.Or(cmp.Compare(s.keys[a], s.keys[b]), cmp.Compare(a, b)) })
	for i := 0; i+1 < len(s.order); i++ {
		if s.random.IntN(20) == 0 {
			s.order[i], s.order[i+1] = s.order[i+1], s.order[i]
		}
	}
}

// survivors keeps the shortest.
func (s *search) survivors(all []plan, size int) []plan {
	slices.SortStableFunc(all, func(a, b plan) int { return a.makespan - b.makespan })
	var kept []plan
	for _, q := range all {
		if len(kept) == size {
			break
		}
		if !slices.ContainsFunc(kept, func(k plan) bool { return k.makespan == q.makespan && slices.Equal(k.starts, q.starts) }) {
			kept = append(kept, q)
		}
	}
	return kept
}
