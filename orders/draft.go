package orders

import (
	"cmp"
	"slices"
	"strings"

	"ripeline/schedule"
)

// draft is what a plan would change in the book.
type draft struct {
	plan    *schedule.Plan
	moved   []Batch              // stored batches, with the plan's times
	facts   []Batch              // stored batches with the windows that follow from facts alone
	fresh   []schedule.PlanBatch // batches to be added
	dropped []Batch              // planned batches no longer needed
	regiven bool                 // pieces change hands
	trials  bool                 // a trial moves
}

// changes reports whether the plan differs from the published one.
func (d draft) changes() bool {
	return len(d.moved)+len(d.fresh)+len(d.dropped) > 0 || d.regiven || d.trials
}

// onlyMoves reports whether the plan changes nothing but the times of one
// batch.
func (d draft) onlyMoves(id string) bool {
	others := slices.ContainsFunc(d.moved, func(b Batch) bool { return b.ID != id })
	return !others && len(d.fresh)+len(d.dropped) == 0 && !d.regiven && !d.trials
}

// draft compares the plan with the book.
func (s *Snapshot) draft(plan *schedule.Plan) draft {
	d := draft{plan: plan}
	kept := make(map[string]bool)
	for _, pb := range plan.Batches {
		b, stored := find(s.Batches, pb.Key, func(b Batch) string { return b.ID })
		if !stored {
			d.fresh = append(d.fresh, pb)
			continue
		}
		kept[b.ID] = true
		next := b.adopt(pb)
		same := next.planEqual(b)
		if !same {
			d.moved = append(d.moved, next)
		}
		if follows := b.follow(pb); !follows.saysAs(b) && (same || b.State != BatchPlanned) {
			d.facts = append(d.facts, follows)
		}
	}
	for _, b := range s.Batches {
		if b.State == BatchPlanned && !kept[b.ID] {
			d.dropped = append(d.dropped, b)
		}
	}
	d.trials = s.trialsMove(plan)
	d.regiven = !slices.Equal(given(s.Allocations), given(s.planned(plan, nil)))
	return d
}

// idsOf is the ids of batches, sorted.
func idsOf(batches []Batch) []string {
	out := make([]string, len(batches))
	for i, b := range batches {
		out[i] = b.ID
	}
	slices.Sort(out)
	return out
}

// trialsMove reports whether the plan has other trials than are published.
func (s *Snapshot) trialsMove(plan *schedule.Plan) bool {
	trials := trialsOf(plan)
	for _, t := range s.Tasks {
		if t.Kind == TaskTrial {
			if !sameSpan(trials[t.DesignID], schedule.Interval{From: t.From, To: t.To}) {
				return true
			}
			delete(trials, t.DesignID)
		}
	}
	return len(trials) > 0
}

// trialsOf is the trial of each design in the plan.
func trialsOf(plan *schedule.Plan) map[string]schedule.Interval {
	trials := make(map[string]schedule.Interval)
	for _, b := range plan.Batches {
		if _, seen := trials[b.DesignID]; !seen && !b.Trial.From.IsZero() {
			trials[b.DesignID] = b.Trial
		}
	}
	return trials
}

// adopt is b with the plan's times for what has not happened yet.
func (b Batch) adopt(pb schedule.PlanBatch) Batch {
	if b.State == BatchPlanned {
		b.Molds, b.Pieces, b.Sound, b.Make = pb.Molds, pb.Pieces, pb.Sound, pb.Make
	}
	if b.State == BatchPlanned || b.State == BatchPoured {
		b.Cut = pb.Cut
	}
	b.Wrap, b.WrapParts, b.Holds = pb.Wrap, pb.WrapParts, pb.Holds
	return b.follow(pb)
}

// follow is b with the windows that its own times open, and once it is poured
// with what holds them, where the plan has them as b does.
func (b Batch) follow(pb schedule.PlanBatch) Batch {
	b.CutFrom, b.CutTo = pb.CutFrom, pb.CutTo
	if !sameSpan(b.Cut, pb.Cut) {
		return b
	}
	b.CureMin, b.CureTarget = pb.CureMin, pb.CureTarget
	if b.State != BatchPlanned && sameSpan(b.Wrap, pb.Wrap) {
		b.Holds = pb.Holds
	}
	return b
}

// planEqual reports whether the planner decided the same for b and c.
func (b Batch) planEqual(c Batch) bool {
	return b.Pieces == c.Pieces && b.Sound == c.Sound && slices.Equal(b.Molds, c.Molds) &&
		sameSpan(b.Make, c.Make) && sameSpan(b.Cut, c.Cut) && sameSpan(b.Wrap, c.Wrap) &&
		slices.EqualFunc(b.WrapParts, c.WrapParts, sameSpan)
}

// saysAs reports whether b and c have the same windows and say the same of what
// happened and of the cure. Other reasons may age while nothing moves.
func (b Batch) saysAs(c Batch) bool {
	return b.CutFrom.Equal(c.CutFrom) && b.CutTo.Equal(c.CutTo) && b.CureMin == c.CureMin && b.CureTarget == c.CureTarget &&
		slices.Equal(b.factHolds(), c.factHolds())
}

func (b Batch) factHolds() []schedule.Hold {
	return slices.DeleteFunc(slices.Clone(b.Holds), func(h schedule.Hold) bool { return h.Kind != schedule.HoldFact && h.Kind != schedule.HoldCure })
}

func sameSpan(a, b schedule.Interval) bool { return a.From.Equal(b.From) && a.To.Equal(b.To) }

// planned is the plan's allocations as the book keeps them; ids gives the
// stored id of a new batch's key, and nil leaves the keys as they are. Only
// accepted orders hold pieces.
func (s *Snapshot) planned(plan *schedule.Plan, ids map[string]string) []Allocation {
	owner := make(map[string]string)
	for _, o := range s.Orders {
		for _, l := range o.Lines {
			if o.Status == Accepted {
				owner[l.ID] = o.ID
			}
		}
	}
	var out []Allocation
	for _, a := range plan.Allocations {
		if owner[a.LineID] == "" || a.Pieces == 0 {
			continue
		}
		out = append(out, Allocation{
			BatchID: cmp.Or(ids[a.BatchKey], a.BatchKey), StockID: a.StockID,
			OrderID: owner[a.LineID], LineID: a.LineID, Pieces: a.Pieces,
		})
	}
	return out
}

// given sorts allocations so that equal ones compare equal.
func given(all []Allocation) []Allocation {
	out := slices.Clone(all)
	slices.SortFunc(out, func(a, b Allocation) int {
		return cmp.Or(strings.Compare(a.LineID, b.LineID), strings.Compare(a.source(), b.source()))
	})
	return out
}
