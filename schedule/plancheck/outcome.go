package plancheck

import (
	"slices"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// unmade is the days of lateness a short order counts with in the objective.
const unmade = 365

// checkOutcomes recomputes what the plan says of each order.
func (c *checker) checkOutcomes() {
	stated := map[string]schedule.OrderOutcome{}
	for i, o := range c.plan.Orders {
		stated[o.OrderID] = o
		if i > 0 && c.plan.Orders[i-1].OrderID >= o.OrderID {
			c.say("order %s is out of order", o.OrderID)
		}
	}
	accepted := 0
	for _, o := range c.p.Orders {
		if !o.Accepted {
			continue
		}
		accepted++
		got, ok := stated[o.ID]
		if !ok {
			c.say("order %s has no outcome", o.ID)
			continue
		}
		want := c.outcome(o)
		if got.Ready != want.Ready || got.Deadline != want.Deadline || got.LateDays != want.LateDays || got.Short != want.Short || got.CureLess != want.CureLess {
			c.say("order %s: outcome %+v stated, %+v found", o.ID, got, want)
		}
		c.checkMargin(o, got)
	}
	if accepted != len(c.plan.Orders) {
		c.say("%d orders have outcomes, %d are accepted", len(c.plan.Orders), accepted)
	}
}

// checkMargin checks what can be said of a remake margin without planning: one of
// the order's batches is cut by then, and each could be poured again from then on
// and be wrapped in time if nothing else were in the way.
func (c *checker) checkMargin(o schedule.Order, out schedule.OrderOutcome) {
	if out.RemakeBy.IsZero() {
		return
	}
	batches := c.batchesOf(o)
	known := slices.ContainsFunc(batches, func(b *schedule.PlanBatch) bool { return !b.Cut.To.After(out.RemakeBy) })
	tooLate := slices.ContainsFunc(batches, func(b *schedule.PlanBatch) bool {
		return c.remadeFrom(b, out.RemakeBy).After(civil.StartOfDay(out.Deadline.AddDays(1), c.p.Zone))
	})
	if out.LateDays > 0 || out.Short > 0 || out.RemakeBy.Before(c.p.Now) || !known || tooLate {
		c.say("order %s can not have a remake margin of %s", o.ID, out.RemakeBy)
	}
}

// batchesOf lists the batches that an order takes pieces from.
func (c *checker) batchesOf(o schedule.Order) []*schedule.PlanBatch {
	var out []*schedule.PlanBatch
	for i := range c.plan.Batches {
		b := &c.plan.Batches[i]
		if c.designs[b.DesignID] != nil && slices.ContainsFunc(c.plan.Allocations, func(a schedule.Allocation) bool {
			return a.BatchKey == b.Key && slices.ContainsFunc(o.Lines, func(l schedule.Line) bool { return l.ID == a.LineID })
		}) {
			out = append(out, b)
		}
	}
	return out
}

// remadeFrom is an instant before which a batch poured again from a time on can
// not be wrapped.
func (c *checker) remadeFrom(b *schedule.PlanBatch, start time.Time) time.Time {
	d := c.designs[b.DesignID]
	again := schedule.PlanBatch{Make: schedule.Interval{From: start, To: start.Add(taking(d.MakeFixed, d.MakePer, b.Sound))}}
	cut, _ := c.cutWindow(&again, d)
	wrap := civil.StartOfDay(c.day(cut).AddDays(d.CureMin), c.p.Zone)
	if done := cut.Add(taking(d.CutFixed, d.CutPer, b.Sound)); done.After(wrap) {
		wrap = done
	}
	return wrap.Add(taking(d.WrapFixed, d.WrapPer, b.Sound))
}

func (c *checker) outcome(o schedule.Order) schedule.OrderOutcome {
	out := schedule.OrderOutcome{OrderID: o.ID, Deadline: o.NeededBy.AddDays(-o.HandOver)}
	out.Ready = out.Deadline
	if today := c.day(c.p.Now); today.Before(out.Ready) {
		out.Ready = today
	}
	for _, l := range o.Lines {
		out.Short += l.Pieces
		for _, a := range c.plan.Allocations {
			if a.LineID != l.ID {
				continue
			}
			out.Short -= a.Pieces
			for i := range c.plan.Batches {
				if b := &c.plan.Batches[i]; b.Key == a.BatchKey {
					out.Ready = lastOf(out.Ready, c.day(b.Wrap.To.Add(-time.Second)))
					out.CureLess = max(out.CureLess, c.cureLess(b))
				}
			}
		}
	}
	if out.Short > 0 {
		out.Ready = civil.Date{}
	} else if late := out.Ready.Sub(out.Deadline); late > 0 {
		out.LateDays = late
	}
	return out
}

func (c *checker) cureLess(b *schedule.PlanBatch) int {
	return max(0, b.CureTarget.Sub(c.day(b.Wrap.From)))
}

// checkObjective recomputes the objective.
func (c *checker) checkObjective() {
	var want schedule.Objective
	c.rateOrders(&want)
	c.rateBatches(&want)
	want.Changes = c.changes()
	if c.plan.Objective != want {
		c.say("objective %+v stated, %+v found", c.plan.Objective, want)
	}
	c.checkBound(want)
}

// checkBound checks that no bound is above what was reached, and that a plan
// says it is proved exactly when it reaches its bounds.
func (c *checker) checkBound(found schedule.Objective) {
	bound := c.plan.Bound
	if bound.Late > found.Late || bound.Tardiness > found.Tardiness || bound.Late < 0 || bound.Tardiness < 0 {
		c.say("the bound %+v is above the objective %+v", bound, found)
	}
	if met := bound.Late == found.Late && bound.Tardiness == found.Tardiness; c.plan.Proved != met {
		c.say("proved is %v with the bound %+v and the objective %+v", c.plan.Proved, bound, found)
	}
}

func (c *checker) rateOrders(want *schedule.Objective) {
	for _, o := range c.p.Orders {
		i := slices.IndexFunc(c.plan.Orders, func(out schedule.OrderOutcome) bool { return out.OrderID == o.ID })
		if i < 0 {
			continue
		}
		out := c.plan.Orders[i]
		if out.LateDays > 0 || out.Short > 0 {
			want.Late += o.Weight
		}
		want.Tardiness += o.Weight * out.LateDays
		if out.Short > 0 {
			want.Tardiness += o.Weight * unmade
		}
		waits := slices.ContainsFunc(c.plan.Allocations, func(a schedule.Allocation) bool {
			return a.BatchKey != "" && slices.ContainsFunc(o.Lines, func(l schedule.Line) bool { return l.ID == a.LineID })
		})
		if waits && out.RemakeBy.IsZero() {
			want.NoRemake++
		}
	}
}

func (c *checker) rateBatches(want *schedule.Objective) {
	for i := range c.plan.Batches {
		b := &c.plan.Batches[i]
		want.CureShort += c.cureLess(b)
		if hours := b.Wrap.To.Sub(c.p.Now).Hours(); hours > 0 {
			want.FinishHours += int(hours)
		}
		if b.State != schedule.Planned {
			continue
		}
		want.Batches++
		want.Surplus += b.Sound
		for _, a := range c.plan.Allocations {
			if a.BatchKey == b.Key {
				want.Surplus -= a.Pieces
			}
		}
	}
}
