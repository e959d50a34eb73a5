package chain

// use counts what is taken on each day.
type use struct {
	kinds  [][]int64 // by kind, day
	store  []int64
	effort []int64
}

func newUse(kinds, days int) use {
	u := use{kinds: make([][]int64, kinds), store: make([]int64, days), effort: make([]int64, days)}
	for k := range u.kinds {
		u.kinds[k] = make([]int64, days)
	}
	return u
}

func (u *use) clear() {
	for k := range u.kinds {
		clear(u.kinds[k])
	}
	clear(u.store)
	clear(u.effort)
}

// certain adds what a chain takes whatever it still chooses, times sign.
func (s *solver) certain(st *state, i int, sign int64) {
	var lo, hi [Steps]int
	for step := range Steps {
		lo[step], hi[step] = st.days(i, step).min(), st.days(i, step).max()
	}
	if ks := st.kindsOf(i); ks.count() == 1 {
		kind := s.use.kinds[ks.min()]
		for d := hi[Start]; d < lo[Shift]; d++ {
			kind[d] += sign
		}
	}
	for d := hi[Shift]; d < lo[End]; d++ {
		s.use.store[d] += sign * s.cost.load[i]
	}
	for step := range Steps {
		if lo[step] == hi[step] {
			s.use.effort[lo[step]] += sign * s.cost.effort[i][step][lo[step]]
		}
	}
}

// propagate drops what can not be, until nothing more drops out; false means
// that nothing is left, or that the context has ended.
func (s *solver) propagate(st *state) bool {
	for {
		if s.ctx.Err() != nil || !s.allWhole(st) {
			return false
		}
		changed, ok := s.meetGoals(st)
		if !ok || !s.allWhole(st) {
			return false
		}
		s.use.clear()
		for i := range s.n {
			s.certain(st, i, 1)
		}
		if s.overfull() {
			return false
		}
		for i := range s.n {
			s.certain(st, i, -1)
			if s.narrow(st, i) {
				changed = true
			}
			if !s.whole(st, i) {
				return false
			}
			s.certain(st, i, 1)
		}
		if !changed {
			return true
		}
	}
}

func (s *solver) allWhole(st *state) bool {
	for i := range s.n {
		if !s.whole(st, i) {
			return false
		}
	}
	return true
}

func (s *solver) whole(st *state, i int) bool {
	return st.days(i, Start).min() >= 0 && st.days(i, Shift).min() >= 0 &&
		st.days(i, End).min() >= 0 && st.kindsOf(i).min() >= 0
}

func (s *solver) overfull() bool {
	for d := range s.p.Days {
		if s.use.store[d] > int64(s.p.Store) || s.use.effort[d] > int64(s.p.Effort[d]) {
			return true
		}
		for k := range s.use.kinds {
			if s.use.kinds[k][d] > s.units[k][d] {
				return true
			}
		}
	}
	return false
}

// narrow leaves a chain the days and kinds that fit beside what is certain of
// the others, and says whether any was dropped.
func (s *solver) narrow(st *state, i int) bool {
	before := s.choices(st, i)
	s.narrowEffort(st, i)
	s.narrowEnd(st, i)
	s.narrowFront(st, i)
	return s.choices(st, i) != before
}

func (s *solver) choices(st *state, i int) int {
	n := st.kindsOf(i).count()
	for step := range Steps {
		n += st.days(i, step).count()
	}
	return n
}

func (s *solver) narrowEffort(st *state, i int) {
	for step := range Steps {
		ds, effort := st.days(i, step), s.cost.effort[i][step]
		for d := ds.next(0); d >= 0; d = ds.next(d + 1) {
			if s.use.effort[d]+effort[d] > int64(s.p.Effort[d]) {
				ds.drop(d)
			}
		}
	}
}

// narrowEnd drops the shifts from which no end can be reached through the
// store, and the ends that no shift reaches.
func (s *solver) narrowEnd(st *state, i int) {
	c := &s.p.Chains[i]
	shifts, ends := st.days(i, Shift), st.days(i, End)
	s.untilFull(s.use.store, int64(s.p.Store)-s.cost.load[i])
	reached := s.scratch
	clear(reached)
	seen := 0 // ends before it are reached if any shift so far reaches them
	for d := shifts.next(0); d >= 0; d = shifts.next(d + 1) {
		first := ends.next(d + c.Rest)
		if first < 0 || first > s.until[d] {
			shifts.drop(d)
			continue
		}
		for e := ends.next(max(first, seen)); e >= 0 && e <= s.until[d]; e = ends.next(e + 1) {
			reached.add(e)
		}
		seen = s.until[d] + 1
	}
	keep(ends, reached)
}

func keep(d, only set) {
	for i := range d {
		d[i] &= only[i]
	}
}

// untilFull sets until[d] to the first day from d on that is over a level, or
// one past the last.
func (s *solver) untilFull(level []int64, most int64) {
	until := s.p.Days
	for d := s.p.Days - 1; d >= 0; d-- {
		if level[d] > most {
			until = d
		}
		s.until[d] = until
	}
}

// narrowFront drops starts, shifts and kinds that have no unit to go through.
func (s *solver) narrowFront(st *state, i int) {
	c := &s.p.Chains[i]
	starts, shifts, kinds := st.days(i, Start), st.days(i, Shift), st.kindsOf(i)
	okStart, okShift := s.scratch, s.scratch2
	clear(okStart)
	clear(okShift)
	for k := kinds.next(0); k >= 0; k = kinds.next(k + 1) {
		s.untilTaken(k)
		fits := false
		for d := starts.next(0); d >= 0; d = starts.next(d + 1) {
			for e := shifts.next(d + c.LagMin); e >= 0 && e <= d+c.LagMax && e <= s.until[d]; e = shifts.next(e + 1) {
				okStart.add(d)
				okShift.add(e)
				fits = true
			}
		}
		if !fits {
			kinds.drop(k)
		}
	}
	keep(starts, okStart)
	keep(shifts, okShift)
}

func (s *solver) untilTaken(k int) {
	until := s.p.Days
	for d := s.p.Days - 1; d >= 0; d-- {
		if s.use.kinds[k][d] >= s.units[k][d] {
			until = d
		}
		s.until[d] = until
	}
}

// meetGoals drops the ends and bases by which the value would pass its limits;
// false means that the limits are passed already.
func (s *solver) meetGoals(st *state) (changed, ok bool) {
	var least Value
	for i := range s.n {
		one := s.leastValue(st, i)
		least.Late += one.Late
		least.Tardy += one.Tardy
		least.Changes += one.Changes
	}
	sum := least.fields()
	for l := range s.stage + 1 {
		if sum[l] > s.limit[l] {
			return false, false
		}
	}
	for i := 0; i < s.n && s.stage != anySchedule; i++ {
		if s.meetGoal(st, i, sum) {
			changed = true
		}
	}
	return changed, true
}

func (s *solver) leastValue(st *state, i int) Value {
	c := &s.p.Chains[i]
	var v Value
	if over := st.days(i, End).min() - c.Due; over > 0 {
		v.Late, v.Tardy = c.Weight, over
	}
	if c.hasBase() && (st.moved(i) || !st.allows(i, c.Base)) {
		v.Changes = 1
	}
	return v
}

func (s *solver) meetGoal(st *state, i int, sum [levels]int) bool {
	c := &s.p.Chains[i]
	own := s.leastValue(st, i)
	last := s.p.Days
	if own.Late == 0 && sum[0]+c.Weight > s.limit[0] {
		last = c.Due
	}
	if s.stage >= 1 {
		last = min(last, max(c.Due, c.Due+own.Tardy+s.limit[1]-sum[1]))
	}
	changed := st.days(i, End).clip(0, last)
	if s.stage < 2 || !c.hasBase() || own.Changes == 1 || sum[2] < s.limit[2] {
		return changed
	}
	before := s.choices(st, i)
	st.restrict(i, c.Base)
	return changed || s.choices(st, i) != before
}
