package project

import (
	"cmp"
	"slices"
)

// distances is the least time from each start to each other that the lags, and
// what follows from them, ask for.
type distances struct {
	n     int
	from  []int // n*n, row by row
	added []Lag // what add was asked for
}

const unrelated = -1 << 60

func (d *distances) at(i, j int) int { return d.from[i*d.n+j] }

// newDistances closes the lags over all paths; false: a cycle asks a start to
// be later than itself.
func newDistances(p *Problem) (*distances, bool) {
	n := len(p.Activities)
	d := &distances{n: n, from: make([]int, n*n)}
	for i := range d.from {
		d.from[i] = unrelated
	}
	for i := range n {
		d.from[i*n+i] = 0
	}
	for _, l := range p.Lags {
		k := l.From*n + l.To
		d.from[k] = max(d.from[k], l.Min)
	}
	for k := range n {
		d.through(k)
	}
	for i := range n {
		if d.at(i, i) > 0 {
			return d, false
		}
	}
	return d, true
}

// through lengthens distances by the ways over one start.
func (d *distances) through(k int) {
	via := d.from[k*d.n : (k+1)*d.n]
	for i := range d.n {
		d.over(i, d.from[i*d.n+k], via)
	}
}

func (d *distances) over(i, first int, via []int) {
	if first == unrelated {
		return
	}
	row := d.from[i*d.n : (i+1)*d.n]
	for j, rest := range via {
		if rest != unrelated {
			row[j] = max(row[j], first+rest)
		}
	}
}

// add puts one more lag in; false when it closes a cycle that is too long.
func (d *distances) add(i, j, least int) bool {
	if d.at(i, j) >= least {
		return true
	}
	d.added = append(d.added, Lag{i, j, least})
	for a := range d.n {
		if d.at(a, i) != unrelated {
			d.over(a, d.at(a, i)+least, d.from[j*d.n:(j+1)*d.n])
		}
	}
	return d.at(i, i) <= 0 && d.at(j, j) <= 0
}

// pair is two activities that can not overlap and whose order is open.
type pair struct{ a, b int }

// order finds the pairs that can not overlap, adds the orders that distances
// leave no choice of, and returns the others; false: some pair has no order.
func (d *distances) order(p *Problem) ([]pair, bool) {
	open := exclusive(p)
	for changed := true; changed; {
		changed = false
		left := open[:0]
		for _, x := range open {
			da, db := p.Activities[x.a].Duration, p.Activities[x.b].Duration
			switch {
			case d.at(x.a, x.b) >= da || d.at(x.b, x.a) >= db:
			case d.at(x.a, x.b) > -db: // b can not end before a starts
				changed = true
				if !d.add(x.a, x.b, da) {
					return nil, false
				}
			case d.at(x.b, x.a) > -da:
				changed = true
				if !d.add(x.b, x.a, db) {
					return nil, false
				}
			default:
				left = append(left, x)
			}
		}
		open = left
	}
	return open, true
}

// needed are the lags that no way over others makes superfluous.
func (d *distances) needed(p *Problem) []Lag {
	all := slices.Concat(p.Lags, d.added)
	slices.SortFunc(all, func(a, b Lag) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To), cmp.Compare(a.Min, b.Min))
	})
	return slices.DeleteFunc(slices.Compact(all), func(l Lag) bool {
		return l.From == l.To || d.at(l.From, l.To) > l.Min
	})
}

// exclusive are the pairs that together need more than there is.
func exclusive(p *Problem) []pair {
	var out []pair
	for a := range p.Activities {
		for b := range a {
			if p.clash(b, a) {
				out = append(out, pair{b, a})
			}
		}
	}
	return out
}

func (p *Problem) clash(a, b int) bool {
	x, y := &p.Activities[a], &p.Activities[b]
	if x.Duration == 0 || y.Duration == 0 {
		return false
	}
	for r := range min(len(x.Demands), len(y.Demands)) {
		if x.Demands[r]+y.Demands[r] > p.Capacities[r] {
			return true
		}
	}
	return false
}

// horizon is a makespan that is enough if any is: a schedule with a time at
// which nothing runs and no lag is pending can be moved together there.
func (d *distances) horizon(p *Problem) int {
	total := 0
	for i, a := range p.Activities {
		longest := a.Duration
		for j := range d.n {
			longest = max(longest, d.at(i, j))
		}
		total += longest
	}
	return total
}

// soonest is a makespan that none undercuts: for each resource its work at full
// use, between the least time before and after the activities that need it.
func (d *distances) soonest(p *Problem) int {
	bound := 0
	for r, capacity := range p.Capacities {
		work, before, after := 0, farthest, farthest
		capacity = min(capacity, farthest) // demands add up to no more
		for i, a := range p.Activities {
			use := a.use(r)
			if use == 0 {
				continue
			}
			work += use
			before, after = min(before, d.before(i)), min(after, d.after(p, i))
		}
		if work > 0 {
			bound = max(bound, before+(work+capacity-1)/capacity+after)
		}
	}
	return bound
}

// before is the least time from 0 to a start, after that from an end to the
// end of everything.
func (d *distances) before(i int) int {
	head := 0
	for j := range d.n {
		head = max(head, d.at(j, i))
	}
	return head
}

func (d *distances) after(p *Problem, i int) int {
	tail := 0
	for j, a := range p.Activities {
		tail = max(tail, d.at(i, j)+a.Duration)
	}
	return tail - p.Activities[i].Duration
}
