package schedule

import (
	"cmp"
	"slices"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// Missed reports whether an order is late or can not be made in full.
func (o OrderOutcome) Missed() bool { return o.LateDays > 0 || o.Short > 0 }

// outcomes says for each accepted order when it is ready. Pieces that are
// on the shelf never make it late.
func (pl *planner) outcomes(plan *Plan) []OrderOutcome {
	batches := plan.byKey()
	out := make([]OrderOutcome, 0, len(pl.problem.Orders))
	for i := range pl.problem.Orders {
		if o := &pl.problem.Orders[i]; o.Accepted {
			out = append(out, pl.outcome(o, plan, func(key string) *PlanBatch { return batches[key] }))
		}
	}
	slices.SortFunc(out, func(a, b OrderOutcome) int { return cmp.Compare(a.OrderID, b.OrderID) })
	return out
}

func (plan *Plan) byKey() map[string]*PlanBatch {
	out := make(map[string]*PlanBatch, len(plan.Batches))
	for i := range plan.Batches {
		out[plan.Batches[i].Key] = &plan.Batches[i]
	}
	return out
}

// batch finds a batch by its key, nil where there is none. For a look at many
// batches byKey is quicker.
func (plan *Plan) batch(key string) *PlanBatch {
	for i := range plan.Batches {
		if plan.Batches[i].Key == key {
			return &plan.Batches[i]
		}
	}
	return nil
}

// given is what a line gets; allocations are sorted by line.
func (plan *Plan) given(lineID string) []Allocation {
	from, _ := slices.BinarySearchFunc(plan.Allocations, lineID, func(a Allocation, id string) int { return cmp.Compare(a.LineID, id) })
	to := from
	for to < len(plan.Allocations) && plan.Allocations[to].LineID == lineID {
		to++
	}
	return plan.Allocations[from:to]
}

func (pl *planner) outcome(o *Order, plan *Plan, batch func(key string) *PlanBatch) OrderOutcome {
	out := OrderOutcome{OrderID: o.ID, Deadline: o.deadline()}
	out.Ready = earlier(pl.tl.today, out.Deadline)
	for _, l := range o.Lines {
		out.Short += l.Pieces
		for _, a := range plan.given(l.ID) {
			out.Short -= a.Pieces
			if b := batch(a.BatchKey); b != nil {
				out.Ready = later(out.Ready, pl.tl.lastDay(b.Wrap.To))
				out.CureLess = max(out.CureLess, b.cureLess(pl.tl.zone))
			}
		}
	}
	if out.Short > 0 {
		out.Ready = civil.Date{}
		return out
	}
	out.LateDays = max(0, out.Ready.Sub(out.Deadline))
	return out
}

// lastDay is the day on which work that ends at t ends; midnight belongs to the
// day before.
func (tl *timeline) lastDay(t time.Time) civil.Date { return tl.day(t.Add(-1)) }

// cureLess is the days by which wrapping starts before the wished-for cure.
func (b *PlanBatch) cureLess(zone *time.Location) int {
	return max(0, b.CureTarget.Sub(civil.Of(b.Wrap.From.In(zone))))
}

// unmadeDays is the lateness, in days, an order counts with that can not be
// made in full.
const unmadeDays = solve.Unplaced

// delays is the weight of the late orders of a plan, and the days by which they
// are late times their weights.
type delays struct{ weight, days int }

func (l delays) compare(than delays) int {
	return cmp.Or(cmp.Compare(l.weight, than.weight), cmp.Compare(l.days, than.days))
}

func (plan *Plan) delays(orders []*Order) delays {
	var out delays
	for _, o := range orders {
		at := plan.outcome(o.ID)
		if at.Missed() {
			out.weight += o.Weight
		}
		if at.Short > 0 {
			out.days += o.Weight * unmadeDays
		}
		out.days += o.Weight * at.LateDays
	}
	return out
}

// accepted lists the orders that bind.
func (p *Problem) accepted() []*Order {
	out := make([]*Order, 0, len(p.Orders))
	for i := range p.Orders {
		if p.Orders[i].Accepted {
			out = append(out, &p.Orders[i])
		}
	}
	return out
}

// rate computes the objective of a complete plan.
func rate(p *Problem, plan *Plan, published map[string]civil.Date) Objective {
	var o Objective
	late := plan.delays(p.accepted())
	o.Late, o.Tardiness = late.weight, late.days
	serving := plan.served(p)
	for _, out := range plan.Orders {
		if serving[out.OrderID] && out.RemakeBy.IsZero() {
			o.NoRemake++
		}
	}
	o.Changes = changes(p, plan, published)
	for i := range plan.Batches {
		b := &plan.Batches[i]
		o.CureShort += b.cureLess(p.Zone)
		o.FinishHours += max(0, int(b.Wrap.To.Sub(p.Now)/time.Hour))
		if b.State == Planned {
			o.Batches++
			o.Surplus += b.Sound
		}
	}
	planned := plan.byKey()
	for _, a := range plan.Allocations {
		if b := planned[a.BatchKey]; b != nil && b.State == Planned {
			o.Surplus -= a.Pieces
		}
	}
	return o
}

// served is the orders that wait for pieces of some batch.
func (plan *Plan) served(p *Problem) map[string]bool {
	orderOf := p.orderOfLine()
	out := make(map[string]bool, len(p.Orders))
	for _, a := range plan.Allocations {
		if a.BatchKey != "" {
			out[orderOf[a.LineID]] = true
		}
	}
	return out
}

func (p *Problem) orderOfLine() map[string]string {
	out := make(map[string]string, len(p.Orders))
	for i := range p.Orders {
		for _, l := range p.Orders[i].Lines {
			out[l.ID] = p.Orders[i].ID
		}
	}
	return out
}

// Compare orders objectives lexicographically: negative when o is better.
func (o Objective) Compare(p Objective) int {
	return cmp.Or(
		cmp.Compare(o.Late, p.Late),
		cmp.Compare(o.Tardiness, p.Tardiness),
		cmp.Compare(o.Changes, p.Changes),
		cmp.Compare(o.NoRemake, p.NoRemake),
		cmp.Compare(o.CureShort, p.CureShort),
		cmp.Compare(o.Batches, p.Batches),
		cmp.Compare(o.Surplus, p.Surplus),
		cmp.Compare(o.FinishHours, p.FinishHours),
	)
}
