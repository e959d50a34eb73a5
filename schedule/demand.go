package schedule

import (
	"cmp"
	"slices"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// claim is one line of an order that binds, and what it still lacks.
type claim struct {
	order    *Order
	line     *Line
	deadline civil.Date
	lacking  int
}

// deadline is the last day on which all may be wrapped.
func (o *Order) deadline() civil.Date { return o.NeededBy.AddDays(-o.HandOver) }

// claims lists the lines of the binding orders by deadline, weight (heavier
// first), and id; those of orders that yield come after all others, and of the
// order named last after these.
func (pl *planner) claims(po policy) []*claim {
	return pl.claimsOn(po, func(string) bool { return true })
}

// claimsOn lists those on some designs.
func (pl *planner) claimsOn(po policy, asked func(designID string) bool) []*claim {
	var lacking map[string]bool
	if po.told {
		lacking = pl.problem.lacking()
	}
	lines := 0
	for i := range pl.problem.Orders {
		lines += len(pl.problem.Orders[i].Lines)
	}
	all, out := make([]claim, 0, lines), make([]*claim, 0, lines)
	for i := range pl.problem.Orders {
		o := &pl.problem.Orders[i]
		if !o.Accepted {
			continue
		}
		deadline := o.deadline()
		if lacking[o.ID] && !o.Told.IsZero() {
			deadline = earlier(deadline, o.Told)
		}
		for j := range o.Lines {
			if l := &o.Lines[j]; asked(l.DesignID) {
				all = append(all, claim{order: o, line: l, deadline: deadline, lacking: l.Pieces})
				out = append(out, &all[len(all)-1])
			}
		}
	}
	po.sort(out)
	return out
}

// lacking is the accepted orders that are allocated less than they ask for.
func (p *Problem) lacking() map[string]bool {
	got := map[string]int{}
	count := func(shares []Share) {
		for _, s := range shares {
			got[s.LineID] += s.Pieces
		}
	}
	for i := range p.Batches {
		count(p.Batches[i].For)
	}
	for i := range p.Stock {
		count(p.Stock[i].For)
	}
	out := map[string]bool{}
	for i := range p.Orders {
		for _, l := range p.Orders[i].Lines {
			if p.Orders[i].Accepted && got[l.ID] < l.Pieces {
				out[p.Orders[i].ID] = true
			}
		}
	}
	return out
}

// sort puts claims in the order they are served in.
func (po policy) sort(claims []*claim) {
	rank := func(c *claim) int {
		switch {
		case po.last != "" && c.order.ID == po.last:
			return 2
		case po.yield[c.order.ID]:
			return 1
		}
		return 0
	}
	slices.SortStableFunc(claims, func(a, b *claim) int {
		if by := cmp.Compare(rank(a), rank(b)); by != 0 {
			return by
		}
		return cmp.Or(
			a.deadline.Compare(b.deadline),
			cmp.Compare(b.order.Weight, a.order.Weight),
			cmp.Compare(a.order.ID, b.order.ID),
			cmp.Compare(a.line.ID, b.line.ID))
	})
}

// source is pieces that lines can be served from: stock, or the sound pieces of
// a batch.
type source struct {
	key      string // batch key, or stock id
	stock    bool
	designID string
	ready    solve.Time // end of wrap; before everything for stock
	left     int
	shares   []Share // what is allocated now
	spare    bool    // what nobody was to get of it stays there while others have pieces
	served   []*claim
}

// allotment gives pieces of sources to claims, which then lack less.
type allotment struct {
	claims  []*claim
	sources []*source // by when they are ready
	given   []Allocation
}

func newAllotment(claims []*claim, sources []*source) *allotment {
	byReady := slices.Clone(sources)
	slices.SortStableFunc(byReady, func(a, b *source) int {
		return cmp.Or(cmp.Compare(a.ready, b.ready), cmp.Compare(a.key, b.key))
	})
	return &allotment{claims: claims, sources: byReady, given: make([]Allocation, 0, len(claims)+len(sources)/4)}
}

func (a *allotment) give(s *source, c *claim, most int) {
	n := min(s.left, c.lacking, most)
	if n <= 0 {
		return
	}
	s.left -= n
	c.lacking -= n
	s.served = append(s.served, c)
	a.given = append(a.given, s.allocation(c, n))
}

// keep gives lines what they are allocated now.
func (a *allotment) keep() {
	byLine := make(map[string]*claim, len(a.claims))
	for _, c := range a.claims {
		byLine[c.line.ID] = c
	}
	for _, s := range a.sources {
		for _, share := range s.shares {
			if c := byLine[share.LineID]; c != nil && c.line.DesignID == s.designID {
				a.give(s, c, share.Pieces)
			}
		}
	}
}

// share gives what is left in order of deadline, from the source that is ready
// first; from spare sources only when told so.
func (a *allotment) share(spare bool) {
	byDesign := map[string][]*source{}
	for _, s := range a.sources {
		if s.left > 0 && s.spare == spare {
			byDesign[s.designID] = append(byDesign[s.designID], s)
		}
	}
	for _, c := range a.claims {
		list := byDesign[c.line.DesignID]
		for len(list) > 0 && c.lacking > 0 {
			a.give(list[0], c, c.lacking)
			if list[0].left == 0 {
				list = list[1:]
			}
		}
		byDesign[c.line.DesignID] = list
	}
}

// allocation is pieces that a source gives a claim.
func (s *source) allocation(c *claim, pieces int) Allocation {
	if s.stock {
		return Allocation{StockID: s.key, LineID: c.line.ID, Pieces: pieces}
	}
	return Allocation{BatchKey: s.key, LineID: c.line.ID, Pieces: pieces}
}

// byLine sorts allocations by line, then source, and adds up those of one source
// to one line.
func byLine(given []Allocation) []Allocation {
	slices.SortFunc(given, func(a, b Allocation) int {
		if c := cmp.Compare(a.LineID, b.LineID); c != 0 {
			return c
		}
		return cmp.Or(cmp.Compare(a.StockID, b.StockID), cmp.Compare(a.BatchKey, b.BatchKey))
	})
	out := make([]Allocation, 0, len(given))
	for _, a := range given {
		if n := len(out); n > 0 && out[n-1].LineID == a.LineID && out[n-1].StockID == a.StockID && out[n-1].BatchKey == a.BatchKey {
			out[n-1].Pieces += a.Pieces
			continue
		}
		out = append(out, a)
	}
	return out
}
