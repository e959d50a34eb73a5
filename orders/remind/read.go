package remind

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// pageSize is the largest page that a list gives.
const pageSize = 200

// shop is what the reminders of a workshop are made from, read in one
// transaction.
type shop struct {
	orders.Workshop
	clock
	people []orders.Person
	rules  []orders.ReminderRule
	tasks  []orders.Task
	coming []orders.LateArrival // on order, and should have come
}

// readShop reads the workshop as it is, with its tasks from back days before
// now.
func readShop(ctx context.Context, tx orders.Tx, now time.Time, back int) (shop, error) {
	w, err := tx.Workshop(ctx)
	if err != nil {
		return shop{}, err
	}
	zone, err := civil.LoadZone(w.Zone)
	if err != nil {
		return shop{}, fmt.Errorf("workshop %s: %w", w.ID, err)
	}
	out := shop{Workshop: w, clock: clock{zone}}
	if out.people, err = all(ctx, tx.People().List, orders.ListQuery{}); err != nil {
		return shop{}, err
	}
	if out.rules, err = all(ctx, tx.Rules().List, orders.ListQuery{All: true}); err != nil {
		return shop{}, err
	}
	if out.coming, err = orders.LateArrivals(ctx, tx, out.day(now)); err != nil {
		return shop{}, err
	}
	out.tasks, err = tx.Tasks(ctx, out.day(now).AddDays(-back))
	return out, err
}

// person finds someone who may still sign in.
func (s shop) person(id string) (orders.Person, bool) {
	i := slices.IndexFunc(s.people, func(p orders.Person) bool { return p.ID == id && !p.Retired })
	if i < 0 {
		return orders.Person{}, false
	}
	return s.people[i], true
}

// lister is one page of a list.
type lister[T any] func(context.Context, orders.ListQuery) (orders.Page[T], error)

// all reads every page of a list.
func all[T any](ctx context.Context, list lister[T], q orders.ListQuery) ([]T, error) {
	return while(ctx, list, q, func(T) bool { return true })
}

// while reads a list up to the first item that is not wanted.
func while[T any](ctx context.Context, list lister[T], q orders.ListQuery, wanted func(T) bool) ([]T, error) {
	q.Limit = pageSize
	var out []T
	for {
		page, err := list(ctx, q)
		if err != nil {
			return nil, err
		}
		for _, item := range page.Items {
			if !wanted(item) {
				return out, nil
			}
			out = append(out, item)
		}
		if page.Next == "" {
			return out, nil
		}
		q.Cursor = page.Next
	}
}

// revisionsSince is the plans published after c, oldest first.
func revisionsSince(ctx context.Context, tx orders.Tx, c coverage) ([]orders.PlanRevision, error) {
	out, err := while(ctx, tx.Revisions, orders.ListQuery{}, func(r orders.PlanRevision) bool { return r.Number > c.revision })
	slices.Reverse(out)
	return out, err
}

// deliveriesSince is a person's deliveries due after since, newest first; those
// of everyone when personID is empty.
func deliveriesSince(ctx context.Context, tx orders.Tx, personID string, since time.Time) ([]orders.Delivery, error) {
	return while(ctx, tx.Deliveries, orders.ListQuery{Parent: personID},
		func(d orders.Delivery) bool { return d.DueAt.After(since) })
}

// told is how much the last delivered reminders of these kinds told a person,
// and when the last of them was due; false when none was delivered yet.
func told(ctx context.Context, tx orders.SystemTx, personID string, kinds ...string) (coverage, time.Time, bool, error) {
	var out coverage
	var due time.Time
	any := false
	for _, kind := range kinds {
		d, err := tx.LastDelivered(ctx, personID, kind)
		if errors.Is(err, orders.ErrNotFound) {
			continue
		}
		if err != nil {
			return coverage{}, time.Time{}, false, err
		}
		c, err := coverageOf(d)
		if err != nil {
			return coverage{}, time.Time{}, false, err
		}
		out, any = out.beyond(c), true
		if d.DueAt.After(due) {
			due = d.DueAt
		}
	}
	return out, due, any, nil
}
