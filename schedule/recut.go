package schedule

import (
	"slices"

	"ripeline/schedule/civil"
)

// recuts is the policies that cut into new batches what can not be poured as
// published because molds are out: where that leaves somebody late, smaller batches
// in the molds that are left may be in time.
func (pl *planner) recuts(plan *Plan) []policy {
	if plan.Objective.Late == 0 || !slices.ContainsFunc(pl.problem.Batches, func(b Batch) bool { return pl.problem.moldsOut(&b) }) {
		return nil
	}
	return []policy{{recut: true, singles: true}, {recut: true, pool: true, singles: true}, {recut: true}}
}

// moldsOut reports whether a planned batch that nobody fixed was published for days
// on which too many of its molds are out.
func (p *Problem) moldsOut(b *Batch) bool {
	if b.State != Planned || b.Pinned || b.Make.From.IsZero() {
		return false
	}
	held := civil.Range{From: civil.Of(b.Make.From.In(p.Zone)), To: civil.Of(b.Cut.To.In(p.Zone))}
	return slices.ContainsFunc(b.Molds, func(use MoldUse) bool {
		i := p.moldIndex(use.MoldID)
		if i < 0 {
			return false
		}
		left := p.Molds[i].Count
		for _, out := range p.Molds[i].Out {
			if !out.Days.To.Before(held.From) && !held.To.Before(out.Days.From) {
				left -= out.Units
			}
		}
		return left < use.Units
	})
}

// beats reports whether a plan under the policy is worth more than another. What
// gives up published batches has to have fewer late, or less late, for it.
func (po policy) beats(found, best Objective) bool {
	if po.recut {
		return delays{found.Late, found.Tardiness}.compare(delays{best.Late, best.Tardiness}) < 0
	}
	return found.Compare(best) < 0
}
