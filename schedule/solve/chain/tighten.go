package chain

import "context"

// tightened holds what each step costs of its day's effort, and each chain of
// the store, raised as far as no combination of steps can tell the difference.
// The schedules stay the same; the bounds that share a day's effort by
// fractions get closer to them.
type tightened struct {
	effort [][Steps][]int64 // by chain, step, day
	load   []int64
}

// Limits of tightening, in operations. What is over is left as it is, which is
// right too, only weaker.
const (
	mostTightening  = 1 << 26
	perPriced       = 1 << 10 // about as many as pricing a chain takes
	tighteningShare = 4       // of the budget that it may use at most
)

// tightener raises what is taken of one thing after another, as far as left goes.
type tightener struct {
	left int
}

// tighten returns the raised costs, and what finding them cost in priced chains.
func (p *Problem) tighten(ctx context.Context, root *state, budget int) (tightened, int) {
	t := tightened{effort: make([][Steps][]int64, len(p.Chains)), load: make([]int64, len(p.Chains))}
	groups := make([][]int64, len(t.load))
	for i := range p.Chains {
		for s := range Steps {
			t.effort[i][s] = p.efforts(p.Chains[i].Effort[s])
		}
		t.load[i] = int64(min(p.Chains[i].Load, p.Store+1))
		groups[i] = t.load[i : i+1]
	}
	most := min(mostTightening, budget/tighteningShare*perPriced)
	with := &tightener{left: most}
	with.raise(groups, p.Store)
	for d := 0; d < p.Days && ctx.Err() == nil; d++ {
		p.tightenDay(with, &t, root, d)
	}
	return t, (most - with.left) / perPriced
}

// efforts is what a step takes of each day; where it does not fit, one too many
// is as good as more, and keeps prices times efforts small.
func (p *Problem) efforts(own int) []int64 {
	all := make([]int64, p.Days)
	for d := range all {
		all[d] = int64(min(own, p.Effort[d]+1))
	}
	return all
}

func (p *Problem) tightenDay(with *tightener, t *tightened, root *state, d int) {
	var groups [][]int64
	type owner struct{ chain, step int }
	var owners [][]owner
	for i := range p.Chains {
		c := &p.Chains[i]
		var group []int64
		var who []owner
		for s := range Steps {
			if root.days(i, s).has(d) {
				group, who = append(group, t.effort[i][s][d]), append(who, owner{i, s})
			}
		}
		if c.LagMin > 0 && c.Rest > 0 {
			groups, owners = append(groups, group), append(owners, who)
			continue
		}
		for j := range group { // two steps of this chain may share a day
			groups, owners = append(groups, group[j:j+1]), append(owners, who[j:j+1])
		}
	}
	with.raise(groups, p.Effort[d])
	for g, who := range owners {
		for j, o := range who {
			t.effort[o.chain][o.step][d] = groups[g][j]
		}
	}
}

// raise lifts the members of a knapsack of which each group gives at most one:
// a member becomes what is left of the capacity beside the fullest load that
// the other groups can add to it.
func (t *tightener) raise(groups [][]int64, capacity int) {
	t.left -= len(groups)
	if fitTogether(groups, int64(capacity)) {
		return
	}
	unit := unitOf(groups, capacity)
	room := capacity / unit
	if len(groups)*(room/64+1) > t.left { // before memory is taken for it
		return
	}
	after := t.loadsAfter(groups, unit, room)
	before := newLoads(room)
	for g, group := range groups {
		if t.left <= 0 {
			return
		}
		for j, size := range group {
			if size > 0 && size <= int64(capacity) {
				rest := room - int(size)/unit
				group[j] = int64((room - t.fullest(before, after[g], rest)) * unit)
			}
		}
		before = t.with(before, group, unit)
	}
}

// fitTogether says whether the largest members of all groups fit.
func fitTogether(groups [][]int64, capacity int64) bool {
	var sum int64
	for _, group := range groups {
		var most int64
		for _, size := range group {
			most = max(most, size)
		}
		sum += most
	}
	return sum <= capacity
}

// unitOf is the greatest number that divides the capacity and every member.
func unitOf(groups [][]int64, capacity int) int {
	unit := capacity
	for _, group := range groups {
		for _, size := range group {
			for rest := int(size); rest != 0; {
				unit, rest = rest, unit%rest
			}
		}
	}
	return max(unit, 1)
}

// newLoads is the set of the loads that can be made of nothing: 0.
func newLoads(room int) set {
	loads := make(set, room/64+1)
	loads.add(0)
	return loads
}

// loadsAfter is, for each group, the loads that the groups after it can make.
func (t *tightener) loadsAfter(groups [][]int64, unit, room int) []set {
	after := make([]set, len(groups))
	loads := newLoads(room)
	for g := len(groups) - 1; g >= 0; g-- {
		after[g] = loads
		loads = t.with(loads, groups[g], unit)
	}
	return after
}

// with is the loads that are made with one group more; members and loads past
// the room fall out, and those in the last word's spare bits do no harm.
func (t *tightener) with(loads set, group []int64, unit int) set {
	more := append(set(nil), loads...)
	for _, size := range group {
		more.addShifted(loads, int(size)/unit)
		t.left -= len(loads)
	}
	return more
}

// fullest is the largest sum, up to a limit, of a load before and a load after.
func (t *tightener) fullest(before, after set, limit int) int {
	best, b := 0, limit
	for a := before.next(0); a >= 0 && a <= limit && best < limit; a = before.next(a + 1) {
		b = after.last(min(b, limit-a))
		best = max(best, a+b)
		t.left--
	}
	return best
}
