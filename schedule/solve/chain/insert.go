package chain

import "math/rand/v2"

// taste says which of equally good places an insertion takes.
type taste int

const (
	early taste = iota // ends first
	tight              // starts last
	cheap              // costs least at the present prices
	tastes
)

// builder holds a schedule that is being put together.
type builder struct {
	s      *solver
	root   *state
	use    use
	places []Place
	placed []bool
	nextIn []int // first day from each on that an end may use
}

func (s *solver) newBuilder(root *state) *builder {
	return &builder{s: s, root: root, use: newUse(len(s.p.Kinds), s.p.Days), places: make([]Place, s.n), placed: make([]bool, s.n), nextIn: make([]int, s.p.Days+1)}
}

func (b *builder) reset() {
	b.use.clear()
	clear(b.placed)
}

// add puts a chain in its place, or with sign -1 takes it out.
func (b *builder) add(i int, at Place, sign int64) {
	for d := at.At[Start]; d < at.At[Shift]; d++ {
		b.use.kinds[at.Kind][d] += sign
	}
	for d := at.At[Shift]; d < at.At[End]; d++ {
		b.use.store[d] += sign * b.s.cost.load[i]
	}
	for step, d := range at.At {
		b.use.effort[d] += sign * b.s.cost.effort[i][step][d]
	}
	b.places[i], b.placed[i] = at, sign > 0
}

func (b *builder) effortFits(i, step, d int) bool {
	return b.root.days(i, step).has(d) && b.use.effort[d]+b.s.cost.effort[i][step][d] <= int64(b.s.p.Effort[d])
}

// found is the best place of an insertion so far.
type found struct {
	place     Place
	cost, tie int64
	ok        bool
}

// insert puts a chain into its best free place, and says whether there is one.
func (b *builder) insert(i int, how taste) bool {
	s, c := b.s, &b.s.p.Chains[i]
	b.nextIn[s.p.Days] = -1
	for d := s.p.Days - 1; d >= 0; d-- {
		b.nextIn[d] = b.nextIn[d+1]
		if b.effortFits(i, End, d) {
			b.nextIn[d] = d
		}
	}
	var best found
	if c.wholeBase() && b.free(i, c.Base) {
		best = found{c.Base, s.weigh(i, c.Base), b.tie(i, c.Base, how), true}
	}
	starts := b.root.days(i, Start)
	for d := starts.next(0); d >= 0; d = starts.next(d + 1) {
		if b.effortFits(i, Start, d) {
			b.insertFrom(i, d, how, &best)
		}
	}
	if best.ok {
		b.add(i, best.place, 1)
	}
	return best.ok
}

// insertFrom tries the places that start on one day.
func (b *builder) insertFrom(i, d int, how taste, best *found) {
	s, c := b.s, &b.s.p.Chains[i]
	shifts, kinds := b.root.days(i, Shift), b.root.kindsOf(i)
	for e := shifts.next(d + c.LagMin); e >= 0 && e <= d+c.LagMax; e = shifts.next(e + 1) {
		if !b.effortFits(i, Shift, e) || e+c.Rest >= s.p.Days {
			continue
		}
		end := b.nextIn[e+c.Rest]
		if end < 0 {
			continue
		}
		for k := kinds.next(0); k >= 0; k = kinds.next(k + 1) {
			at := Place{[Steps]int{d, e, end}, k}
			cost, tie := s.weigh(i, at), b.tie(i, at, how)
			if best.ok && (cost > best.cost || cost == best.cost && tie >= best.tie) {
				continue
			}
			if b.free(i, at) {
				*best = found{at, cost, tie, true}
			}
		}
	}
}

// free says whether a place is open to a chain and fits beside those placed.
func (b *builder) free(i int, at Place) bool {
	s, c := b.s, &b.s.p.Chains[i]
	if !c.keepsLags(at) || !b.root.allows(i, at) {
		return false
	}
	for d := at.At[Start]; d < at.At[Shift]; d++ {
		if b.use.kinds[at.Kind][d] >= s.units[at.Kind][d] {
			return false
		}
	}
	for d := at.At[Shift]; d < at.At[End]; d++ {
		if b.use.store[d]+s.cost.load[i] > int64(s.p.Store) {
			return false
		}
	}
	return b.effortsFit(i, at)
}

// effortsFit also counts the steps of one chain that fall on one day.
func (b *builder) effortsFit(i int, at Place) bool {
	for step, d := range at.At {
		sum := b.use.effort[d]
		for other, o := range at.At {
			if o == d {
				sum += b.s.cost.effort[i][other][d]
			}
		}
		if !b.root.days(i, step).has(d) || sum > int64(b.s.p.Effort[d]) {
			return false
		}
	}
	return true
}

// weigh makes one number of a chain's value.
func (s *solver) weigh(i int, at Place) int64 {
	v := s.p.Chains[i].value(at)
	days := int64(s.n*s.p.Days + 1)
	return (int64(v.Late)*days+int64(v.Tardy))*int64(s.n+1) + int64(v.Changes)
}

func (b *builder) tie(i int, at Place, how taste) int64 {
	s := b.s
	switch how {
	case tight:
		return int64(at.At[Shift]-2*at.At[Start])<<8 + int64(at.Kind)
	case cheap:
		cost := s.kindSum[at.Kind][at.At[Shift]] - s.kindSum[at.Kind][at.At[Start]] +
			s.cost.load[i]*(s.storeSum[at.At[End]]-s.storeSum[at.At[Shift]])
		for step, d := range at.At {
			cost += s.y[s.atEffort(d)] * s.cost.effort[i][step][d]
		}
		return cost
	default:
		return int64(at.At[End]*s.p.Days+at.At[Shift])<<8 + int64(at.Kind)
	}
}

// buildFromPicks inserts all chains in the order in which the relaxation would
// start them.
func (b *builder) buildFromPicks() {
	s := b.s
	order := s.order
	for i := range order {
		order[i] = i
	}
	for a := 1; a < len(order); a++ {
		for j := a; j > 0 && s.picks[order[j]].place.At[Start] < s.picks[order[j-1]].place.At[Start]; j-- {
			order[j], order[j-1] = order[j-1], order[j]
		}
	}
	b.reset()
	s.work += s.n
	for _, i := range order {
		if at := s.picks[i].place; b.free(i, at) {
			b.add(i, at, 1)
		}
	}
	for _, i := range order {
		if !b.placed[i] && !b.insert(i, cheap) {
			return
		}
	}
	s.offer(b.places)
}

// Turns of the neighbourhood search are taken in spells: in every second one a
// schedule may be worse than the best by as much late weight as its number in
// the cycle says.
const (
	spell     = 500
	spellings = 4
)

// search takes chains out of a schedule and puts them back elsewhere (Shaw
// 1998), for a number of turns, beginning with the best one.
func (b *builder) search(r *rand.Rand, turns int) {
	s := b.s
	current, v := append([]Place(nil), s.places...), s.value
	b.load(current)
	for turn := range turns {
		if s.value == (Value{}) || s.ctx.Err() != nil {
			return
		}
		if turn%(2*spell) == 0 { // back to the best
			copy(current, s.places)
			v = s.value
			b.load(current)
		}
		spare := turn / spell % (2 * spellings) * (turn / spell % 2)
		next, ok := b.reseat(r, current)
		if !ok || v.Less(next) && next.Late > s.value.Late+spare || spare == 0 && v.Less(next) {
			b.load(current)
			continue
		}
		v = next
		copy(current, b.places)
		s.offer(current)
	}
}

// reseat takes a few chains out and puts them back in another order; false
// means that one found no place.
func (b *builder) reseat(r *rand.Rand, current []Place) (Value, bool) {
	s := b.s
	out := s.order[:0]
	for len(out) < min(s.n, 2+r.IntN(4)) {
		if i := r.IntN(s.n); b.placed[i] {
			b.add(i, current[i], -1)
			out = append(out, i)
		}
	}
	if !b.putBack(r, out) {
		return Value{}, false
	}
	return s.p.value(b.places), true
}

func (b *builder) putBack(r *rand.Rand, out []int) bool {
	b.s.work += len(out)
	r.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	for _, i := range out {
		if !b.insert(i, taste(r.IntN(int(cheap)))) {
			return false
		}
	}
	return true
}

// fits says whether a schedule is one: each place open to its chain, and room
// for all of them.
func (b *builder) fits(places []Place) bool {
	b.reset()
	for i, at := range places {
		if !b.free(i, at) {
			return false
		}
		b.add(i, at, 1)
	}
	return true
}

func (b *builder) load(places []Place) {
	b.reset()
	for i, at := range places {
		b.add(i, at, 1)
	}
}

// begin looks for a first schedule: by due date, then in random orders.
func (b *builder) begin(r *rand.Rand, tries int) {
	s := b.s
	order := make([]int, s.n)
	for i := range order {
		order[i] = i
	}
	for a := 1; a < s.n; a++ {
		for j := a; j > 0 && s.haste(order[j]) < s.haste(order[j-1]); j-- {
			order[j], order[j-1] = order[j-1], order[j]
		}
	}
	for range tries {
		if s.ctx.Err() != nil {
			return
		}
		b.reset()
		s.work += s.n
		all := true
		for _, i := range order {
			all = all && b.insert(i, early)
		}
		if all {
			s.offer(b.places)
			return
		}
		r.Shuffle(s.n, func(i, j int) { order[i], order[j] = order[j], order[i] })
	}
}

// haste orders chains by due date, what has happened first.
func (s *solver) haste(i int) int {
	c := &s.p.Chains[i]
	if c.Fixed != Free {
		return -1
	}
	return c.Due
}
