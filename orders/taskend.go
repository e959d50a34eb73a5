package orders

import (
	"context"
	"fmt"
	"slices"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// taskEnd finds out how tasks ended that nothing asks for any more: done when
// what they were for happened, else cancelled.
type taskEnd struct {
	tx      Tx
	snap    *Snapshot
	planned []Batch // as it was before what ends the task
	zone    *time.Location
}

func (e taskEnd) end(ctx context.Context) ended {
	return func(t Task) (Task, error) {
		switch t.Kind {
		case TaskTrial:
			return e.trial(t), nil
		case TaskHandOver:
			return e.handOver(ctx, t)
		case TaskSupplies:
			return e.supplies(t), nil
		case TaskMake, TaskCut, TaskCure, TaskWrap:
			return e.batch(ctx, t)
		}
		return t, fmt.Errorf("task %s: unknown kind %q", t.ID, t.Kind)
	}
}

func (e taskEnd) trial(t Task) Task {
	t.Status = TaskCancelled
	d, _ := find(e.snap.Designs, t.DesignID, func(d Design) string { return d.ID })
	need := e.snap.trialOf(d)
	if need.Last != nil && need.Last.Verdict != Again || d.TrialOK && !need.Needed {
		t.Status = TaskDone
	}
	return t
}

// supplies were ordered when what is on the shelf and on its way covers what was
// planned till now, and when a batch was made of some that no lot on record covers.
// Else it is the plan that wants less of them.
func (e taskEnd) supplies(t Task) Task {
	t.Status = TaskCancelled
	was := *e.snap
	was.Batches, was.Purchases = e.planned, slices.Clone(e.snap.Purchases)
	for i := range was.Purchases {
		was.Purchases[i].ArrivesOn = civil.Date{} // by when it comes is no matter: it was ordered
	}
	all, _ := was.supplies(e.zone)
	x, _ := find(all, t.IngredientID, func(x Supply) string { return x.IngredientID })
	poured := slices.ContainsFunc(e.snap.Batches, func(b Batch) bool {
		return b.PouredAt.After(t.ChangedAt) && slices.ContainsFunc(b.Uses, func(u LotUse) bool { return u.IngredientID == t.IngredientID && u.LotID == "" })
	})
	if poured || len(x.Needs) > 0 && x.Lacking == 0 {
		t.Status = TaskDone
	}
	return t
}

func (e taskEnd) handOver(ctx context.Context, t Task) (Task, error) {
	o, err := e.tx.Orders().Get(ctx, t.OrderID)
	if err != nil {
		return t, fmt.Errorf("end task %s: order %s: %w", t.ID, t.OrderID, err)
	}
	t.Status = TaskCancelled
	if o.Status == HandedOver {
		t.Status = TaskDone
		t.Day = o.LeftOn
		t.LastDay = t.Day
	}
	return t, nil
}

func (e taskEnd) day(at time.Time) civil.Date { return civil.Of(at.In(e.zone)) }

// batch ends a task of a batch with the times at which it was really done.
func (e taskEnd) batch(ctx context.Context, t Task) (Task, error) {
	b, ok := find(e.snap.Batches, t.BatchID, func(b Batch) string { return b.ID })
	if !ok {
		var err error
		if b, err = e.tx.Batches().Get(ctx, t.BatchID); err != nil {
			return t, fmt.Errorf("end task %s: batch %s: %w", t.ID, t.BatchID, err)
		}
	}
	t.Status = TaskCancelled
	switch {
	case t.Kind == TaskMake && !b.PouredAt.IsZero():
		t = e.done(t, b.Make)
		t.Title = pourTitle(b) // the pour may have given it another lot code
	case t.Kind == TaskCut && !b.CutAt.IsZero():
		t = e.done(t, b.Cut)
	case t.Kind == TaskCure && !b.WrappedAt.IsZero():
		t.Status, t.Day, t.LastDay = TaskDone, e.day(b.Cut.From), e.day(b.WrappedAt)
	case t.Kind == TaskWrap && t.Part == 0 && !b.WrappedAt.IsZero():
		t = e.done(t, b.Wrap)
	case t.Kind == TaskWrap && !b.WrappedAt.IsZero() && !t.To.After(b.WrappedAt):
		t.Status = TaskDone
	}
	return t, nil
}

func (e taskEnd) done(t Task, iv schedule.Interval) Task {
	t.Status, t.From, t.To = TaskDone, iv.From.UTC(), iv.To.UTC()
	t.Day, t.LastDay = e.day(iv.From), e.day(iv.To)
	return t
}
