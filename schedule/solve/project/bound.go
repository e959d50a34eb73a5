package project

// bound is a makespan that no schedule undercuts: the longest way through the
// lags, and for each resource the units of time its work takes at full use
// between the least head and the least tail of those that need it.
func (g *network) bound(p *Problem, names []int) int {
	heads, tails := g.heads(), g.tails()
	bound := 0
	for i := range names {
		bound = max(bound, heads[i]+tails[i])
	}
	for r, capacity := range p.Capacities {
		work, head, rest := 0, bound, bound
		for i, a := range names {
			use := p.Activities[a].use(r)
			if use == 0 {
				continue
			}
			work += use
			head, rest = min(head, heads[i]), min(rest, tails[i]-g.duration[i])
		}
		if work > 0 {
			bound = max(bound, head+max(0, rest)+(work+capacity-1)/capacity)
		}
	}
	return bound
}

// use is the units of a resource an activity needs, times how long.
func (a *Activity) use(r int) int {
	if r >= len(a.Demands) {
		return 0
	}
	return a.Demands[r] * a.Duration
}
