package chain

// tightened holds what each step costs of its day's effort, and each chain of
// the store, raised as far as no combination of steps can tell the difference.
// The schedules stay the same; the bounds that share a day's effort by
// fractions get closer to them.
type tightened struct {
	effort [][Steps][]int64 // by chain, step, day
	load   []int64
}

func (p *Problem) tighten(root *state) tightened {
	t := tightened{effort: make([][Steps][]int64, len(p.Chains)), load: make([]int64, len(p.Chains))}
	for i := range p.Chains {
		for s := range Steps {
			t.effort[i][s] = make([]int64, p.Days)
		}
		t.load[i] = int64(p.Chains[i].Load)
	}
	for d := range p.Days {
		p.tightenDay(&t, root, d)
	}
	groups := make([][]int64, len(t.load))
	for i, l := range t.load {
		groups[i] = []int64{l}
	}
	raise(groups, p.Store)
	for i := range t.load {
		t.load[i] = groups[i][0]
	}
	return t
}

func (p *Problem) tightenDay(t *tightened, root *state, d int) {
	var groups [][]int64
	type owner struct{ chain, step int }
	var owners [][]owner
	for i := range p.Chains {
		c := &p.Chains[i]
		var group []int64
		var who []owner
		for s := range Steps {
			t.effort[i][s][d] = int64(c.Effort[s])
			if root.days(i, s).has(d) {
				group, who = append(group, int64(c.Effort[s])), append(who, owner{i, s})
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
	raise(groups, p.Effort[d])
	for g, who := range owners {
		for j, o := range who {
			t.effort[o.chain][o.step][d] = groups[g][j]
		}
	}
}

// raise lifts the members of a knapsack of which each group gives at most one:
// a member becomes what is left of the capacity beside the fullest load that
// the other groups can add to it.
func raise(groups [][]int64, capacity int) {
	for g := range groups {
		if len(groups[g]) == 0 {
			continue
		}
		reach := reachable(groups, g, capacity)
		for j, size := range groups[g] {
			if size <= 0 || size > int64(capacity) {
				continue
			}
			rest := capacity - int(size)
			for !reach[rest] {
				rest--
			}
			groups[g][j] = int64(capacity - rest)
		}
	}
}

// reachable marks the loads up to capacity that the groups other than one make.
func reachable(groups [][]int64, other, capacity int) []bool {
	reach := make([]bool, capacity+1)
	reach[0] = true
	for g, group := range groups {
		if g == other {
			continue
		}
		for load := capacity; load >= 0; load-- {
			for _, size := range group {
				if below := load - int(size); below >= 0 && reach[below] {
					reach[load] = true
				}
			}
		}
	}
	return reach
}
