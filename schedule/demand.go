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
// first), and id; those of the order named last come after all others.
func claims(orders []Order, last string) []*claim {
	var out []*claim
	for i := range orders {
		o := &orders[i]
		if !o.Accepted {
			continue
		}
		for j := range o.Lines {
			out = append(out, &claim{order: o, line: &o.Lines[j], deadline: o.deadline(), lacking: o.Lines[j].Pieces})
		}
	}
	slices.SortStableFunc(out, func(a, b *claim) int {
		if aLast, bLast := a.order.ID == last, b.order.ID == last; last != "" && aLast != bLast {
			if aLast {
				return 1
			}
			return -1
		}
		return cmp.Or(
			a.deadline.Compare(b.deadline),
			cmp.Compare(b.order.Weight, a.order.Weight),
			cmp.Compare(a.order.ID, b.order.ID),
			cmp.Compare(a.line.ID, b.line.ID))
	})
	return out
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
	served   []*claim
}

// allot gives the pieces of sources to claims: first, when keep is set, to the
// lines they are allocated to now, then in order of deadline from the source
// that is ready first. It lessens what the claims lack.
func allot(claims []*claim, sources []*source, keep bool) []Allocation {
	given := map[Allocation]int{}
	give := func(s *source, c *claim, most int) {
		n := min(s.left, c.lacking, most)
		if n <= 0 {
			return
		}
		s.left -= n
		c.lacking -= n
		s.served = append(s.served, c)
		given[s.allocation(c)] += n
	}
	byReady := slices.Clone(sources)
	slices.SortStableFunc(byReady, func(a, b *source) int {
		return cmp.Or(cmp.Compare(a.ready, b.ready), cmp.Compare(a.key, b.key))
	})
	if keep {
		keepShares(claims, byReady, give)
	}
	for _, c := range claims {
		for _, s := range byReady {
			if s.designID == c.line.DesignID {
				give(s, c, c.lacking)
			}
		}
	}
	return listed(given)
}

func keepShares(claims []*claim, sources []*source, give func(*source, *claim, int)) {
	byLine := make(map[string]*claim, len(claims))
	for _, c := range claims {
		byLine[c.line.ID] = c
	}
	for _, s := range sources {
		for _, share := range s.shares {
			if c := byLine[share.LineID]; c != nil && c.line.DesignID == s.designID {
				give(s, c, share.Pieces)
			}
		}
	}
}

// allocation is the key of what a source gives a claim.
func (s *source) allocation(c *claim) Allocation {
	if s.stock {
		return Allocation{StockID: s.key, LineID: c.line.ID}
	}
	return Allocation{BatchKey: s.key, LineID: c.line.ID}
}

// listed sorts allocations by line, then source.
func listed(given map[Allocation]int) []Allocation {
	out := make([]Allocation, 0, len(given))
	for a, n := range given {
		a.Pieces = n
		out = append(out, a)
	}
	slices.SortFunc(out, func(a, b Allocation) int {
		return cmp.Or(
			cmp.Compare(a.LineID, b.LineID),
			cmp.Compare(a.StockID, b.StockID),
			cmp.Compare(a.BatchKey, b.BatchKey))
	})
	return out
}
