package orders

import (
	"context"
	"slices"
	"strings"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

// daysInFeed is how far back a feed reaches.
const daysInFeed = 90

// FeedByToken returns the calendar of a feed's secret token, and when any of
// it last changed; ErrNotFound when the token is unknown or revoked. pageURL
// is the address of the plan's page. That the feed was asked for is noted at
// most once a minute.
func (b *Book) FeedByToken(ctx context.Context, token, pageURL string) (ical.Feed, error) {
	hash := hashSecret(token)
	var workshopID string
	var feed Feed
	err := b.store.System(ctx, func(tx SystemTx) error {
		var err error
		if workshopID, feed, err = tx.FeedByHash(ctx, hash); err != nil {
			return err
		}
		if b.now().Sub(feed.UsedAt) < time.Minute {
			return nil
		}
		return tx.Used(ctx, hash, b.now())
	})
	if err != nil {
		return ical.Feed{}, err
	}
	var out ical.Feed
	err = b.store.Read(ctx, workshopID, func(tx Tx) error {
		out, err = b.calendar(ctx, tx, feed, pageURL)
		return err
	})
	return out, err
}

// calendar is what a feed shows of the published plan.
func (b *Book) calendar(ctx context.Context, tx Tx, f Feed, pageURL string) (ical.Feed, error) {
	w, err := tx.Workshop(ctx)
	if err != nil {
		return ical.Feed{}, err
	}
	zone, err := w.location()
	if err != nil {
		return ical.Feed{}, err
	}
	tasks, err := tx.Tasks(ctx, civil.Of(b.now().In(zone)).AddDays(-daysInFeed))
	if err != nil {
		return ical.Feed{}, err
	}
	out := ical.Feed{ID: f.ID, Name: f.Name, PageURL: pageURL, Zone: zone, Alarm: time.Duration(f.Alarm) * time.Minute}
	if out.Modified, err = modified(ctx, tx, w, f, tasks); err != nil {
		return ical.Feed{}, err
	}
	show := f.shows
	if f.Kind == FeedOrder {
		out.PageURL = "" // the plan's page is not the customer's
		if show, err = orderDates(ctx, tx, f.OrderID); err != nil {
			return ical.Feed{}, err
		}
	}
	lots, err := lotsOf(ctx, tx, tasks)
	if err != nil {
		return ical.Feed{}, err
	}
	for _, t := range tasks {
		if !show(t) {
			continue
		}
		e := t.event()
		e.Ref = lots[t.BatchID]
		if f.Kind == FeedOrder {
			if e, err = forCustomer(ctx, tx, t, e); err != nil {
				return ical.Feed{}, err
			}
		}
		out.Events = append(out.Events, e)
	}
	return out, nil
}

// lotsOf is the lot codes of the batches that tasks are about, by id.
func lotsOf(ctx context.Context, tx Tx, tasks []Task) (map[string]string, error) {
	seen := map[string]bool{"": true}
	var ids []string
	for _, t := range tasks {
		if !seen[t.BatchID] {
			seen[t.BatchID] = true
			ids = append(ids, t.BatchID)
		}
	}
	return tx.BatchLots(ctx, ids)
}

// modified is when what a feed is made from last changed. It looks at all the
// workshop's tasks and not only at those shown: when one leaves the feed, since
// its pieces go to another order, the time must not fall back to that of the
// rest.
func modified(ctx context.Context, tx Tx, w Workshop, f Feed, tasks []Task) (time.Time, error) {
	plan, err := published(ctx, tx, w)
	if err != nil {
		return time.Time{}, err
	}
	last := f.ChangedAt
	for _, at := range []time.Time{w.ChangedAt, plan.At} {
		if at.After(last) {
			last = at
		}
	}
	for _, t := range tasks {
		if t.ChangedAt.After(last) {
			last = t.ChangedAt
		}
	}
	return last, nil
}

// shows reports whether a feed of the workshop's own holds the task.
func (f Feed) shows(t Task) bool {
	return f.Kind == FeedAll || string(f.Kind) == string(t.Kind) || f.Kind == FeedKind(TaskMake) && t.Kind == TaskTrial
}

// orderDates selects an order's own dates: the cure of the batches it gets
// pieces of, and its hand-over.
func orderDates(ctx context.Context, tx Tx, orderID string) (func(Task) bool, error) {
	all, err := tx.Allocations(ctx)
	if err != nil {
		return nil, err
	}
	var batches []string
	for _, a := range all {
		if a.OrderID != orderID {
			continue
		}
		id := a.BatchID
		if a.StockID != "" {
			s, err := tx.Stocks().Get(ctx, a.StockID)
			if err != nil {
				return nil, err
			}
			id = s.BatchID
		}
		batches = append(batches, id)
	}
	return func(t Task) bool {
		return t.Kind == TaskHandOver && t.OrderID == orderID ||
			t.Kind == TaskCure && t.Status != TaskCancelled && slices.Contains(batches, t.BatchID)
	}, nil
}

// forCustomer leaves of an event what its order's customer may see: no lot, no
// pieces of others, no notes.
func forCustomer(ctx context.Context, tx Tx, t Task, e ical.Event) (ical.Event, error) {
	e.Ref, e.Description = "", ""
	if t.Kind == TaskHandOver {
		e.Summary = "Ready for you"
		return e, nil
	}
	d, err := tx.Designs().Get(ctx, t.DesignID)
	e.Summary = d.Name + " cures"
	return e, err
}

// category is what a calendar's reader calls a kind of work.
func (k TaskKind) category() string {
	if k == TaskMake {
		return "pour"
	}
	return strings.ReplaceAll(string(k), "_", "-")
}

// described is what a calendar says below a task's title.
func (t Task) described() string {
	if t.Obstacle == "" {
		return t.Detail
	}
	return strings.TrimSpace("It can not be done as planned: " + t.Obstacle + "\n" + t.Detail)
}

// event is the task as a calendar entry.
func (t Task) event() ical.Event {
	e := ical.Event{
		UID: t.ID, Kind: t.Kind.category(), Summary: t.Title, Description: t.described(),
		AllDay: t.AllDay, Sequence: t.Sequence, Modified: t.ChangedAt, Status: ical.Confirmed,
		Busy: !t.AllDay && t.Status != TaskCancelled,
	}
	if t.Status == TaskCancelled {
		e.Status = ical.Cancelled
	}
	if t.AllDay {
		e.From, e.To = t.Day, t.LastDay
	} else {
		e.Start, e.End = t.From, t.To
	}
	return e
}
