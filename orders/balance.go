package orders

import (
	"cmp"
	"slices"
	"strings"
)

// balanced is the allocations as far as there are pieces for them: no source
// gives more than it has, no line gets more than it asks for, and only
// accepted orders hold any. Where a source falls short, the order with the
// earliest deadline keeps its pieces, then the weightier one.
func (s *Snapshot) balanced() []Allocation {
	left := make(map[string]int)
	for _, b := range s.Batches {
		left[b.ID] = b.Sound
	}
	for _, k := range s.Stocks {
		left[k.ID] = k.Pieces
	}
	wants, owner := make(map[string]int), make(map[string]Order)
	for _, o := range s.Orders {
		for _, l := range o.Lines {
			if o.Status == Accepted {
				wants[l.ID], owner[l.ID] = l.Total(), o
			}
		}
	}
	all := slices.Clone(s.Allocations)
	slices.SortFunc(all, func(a, b Allocation) int {
		x, y := owner[a.LineID], owner[b.LineID]
		return cmp.Or(
			x.deadline().Compare(y.deadline()), cmp.Compare(y.Weight, x.Weight),
			strings.Compare(a.LineID, b.LineID), strings.Compare(a.source(), b.source()))
	})
	var out []Allocation
	for _, a := range all {
		a.Pieces = min(a.Pieces, left[a.source()], wants[a.LineID])
		if a.Pieces <= 0 {
			continue
		}
		left[a.source()] -= a.Pieces
		wants[a.LineID] -= a.Pieces
		out = append(out, a)
	}
	return given(out)
}
