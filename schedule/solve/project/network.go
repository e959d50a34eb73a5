package project

import "slices"

// network is a problem made ready for building schedules in one direction of
// time: activities are numbered so that lags point from lower to higher ones.
// Its mirror is the same problem with time running backwards, in which activity
// i of n is n-1-i and a start is a former end.
type network struct {
	n, words int
	duration []int
	typical  int      // mean of the durations that are not 0, at least 1
	demand   []uint64 // words of each activity, packed
	full     []uint64 // words of the capacities, packed
	guard    uint64   // the highest bit of each lane
	first    []int    // arcs into activity i are first[i] to first[i+1]
	from     []int    // where an arc comes from
	lag      []int    // of an arc, from start to start
}

// arc is a lag between numbered activities.
type arc struct{ from, to, lag int }

// newNetwork numbers the activities of a problem without maximum lags, and gives
// with it which activity each number stands for.
func newNetwork(p *Problem) (*network, []int) {
	order, _ := p.topological()
	number := make([]int, len(order))
	g := &network{n: len(order), duration: make([]int, len(order))}
	for i, a := range order {
		number[a], g.duration[i] = i, p.Activities[a].Duration
	}
	arcs := make([]arc, len(p.Lags))
	for k, l := range p.Lags {
		arcs[k] = arc{number[l.From], number[l.To], l.Min}
	}
	g.join(arcs)
	g.pack(p, order)
	g.typical = middle(g.duration)
	return g, order
}

// join files the arcs by where they end.
func (g *network) join(arcs []arc) {
	slices.SortStableFunc(arcs, func(a, b arc) int { return a.to - b.to })
	g.first, g.from, g.lag = make([]int, g.n+1), make([]int, len(arcs)), make([]int, len(arcs))
	for k, a := range arcs {
		g.from[k], g.lag[k] = a.from, a.lag
		g.first[a.to+1]++
	}
	for i := range g.n {
		g.first[i+1] += g.first[i]
	}
}

// arcs lists the arcs again.
func (g *network) arcs() []arc {
	var arcs []arc
	for to := range g.n {
		for k := g.first[to]; k < g.first[to+1]; k++ {
			arcs = append(arcs, arc{g.from[k], to, g.lag[k]})
		}
	}
	return arcs
}

// pack writes demands and capacities side by side into words, one lane for each
// resource, so that one subtraction tells whether all of them suffice.
func (g *network) pack(p *Problem, order []int) {
	lanes, width := 4, 16
	if len(p.Capacities) > 0 && slices.Max(p.Capacities) >= 1<<15 {
		lanes, width = 2, 32
	}
	for lane := range lanes {
		g.guard |= 1 << (lane*width + width - 1)
	}
	g.words = max(1, (len(p.Capacities)+lanes-1)/lanes)
	g.full = make([]uint64, g.words)
	g.demand = make([]uint64, g.n*g.words)
	put := func(into []uint64, r, units int) { into[r/lanes] |= uint64(units) << (r % lanes * width) }
	for r, c := range p.Capacities {
		put(g.full, r, c)
	}
	for i, a := range order {
		if p.Activities[a].Duration == 0 {
			continue // it holds nothing at any time
		}
		for r, d := range p.Activities[a].Demands {
			put(g.demand[i*g.words:(i+1)*g.words], r, d)
		}
	}
}

// mirror turns time round.
func (g *network) mirror() *network {
	m := &network{n: g.n, words: g.words, full: g.full, guard: g.guard}
	m.duration = slices.Clone(g.duration)
	slices.Reverse(m.duration)
	m.demand = make([]uint64, len(g.demand))
	for i := range g.n {
		copy(m.demand[i*g.words:(i+1)*g.words], g.demand[(g.n-1-i)*g.words:])
	}
	arcs := g.arcs()
	for k, a := range arcs {
		arcs[k] = arc{g.n - 1 - a.to, g.n - 1 - a.from, a.lag + g.duration[a.to] - g.duration[a.from]}
	}
	m.join(arcs)
	return m
}

// heads are the earliest starts if every resource were without limit.
func (g *network) heads() []int {
	heads := make([]int, g.n)
	for i := range g.n {
		for k := g.first[i]; k < g.first[i+1]; k++ {
			heads[i] = max(heads[i], heads[g.from[k]]+g.lag[k])
		}
	}
	return heads
}

// tails are the longest ways from the starts of activities to the end of all.
func (g *network) tails() []int {
	tails := slices.Clone(g.duration)
	for i := g.n - 1; i >= 0; i-- {
		for k := g.first[i]; k < g.first[i+1]; k++ {
			tails[g.from[k]] = max(tails[g.from[k]], tails[i]+g.lag[k])
		}
	}
	return tails
}

// middle is the mean of the durations that are not 0, at least 1.
func middle(durations []int) int {
	sum, count := 0, 0
	for _, d := range durations {
		if d > 0 {
			sum, count = sum+d, count+1
		}
	}
	return max(1, sum/max(1, count))
}
