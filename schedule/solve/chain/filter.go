package chain

// filter drops the days and kinds of each chain that would lift the bound,
// which is total at the present prices, past the limit: no schedule worth
// finding uses them. It says whether any was dropped.
func (s *solver) filter(st *state, total int64) bool {
	spare := s.passing() - total
	changed := false
	for i := range s.n {
		before := s.choices(st, i)
		s.filterChain(st, i, spare+s.picks[i].cost)
		changed = changed || s.choices(st, i) != before
	}
	return changed
}

// through holds the cheapest place through each day of each step and each kind.
type through struct {
	days  [Steps][]int64
	kinds []int64
}

func (s *solver) filterChain(st *state, i int, most int64) {
	c := &s.p.Chains[i]
	s.endCosts(st, i)
	s.shiftCosts(st, i)
	s.throughFront(st, i)
	s.throughEnd(st, i)
	base, surcharge := s.basePart(st, i)
	for step := range Steps {
		ds := st.days(i, step)
		for d := ds.next(0); d >= 0; d = ds.next(d + 1) {
			if cheapestOf(s.via.days[step][d]+surcharge, base, c.Base.At[step] == d) > most {
				ds.drop(d)
			}
		}
	}
	kinds := st.kindsOf(i)
	for k := kinds.next(0); k >= 0; k = kinds.next(k + 1) {
		if cheapestOf(s.via.kinds[k]+surcharge, base, c.Base.Kind == k) > most {
			kinds.drop(k)
		}
	}
}

// cheapestOf is the cheaper of a place and, where it goes the same way, the base.
func cheapestOf(cost, base int64, same bool) int64 {
	if same {
		return min(cost, base)
	}
	return cost
}

// basePart is what the base costs, and what another place pays for differing.
func (s *solver) basePart(st *state, i int) (base, surcharge int64) {
	c := &s.p.Chains[i]
	if s.charge[2] == 0 || !c.hasBase() {
		return far, 0
	}
	if st.moved(i) || !st.allows(i, c.Base) {
		return far, s.charge[2]
	}
	if !c.wholeBase() {
		return far, 0
	}
	return s.baseCost(i), s.charge[2]
}

// throughFront fills via for starts, shifts and kinds.
func (s *solver) throughFront(st *state, i int) {
	c := &s.p.Chains[i]
	starts, shifts, kinds := st.days(i, Start), st.days(i, Shift), st.kindsOf(i)
	fill(s.via.days[Start], far)
	fill(s.via.days[Shift], far)
	fill(s.via.kinds, far)
	effort := s.cost.effort[i][Start]
	for d := starts.next(0); d >= 0; d = starts.next(d + 1) {
		own := s.y[s.atEffort(d)] * effort[d]
		for e := shifts.next(d + c.LagMin); e >= 0 && e <= d+c.LagMax; e = shifts.next(e + 1) {
			for k := kinds.next(0); k >= 0; k = kinds.next(k + 1) {
				cost := own + s.mid[e] + s.kindSum[k][e] - s.kindSum[k][d]
				s.via.days[Start][d] = min(s.via.days[Start][d], cost)
				s.via.days[Shift][e] = min(s.via.days[Shift][e], cost)
				s.via.kinds[k] = min(s.via.kinds[k], cost)
			}
		}
	}
}

// throughEnd fills via for ends, after throughFront.
func (s *solver) throughEnd(st *state, i int) {
	c := &s.p.Chains[i]
	shifts, ends := st.days(i, Shift), st.days(i, End)
	reach := far
	for d := range s.p.Days {
		if e := d - c.Rest; e >= 0 && shifts.has(e) && s.via.days[Shift][e] < far {
			reach = min(reach, s.via.days[Shift][e]-s.best[d])
		}
		s.via.days[End][d] = far
		if reach < far && ends.has(d) {
			s.via.days[End][d] = reach + s.tail[d]
		}
	}
}

func fill(a []int64, v int64) {
	for i := range a {
		a[i] = v
	}
}
