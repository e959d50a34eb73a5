package chain

// The largest that a price may become, and that it may become times what one
// chain takes of its row in all. With them no sum over chains overflows, and no
// chain costs as much as far, however large the numbers of a problem are.
const (
	mostPrice = 1 << 38
	mostCost  = 1 << 46
)

// setRows writes the capacity of each row, the measure by which steps of its
// price are taken, and what its price may become.
func (s *solver) setRows() {
	for r := range s.measure {
		s.measure[r], s.dearest[r] = 1, mostPrice
	}
	for d := range s.p.Days {
		for k := range s.p.Kinds {
			s.capacity[s.atKind(k, d)] = s.units[k][d]
		}
		s.setRow(s.atStore(d), s.p.Store, s.p.Days)
		s.setRow(s.atEffort(d), s.p.Effort[d], Steps)
	}
	weight, over := s.extremes()
	s.measure[s.atLevel(0)] = max(weight/evenWeight, 1)
	s.dearest[s.atLevel(0)] = min(mostPrice, mostCost/weight)
	s.measure[s.atLevel(1)] = max(over/evenDays, 8)
	s.dearest[s.atLevel(1)] = min(mostPrice, mostCost/over)
}

// setRow is for a row that one chain takes its capacity of so many times at most.
func (s *solver) setRow(r, capacity, times int) {
	s.capacity[r], s.measure[r] = int64(capacity), int64(max(capacity, 1))
	s.dearest[r] = min(mostPrice, mostCost/s.measure[r]/int64(times))
}

// Weights and days up to these are steps like any other; beyond, the levels'
// excess is measured in shares of the largest, or it would drown the rest.
const (
	evenWeight = 16
	evenDays   = 64
)

// extremes are the largest weight and the most days that a chain can be late.
func (s *solver) extremes() (weight, over int64) {
	weight, over = 1, 1
	for i := range s.p.Chains {
		c := &s.p.Chains[i]
		weight = max(weight, int64(c.Weight))
		over = max(over, int64(s.p.Days-c.Due))
	}
	return weight, over
}
