package schedule

import "slices"

// mostProposals is how many ways out a person is asked to weigh.
const mostProposals = 5

// choose leaves the proposals worth weighing, best first: none that another of
// its kind is no worse than in anything a person cares about, the best of each
// kind before a second one of any, and each under a title of its own.
func (r *reshuffle) choose() []Proposal {
	slices.SortStableFunc(r.out, func(a, b *candidate) int { return a.Plan.Objective.Compare(b.Plan.Objective) })
	var kept []*candidate
	for _, c := range r.out {
		if !slices.ContainsFunc(r.out, func(other *candidate) bool { return other.beats(c) }) {
			kept = append(kept, c)
		}
	}
	titles := map[string]bool{}
	var out []Proposal
	for _, c := range bestOfKinds(kept) {
		if len(out) < mostProposals && c.entitle(titles) {
			c.draft.complete(r.planner)
			out = append(out, c.Proposal)
		}
	}
	slices.SortStableFunc(out, func(a, b Proposal) int { return a.Plan.Objective.Compare(b.Plan.Objective) })
	return out
}

// bestOfKinds puts the first candidate of each kind before all others.
func bestOfKinds(list []*candidate) []*candidate {
	seen := map[ProposalKind]bool{}
	var first, rest []*candidate
	for _, c := range list {
		if seen[c.Kind] {
			rest = append(rest, c)
			continue
		}
		seen[c.Kind] = true
		first = append(first, c)
	}
	return append(first, rest...)
}

// candidate is a proposal with what it means beside the published plan.
type candidate struct {
	Proposal
	draft        *draft
	consequences *consequences
	price        price
	found        int // its place among all that were found, the earlier the better
}

// price is what a person pays for a proposal.
type price struct {
	late     map[string]int // by order: days late
	told     map[string]int // by order ready after what was planned or told: days after what was planned
	batches  int            // to pour that were not planned
	moves    int            // steps of planned work
	firm     int            // those of them inside the firm window
	cureLess int            // days short of the wished-for cure, over all batches
}

// beats reports whether c costs no more than another proposal of its kind in
// anything; of equals the better by the objective beats, then the one found first.
func (c *candidate) beats(other *candidate) bool {
	if c == other || c.Kind != other.Kind || !c.price.within(other.price) {
		return false
	}
	if !other.price.within(c.price) {
		return true
	}
	if by := c.Plan.Objective.Compare(other.Plan.Objective); by != 0 {
		return by < 0
	}
	return c.found < other.found
}

// within reports whether p is nowhere above q.
func (p price) within(q price) bool {
	return below(p.late, q.late) && below(p.told, q.told) &&
		p.batches <= q.batches && p.moves <= q.moves && p.firm <= q.firm && p.cureLess <= q.cureLess
}

func below(a, b map[string]int) bool {
	for id, days := range a {
		if days > b[id] {
			return false
		}
	}
	return true
}

// price sums up what the consequences cost.
func (c *consequences) price() price {
	out := price{late: map[string]int{}, told: map[string]int{}, batches: len(c.added), moves: len(c.diff.Moves), firm: c.firmMoves(), cureLess: c.plan.Objective.CureShort}
	for _, o := range c.late {
		out.late[o.OrderID] = lateness(o)
	}
	for _, o := range c.diff.Late {
		switch {
		case o.NewReady.IsZero():
			out.told[o.OrderID] = unmadeDays
		case o.NewReady.After(o.OldReady):
			out.told[o.OrderID] = o.NewReady.Sub(c.was[o.OrderID])
		}
	}
	return out
}

// lateness is the days an order is late, unmadeDays where it lacks pieces.
func lateness(o OrderOutcome) int {
	if o.Short > 0 {
		return unmadeDays
	}
	return o.LateDays
}

func (c *consequences) firmMoves() int {
	firm := 0
	for _, m := range c.diff.Moves {
		if m.Firm {
			firm++
		}
	}
	return firm
}
