package orders

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// daysShown is how far back the plan still shows what ended.
const daysShown = 14

// Order returns one order.
func (b *Book) Order(ctx context.Context, a Actor, id string) (Order, error) {
	return read(ctx, b, a, func(tx Tx) (Order, error) { return tx.Orders().Get(ctx, id) })
}

// Orders returns a page of orders by needed-by date.
func (b *Book) Orders(ctx context.Context, a Actor, q ListQuery) (Page[Order], error) {
	return read(ctx, b, a, func(tx Tx) (Page[Order], error) { return tx.Orders().List(ctx, q) })
}

// Batch returns one batch.
func (b *Book) Batch(ctx context.Context, a Actor, id string) (Batch, error) {
	return read(ctx, b, a, func(tx Tx) (Batch, error) { return tx.Batches().Get(ctx, id) })
}

// Batches returns a page of batches by make time.
func (b *Book) Batches(ctx context.Context, a Actor, q ListQuery) (Page[Batch], error) {
	return read(ctx, b, a, func(tx Tx) (Page[Batch], error) { return tx.Batches().List(ctx, q) })
}

// WrapTimes returns when each of the batches was wrapped; those that were not, or
// are not there, are left out.
func (b *Book) WrapTimes(ctx context.Context, a Actor, batchIDs []string) (map[string]time.Time, error) {
	return read(ctx, b, a, func(tx Tx) (map[string]time.Time, error) {
		all, err := tx.Batches().Several(ctx, batchIDs)
		out := make(map[string]time.Time, len(all))
		for _, x := range all {
			if !x.WrappedAt.IsZero() {
				out[x.ID] = x.WrappedAt
			}
		}
		return out, err
	})
}

// Allocations returns who gets what from where, of all open orders.
func (b *Book) Allocations(ctx context.Context, a Actor) ([]Allocation, error) {
	return read(ctx, b, a, func(tx Tx) ([]Allocation, error) { return tx.Allocations(ctx) })
}

// Revisions returns a page of published plans, newest first.
func (b *Book) Revisions(ctx context.Context, a Actor, q ListQuery) (Page[PlanRevision], error) {
	return read(ctx, b, a, func(tx Tx) (Page[PlanRevision], error) { return tx.Revisions(ctx, q) })
}

// Tasks returns the published tasks whose last day is not before from.
func (b *Book) Tasks(ctx context.Context, a Actor, from civil.Date) ([]Task, error) {
	return read(ctx, b, a, func(tx Tx) ([]Task, error) { return tx.Tasks(ctx, from) })
}

// TaskPage returns a page of the published tasks, as the days go by; q.From
// leaves out what ended before that day.
func (b *Book) TaskPage(ctx context.Context, a Actor, q ListQuery) (Page[Task], error) {
	return read(ctx, b, a, func(tx Tx) (Page[Task], error) { return tx.TaskPage(ctx, q) })
}

// Problem returns the book as the planner would take it now.
func (b *Book) Problem(ctx context.Context, a Actor) (*schedule.Problem, error) {
	return read(ctx, b, a, func(tx Tx) (*schedule.Problem, error) {
		snap, err := tx.Snapshot(ctx)
		if err != nil {
			return nil, err
		}
		return snap.problem(b.now())
	})
}

// Confidence imagines futures of the published plan and returns in how many each
// accepted order is met, by order id.
func (b *Book) Confidence(ctx context.Context, a Actor) ([]schedule.Outlook, error) {
	p, err := b.Problem(ctx, a)
	if err != nil {
		return nil, err
	}
	out, err := schedule.Confidence(ctx, p, schedule.DefaultFutures)
	if err != nil {
		return nil, fmt.Errorf("confidence in workshop %s: %w", a.WorkshopID, err)
	}
	return out, nil
}

// Plan returns the published plan.
func (b *Book) Plan(ctx context.Context, a Actor) (PlanView, error) {
	return read(ctx, b, a, func(tx Tx) (PlanView, error) {
		snap, err := tx.Snapshot(ctx)
		if err != nil {
			return PlanView{}, err
		}
		today, err := snap.Workshop.dateOf(b.now())
		if err != nil {
			return PlanView{}, err
		}
		var v PlanView
		if v.Revision, err = published(ctx, tx, snap.Workshop); err != nil {
			return PlanView{}, err
		}
		if v.Obstacles, err = snap.obstacles(b.now()); err != nil {
			return PlanView{}, err
		}
		v.Outcomes = inDoubt(snap.accepted(v.Revision.Outcomes), v.Obstacles)
		if v.Batches, err = snap.shownBatches(ctx, tx, b.now()); err != nil {
			return PlanView{}, err
		}
		if v.Tasks, err = tx.Tasks(ctx, today.AddDays(-daysShown)); err != nil {
			return PlanView{}, err
		}
		tellObstacles(v.Tasks, v.Obstacles)
		v.Proposals, err = tx.Proposals(ctx, ProposalOpen, maxProposals)
		return v, err
	})
}

// shownBatches is the running batches and those that ended lately, by make
// time.
func (s *Snapshot) shownBatches(ctx context.Context, tx Tx, now time.Time) ([]Batch, error) {
	since := now.AddDate(0, 0, -daysShown)
	out := slices.Clone(s.Batches)
	for _, state := range []BatchState{BatchWrapped, BatchFailed} {
		// Of a book of years most ended long ago.
		ended, err := allOf(ctx, tx.Batches(), ListQuery{Status: string(state), From: civil.Of(since.UTC())})
		if err != nil {
			return nil, err
		}
		for _, x := range ended {
			if !x.WrappedAt.Before(since) || !x.EndedAt.Before(since) {
				out = append(out, x)
			}
		}
	}
	slices.SortFunc(out, byMake)
	return out, nil
}

func byMake(a, b Batch) int {
	return cmp.Or(a.Make.From.Compare(b.Make.From), strings.Compare(a.Lot, b.Lot))
}

// Today returns what there is to do today and tomorrow.
func (b *Book) Today(ctx context.Context, a Actor) (TodayView, error) {
	return read(ctx, b, a, func(tx Tx) (TodayView, error) {
		snap, err := tx.Snapshot(ctx)
		if err != nil {
			return TodayView{}, err
		}
		zone, err := snap.Workshop.location()
		if err != nil {
			return TodayView{}, err
		}
		v := TodayView{Today: civil.Of(b.now().In(zone)), Now: []Task{}, Done: []Task{}, Tomorrow: []Task{}, Curing: []Batch{}, Risks: []schedule.OrderOutcome{}}
		tasks, err := tx.Tasks(ctx, v.Today.AddDays(-longestOverdue))
		if err != nil {
			return TodayView{}, err
		}
		if v.Obstacles, err = snap.obstacles(b.now()); err != nil {
			return TodayView{}, err
		}
		tellObstacles(tasks, v.Obstacles)
		if v.Late, err = LateArrivals(ctx, tx, v.Today); err != nil {
			return TodayView{}, err
		}
		for _, t := range tasks {
			v.put(t, civil.Of(t.ChangedAt.In(zone)), snap.hurried(t, b.now()))
		}
		v.addCuring(snap.Batches)
		if v.NotForSale, err = snap.unsold(ctx, tx); err != nil {
			return TodayView{}, err
		}
		last, err := published(ctx, tx, snap.Workshop)
		if err != nil {
			return TodayView{}, err
		}
		for _, x := range inDoubt(snap.accepted(last.Outcomes), v.Obstacles) {
			if _, flagged := v.NotForSale[x.OrderID]; flagged || x.Missed() || snap.waits(x.OrderID) && (!x.RemakeBy.After(b.now()) || snap.laterThanTold(x)) {
				v.Risks = append(v.Risks, x)
			}
		}
		v.Proposals, err = tx.Proposals(ctx, ProposalOpen, maxProposals)
		return v, err
	})
}

// longestOverdue is how many days back work that was not done is still shown.
const longestOverdue = 400

// put lists a task where it belongs; changed is the local day of its last
// change. A cure needs nobody's hands and is listed by its batch. What is hurried
// is for today whenever it is planned, as there is something to do about it.
func (v *TodayView) put(t Task, changed civil.Date, hurried bool) {
	switch {
	case t.Kind == TaskCure || t.Status == TaskCancelled:
	case t.Status == TaskDone:
		if changed == v.Today {
			v.Done = append(v.Done, t)
		}
	case hurried || !t.Day.After(v.Today):
		v.Now = append(v.Now, t)
	case t.Day == v.Today.AddDays(1):
		v.Tomorrow = append(v.Tomorrow, t)
	}
}

// hurried reports whether a task is the cut of a batch that has to be cut before
// any working hour comes.
func (s *Snapshot) hurried(t Task, now time.Time) bool {
	b, ok := find(s.Batches, t.BatchID, func(b Batch) string { return b.ID })
	return ok && t.Kind == TaskCut && b.Hurried(now)
}

// addCuring lists what is on the rack, soonest ripe first.
func (v *TodayView) addCuring(batches []Batch) {
	for _, b := range batches {
		if b.State == BatchCuring {
			v.Curing = append(v.Curing, b)
		}
	}
	slices.SortFunc(v.Curing, func(a, b Batch) int {
		return cmp.Or(a.Wrap.From.Compare(b.Wrap.From), strings.Compare(a.Lot, b.Lot))
	})
}

// waits reports whether an order has pieces that are not on the shelf yet.
func (s *Snapshot) waits(orderID string) bool {
	return slices.ContainsFunc(s.Allocations, func(a Allocation) bool { return a.OrderID == orderID && a.BatchID != "" })
}

// laterThanTold reports whether what becomes of an order is later than its
// customer was told.
func (s *Snapshot) laterThanTold(x schedule.OrderOutcome) bool {
	o, ok := find(s.Orders, x.OrderID, func(o Order) string { return o.ID })
	return ok && o.LaterThanTold(x.Ready)
}

// LaterThanTold reports whether a day on which the order is ready is after the one
// its customer was told.
func (o Order) LaterThanTold(ready civil.Date) bool { return !o.Told.IsZero() && ready.After(o.Told) }
