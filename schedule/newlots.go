package schedule

import (
	"slices"
	"strconv"
	"strings"
)

// newLots cuts what no source covers into new batches, design by design.
func (pl *planner) newLots(b *book, open []*claim, po policy) []*lot {
	var out []*lot
	for i := range pl.problem.Designs {
		d := &pl.problem.Designs[i]
		var lacking []*claim
		need := 0
		for _, c := range open {
			if c.line.DesignID == d.ID && c.lacking > 0 {
				lacking = append(lacking, c)
				need += c.lacking
			}
		}
		if need == 0 {
			continue
		}
		sizer := pl.sizer(d, po)
		if why := pl.unplannable(d, sizer); why != "" {
			b.problems = append(b.problems, pl.refusals(d, lacking, why)...)
			continue
		}
		out = append(out, sizer.cutLots(lacking, need, po)...)
	}
	pl.problem.nameNew(out)
	return out
}

// nameNew names the lots that are not yet in the book new-1, new-2 and so on,
// without the names that the book has: it may hold a plan's own keys.
func (p *Problem) nameNew(lots []*lot) {
	if len(lots) == 0 {
		return
	}
	taken := map[string]bool{}
	take := func(id string) {
		if strings.HasPrefix(id, newPrefix) {
			taken[id] = true
		}
	}
	for i := range p.Batches {
		take(p.Batches[i].ID)
	}
	for i := range p.Stock {
		take(p.Stock[i].ID)
	}
	n := 0
	for _, l := range lots {
		n++
		for taken[newKey(n)] {
			n++
		}
		l.key = newKey(n)
	}
}

// newKey is the n-th name of a batch that is not yet in the book, from 1.
func newKey(n int) string { return newPrefix + strconv.Itoa(n) }

const newPrefix = "new-"

// sizer cuts lots of a design; without the molds to avoid, unless that leaves
// none.
func (pl *planner) sizer(d *Design, po policy) *lotsizer {
	if len(po.avoid) == 0 {
		return pl.sizers[d.ID]
	}
	other := *d
	other.Fits = slices.DeleteFunc(slices.Clone(d.Fits), func(f Fit) bool { return slices.Contains(po.avoid, f.MoldID) })
	if sizer := newLotsizer(pl.problem, &other, pl.tl); sizer.all > 0 {
		sizer.design = d
		return sizer
	}
	return pl.sizers[d.ID]
}

// cutLots fills lots with claims in order of their deadlines.
func (ls *lotsizer) cutLots(lacking []*claim, need int, po policy) []*lot {
	units := mostUnits * len(ls.design.Fits)
	if po.singles {
		units = 1
	}
	var out []*lot
	for _, size := range ls.sizes(need, units) {
		l := &lot{design: ls.design, mixes: ls.mixes(size)}
		for size > 0 && len(lacking) > 0 {
			c := lacking[0]
			n := min(size, c.lacking)
			size -= n
			c.lacking -= n
			l.serve([]*claim{c})
			if c.lacking == 0 {
				lacking = lacking[1:]
			}
		}
		out = append(out, l)
	}
	return out
}

// unplannable says why no batch of a design can be planned, "" when one can.
func (pl *planner) unplannable(d *Design, sizer *lotsizer) string {
	switch {
	case d.Blocked != "":
		return d.called() + " may not be scheduled: " + d.Blocked
	case sizer.all <= 0:
		return pl.noBatch(d)
	}
	return ""
}

func (pl *planner) refusals(d *Design, lacking []*claim, why string) []Reason {
	kind := HoldHours
	if d.Blocked != "" {
		kind = HoldBlocked
	}
	var out []Reason
	for _, c := range lacking {
		out = append(out, Reason{Kind: kind, OrderID: c.order.ID, To: c.deadline, Text: sentence(c.order.called()) + " lacks pieces. " + sentence(why) + "."})
	}
	return out
}

// noBatch says why no batch of a design fits into the workshop.
func (pl *planner) noBatch(d *Design) string {
	if len(pl.sizers[d.ID].sets) == 0 {
		return d.called() + " fits no mold the workshop has; give it a mold"
	}
	for _, step := range [...]Step{StepMake, StepCut, StepWrap} {
		if pl.tl.widest[step] == 0 {
			return "There are no hours in which to " + step.verb() + " " + d.called()
		}
	}
	return "No batch of " + d.called() + " fits: even the smallest is too long for the longest window, or too large for the rack"
}
