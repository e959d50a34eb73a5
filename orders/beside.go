package orders

import (
	"context"
	"fmt"
	"slices"

	"ripeline/schedule"
)

// planNew plans the orders that nobody was told a date for yet beside the plan
// that stands, where a change of that plan waits for a yes: what was promised
// today must not go without batches, supplies and tasks until the maker has made
// up her mind about something else. Nothing that stands moves, no piece changes
// hands, and no order that was told a date may end worse under plan, the change that
// waits. It reports whether it added anything; the round's problem follows.
func (r *round) planNew(ctx context.Context, plan *schedule.Plan) (bool, error) {
	fresh := r.untold()
	beside, err := r.beside(ctx, fresh)
	if err != nil || beside == nil {
		return false, err
	}
	if late := slices.DeleteFunc(slices.Clone(fresh), beside.inTime); len(late) > 0 {
		fresh = slices.DeleteFunc(fresh, func(id string) bool { return !beside.inTime(id) })
		if beside, err = r.beside(ctx, fresh); err != nil || beside == nil {
			return false, err
		}
	}
	if !r.fits(beside, fresh) {
		return false, nil
	}
	if harmed, err := r.harms(ctx, plan, beside, fresh); err != nil || harmed {
		return false, err
	}
	return true, r.addNew(ctx, beside, fresh)
}

// untold is the ids of the accepted orders that no published plan has had whole.
func (r *round) untold() []string {
	var out []string
	for _, o := range r.snap.Orders {
		if o.Status == Accepted && o.Told.IsZero() && r.snap.short(o) > 0 {
			out = append(out, o.ID)
		}
	}
	return out
}

// beside plans the fresh orders with all that stands pinned, and every other order
// asking for no more than it is given now; nil without fresh orders.
func (r *round) beside(ctx context.Context, fresh []string) (*sidePlan, error) {
	if len(fresh) == 0 {
		return nil, nil //nolint:nilnil // nothing to plan is no error
	}
	p := *r.problem
	p.Batches = slices.Clone(p.Batches)
	for i := range p.Batches {
		p.Batches[i].Pinned = true
	}
	has := r.given()
	p.Orders = nil
	for _, o := range r.problem.Orders {
		if !slices.Contains(fresh, o.ID) {
			o.Lines = slices.Clone(o.Lines)
			for i := range o.Lines {
				o.Lines[i].Pieces = min(o.Lines[i].Pieces, has[o.Lines[i].ID])
			}
			o.Lines = slices.DeleteFunc(o.Lines, func(l schedule.Line) bool { return l.Pieces == 0 })
		}
		if o.Accepted && len(o.Lines) > 0 {
			p.Orders = append(p.Orders, o)
		}
	}
	plan, err := schedule.Solve(ctx, &p)
	if err != nil {
		return nil, fmt.Errorf("plan new orders beside what stands: %w", err)
	}
	return &sidePlan{plan, r.snap.draft(plan)}, nil
}

// given is how many pieces each order line has now.
func (r *round) given() map[string]int {
	out := make(map[string]int)
	for _, a := range r.snap.Allocations {
		out[a.LineID] += a.Pieces
	}
	return out
}

// sidePlan is a plan of new orders beside what stands.
type sidePlan struct {
	plan  *schedule.Plan
	draft draft
}

func (s *sidePlan) inTime(orderID string) bool {
	out, ok := find(s.plan.Orders, orderID, outcomeOrder)
	return ok && !out.Missed()
}

// fits reports whether all fresh orders are in time, nothing moves but what facts
// move, and nobody else gives or gets a piece.
func (r *round) fits(s *sidePlan, fresh []string) bool {
	d := s.draft
	moves := slices.ContainsFunc(d.moved, func(b Batch) bool { return b.ID != r.cause.own() && !r.overtaken(b.ID) })
	return len(fresh) > 0 && len(d.fresh)+len(r.gets(s, fresh)) > 0 && !moves && len(d.dropped) == 0 && !d.trials &&
		!slices.ContainsFunc(fresh, func(id string) bool { return !s.inTime(id) }) &&
		slices.Equal(given(r.others(r.snap.Allocations, fresh)), given(r.others(r.snap.planned(s.plan, nil), fresh)))
}

// gets is what the fresh orders get beside what stands.
func (r *round) gets(s *sidePlan, fresh []string) []Allocation {
	return slices.DeleteFunc(r.snap.planned(s.plan, nil), func(a Allocation) bool { return !slices.Contains(fresh, a.OrderID) })
}

// others is the allocations without those of the fresh orders.
func (r *round) others(all []Allocation, fresh []string) []Allocation {
	return slices.DeleteFunc(slices.Clone(all), func(a Allocation) bool { return slices.Contains(fresh, a.OrderID) })
}

// harms reports whether some other order ends later, or shorter of pieces, once the
// fresh orders have their places than it does under plan.
func (r *round) harms(ctx context.Context, plan *schedule.Plan, s *sidePlan, fresh []string) (bool, error) {
	next := *r.snap
	next.Batches = slices.Clone(next.Batches)
	for _, pb := range s.draft.fresh {
		b := Batch{DesignID: pb.DesignID, State: BatchPlanned}.adopt(pb)
		b.ID = pb.Key
		next.Batches = append(next.Batches, b)
	}
	next.Allocations = append(r.others(next.Allocations, fresh), r.gets(s, fresh)...)
	p, err := next.problem(r.now)
	if err != nil {
		return false, err
	}
	after, err := schedule.Solve(ctx, p)
	if err != nil {
		return false, fmt.Errorf("plan with new orders beside what stands: %w", err)
	}
	return slices.ContainsFunc(after.Orders, func(x schedule.OrderOutcome) bool {
		was, ok := find(plan.Orders, x.OrderID, outcomeOrder)
		return ok && (x.Short > was.Short || x.LateDays > was.LateDays && was.Short == 0)
	}), nil
}

// addNew writes the batches and pieces of the fresh orders into the book.
func (r *round) addNew(ctx context.Context, s *sidePlan, fresh []string) error {
	r.newPlanned = true
	gets := r.gets(s, fresh)
	for _, pb := range s.draft.fresh {
		b, err := r.newBatch(ctx, pb)
		if err != nil {
			return err
		}
		r.snap.Batches = append(r.snap.Batches, b)
		r.added = append(r.added, b.ID)
		for i := range gets {
			if gets[i].BatchID == pb.Key {
				gets[i].BatchID = b.ID
			}
		}
	}
	r.snap.Allocations = append(r.others(r.snap.Allocations, fresh), gets...)
	if err := r.tx.SetAllocations(ctx, r.snap.Allocations); err != nil {
		return fmt.Errorf("give new orders their pieces: %w", err)
	}
	var err error
	r.problem, err = r.snap.problem(r.now)
	return err
}
