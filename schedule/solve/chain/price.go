package chain

// far is more than any priced chain costs.
const far = int64(1) << 58

// Prices are one list of fixed-point numbers, so that a bound is exact and the
// same on any machine: for a unit of each kind on each day, for the store and
// the effort of each day, and for passing the limit of each level decided
// before. These give the place of a price in the list.

func (s *solver) atKind(k, d int) int { return k*s.p.Days + d }
func (s *solver) atStore(d int) int   { return len(s.p.Kinds)*s.p.Days + d }
func (s *solver) atEffort(d int) int  { return (len(s.p.Kinds)+1)*s.p.Days + d }
func (s *solver) atLevel(l int) int   { return (len(s.p.Kinds)+2)*s.p.Days + l }
func (s *solver) rows() int           { return s.atLevel(levels) }

// sumPrices prepares the prefix sums of the prices.
func (s *solver) sumPrices() {
	y := s.y
	for k := range s.p.Kinds {
		for d := range s.p.Days {
			s.kindSum[k][d+1] = s.kindSum[k][d] + y[s.atKind(k, d)]
		}
	}
	for d := range s.p.Days {
		s.storeSum[d+1] = s.storeSum[d] + y[s.atStore(d)]
	}
	for l := range levels {
		switch {
		case l < s.stage:
			s.charge[l] = y[s.atLevel(l)]
		case l == s.stage:
			s.charge[l] = s.scale
		default:
			s.charge[l] = 0
		}
	}
}

// priced is the cheapest place of a chain at the given prices.
type priced struct {
	place Place
	cost  int64
}

// evaluate finds each chain's cheapest place at the prices, and returns the
// sum, less what the capacities and limits are worth: in units of s.scale, no
// schedule within the limits costs less at this stage.
func (s *solver) evaluate(st *state) int64 {
	y := s.y
	s.work += s.n
	s.sumPrices()
	var total int64
	for r, price := range y {
		if price != 0 {
			total -= price * s.capacity[r]
		}
	}
	for l := range s.stage {
		total -= y[s.atLevel(l)] * int64(s.limit[l])
	}
	for i := range s.n {
		s.picks[i] = s.cheapest(st, i)
		total += s.picks[i].cost
	}
	return total
}

// endCosts fills tail[d], what an end on day d costs, with the store's sum up to
// it; and best[d], the cheapest end from d on, for the days that a shift may ask
// for.
func (s *solver) endCosts(st *state, i int) {
	c := &s.p.Chains[i]
	ends, effort, load := st.days(i, End), s.cost.effort[i][End], s.cost.load[i]
	first, last := st.days(i, Shift).min()+c.Rest, max(ends.max(), st.days(i, Shift).max()+c.Rest)
	prices := s.y[s.atEffort(0):s.atEffort(s.p.Days)]
	best, at := far, -1
	for d := last; d >= first; d-- {
		if d < s.p.Days && ends.has(d) {
			cost := prices[d]*effort[d] + load*s.storeSum[d]
			if over := d - c.Due; over > 0 {
				cost += s.charge[0]*int64(c.Weight) + s.charge[1]*int64(over)
			}
			s.tail[d] = cost
			if cost <= best {
				best, at = cost, d
			}
		}
		s.best[d], s.bestAt[d] = best, at
	}
}

// shiftCosts fills mid[d], what a shift on day d costs but for its unit, with
// the cheapest end after it.
func (s *solver) shiftCosts(st *state, i int) {
	c := &s.p.Chains[i]
	shifts, effort, load := st.days(i, Shift), s.cost.effort[i][Shift], s.cost.load[i]
	for d := shifts.next(0); d >= 0; d = shifts.next(d + 1) {
		s.mid[d] = s.y[s.atEffort(d)]*effort[d] - load*s.storeSum[d] + s.best[d+c.Rest]
	}
}

// cheapest is the cheapest place of one chain.
func (s *solver) cheapest(st *state, i int) priced {
	c := &s.p.Chains[i]
	s.endCosts(st, i)
	s.shiftCosts(st, i)
	starts, shifts, kinds := st.days(i, Start), st.days(i, Shift), st.kindsOf(i)
	effort := s.cost.effort[i][Start]
	p := priced{cost: far}
	for d := starts.next(0); d >= 0; d = starts.next(d + 1) {
		own := s.y[s.atEffort(d)] * effort[d]
		for e := shifts.next(d + c.LagMin); e >= 0 && e <= d+c.LagMax; e = shifts.next(e + 1) {
			for k := kinds.next(0); k >= 0; k = kinds.next(k + 1) {
				if cost := own + s.mid[e] + s.kindSum[k][e] - s.kindSum[k][d]; cost < p.cost {
					p = priced{Place{[Steps]int{d, e, s.bestAt[e+c.Rest]}, k}, cost}
				}
			}
		}
	}
	return s.orBase(st, i, p)
}

// orBase adds the charge for differing from the base, or takes the base where
// that is cheaper.
func (s *solver) orBase(st *state, i int, p priced) priced {
	c := &s.p.Chains[i]
	if s.charge[2] == 0 || !c.hasBase() {
		return p
	}
	if st.moved(i) || !st.allows(i, c.Base) {
		p.cost += s.charge[2]
		return p
	}
	if !c.wholeBase() {
		return p
	}
	base := priced{c.Base, s.baseCost(i)}
	p.cost += s.charge[2]
	if base.cost <= p.cost {
		return base
	}
	return p
}

// baseCost is the price of the whole base, after endCosts and shiftCosts.
func (s *solver) baseCost(i int) int64 {
	c := &s.p.Chains[i]
	at := c.Base.At
	kind := s.kindSum[c.Base.Kind]
	return s.y[s.atEffort(at[Start])]*s.cost.effort[i][Start][at[Start]] +
		s.y[s.atEffort(at[Shift])]*s.cost.effort[i][Shift][at[Shift]] +
		kind[at[Shift]] - kind[at[Start]] -
		s.cost.load[i]*s.storeSum[at[Shift]] + s.tail[at[End]]
}

// balance fills excess with what the picked places take beyond each capacity
// and limit.
func (s *solver) balance() {
	clear(s.excess)
	for i := range s.n {
		at := s.picks[i].place
		s.excess[s.atKind(at.Kind, at.At[Start])]++
		s.excess[s.atKind(at.Kind, at.At[Shift])]--
		s.excess[s.atStore(at.At[Shift])] += s.cost.load[i]
		s.excess[s.atStore(at.At[End])] -= s.cost.load[i]
	}
	for k := range len(s.p.Kinds) + 1 { // the store comes after the kinds
		from := s.atKind(k, 0)
		addUp(s.excess[from : from+s.p.Days])
	}
	for i := range s.n {
		at := s.picks[i].place
		for step, d := range at.At {
			s.excess[s.atEffort(d)] += s.cost.effort[i][step][d]
		}
		v := s.p.Chains[i].value(at).fields()
		for l := range s.stage {
			s.excess[s.atLevel(l)] += int64(v[l])
		}
	}
	for r, c := range s.capacity {
		s.excess[r] -= c
	}
	for l := range s.stage {
		s.excess[s.atLevel(l)] -= int64(s.limit[l])
	}
}

// addUp turns changes from day to day into levels.
func addUp(a []int64) {
	var sum int64
	for d, change := range a {
		sum += change
		a[d] = sum
	}
}
