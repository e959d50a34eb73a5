package remind

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
)

// Change mails.
const (
	changeHorizon = 36 * time.Hour   // only what is that near is worth a mail
	changeMerge   = 15 * time.Minute // changes this close together share a mail
	changesADay   = 3
)

// coverage is how much of the plan's history a reminder has told: everything
// up to a published revision and an instant. Both are kept because a revision
// is dated when its making begins and seen when it is committed, while tasks
// that merely end may do so without a new revision.
type coverage struct {
	revision int
	at       time.Time
}

// messageID is the fixed Message-ID, without brackets, of the delivery id. It
// carries the coverage, so that what was told can be read back from the outbox.
func messageID(id string, c coverage, host string) string {
	return fmt.Sprintf("%s.%d.%d@%s", id, c.revision, c.at.Unix(), host)
}

// coverageOf reads the coverage of a delivery that went out.
func coverageOf(d orders.Delivery) (coverage, error) {
	local, _, _ := strings.Cut(d.MessageID, "@")
	parts := strings.Split(local, ".")
	if len(parts) != 3 {
		return coverage{}, fmt.Errorf("delivery %s: its Message-ID %q does not say what it told", d.ID, d.MessageID)
	}
	revision, errRevision := strconv.Atoi(parts[1])
	at, errAt := strconv.ParseInt(parts[2], 10, 64)
	if errRevision != nil || errAt != nil {
		return coverage{}, fmt.Errorf("delivery %s: its Message-ID %q does not say what it told", d.ID, d.MessageID)
	}
	return coverage{revision, time.Unix(at, 0).UTC()}, nil
}

// beyond is the larger of two coverages.
func (c coverage) beyond(o coverage) coverage {
	if o.at.After(c.at) {
		c.at = o.at
	}
	c.revision = max(c.revision, o.revision)
	return c
}

// news reports whether t changed after what c covers.
func (c coverage) news(t orders.Task) bool {
	return t.Revision > c.revision || t.ChangedAt.After(c.at)
}

// changeKind is what happened to a task.
type changeKind int

const (
	changeNew changeKind = iota
	changeMoved
	changeEdited // its text or pieces
	changeCancelled
)

// change is what happened to one task since a coverage.
type change struct {
	task orders.Task
	kind changeKind
	was  schedule.Interval // where it stood before; zero when not known
}

// changesSince is what happened to the tasks after c, by their new time. revs
// are the revisions after c, oldest first. Curing is left out, since it moves
// with the cut and the wrapping, and so is work that was done.
func changesSince(c coverage, tasks []orders.Task, revs []orders.PlanRevision) []change {
	was, added := history(revs)
	var out []change
	for _, t := range tasks {
		if t.Kind == orders.TaskCure || t.Status == orders.TaskDone || !c.news(t) {
			continue
		}
		if x, tell := changeOf(t, was, added); tell {
			out = append(out, x)
		}
	}
	slices.SortFunc(out, func(a, b change) int { return compareTasks(a.task, b.task) })
	return out
}

// changeOf says what happened to t; false when it came and went unseen, or
// stands where it stood.
func changeOf(t orders.Task, was map[stepKey]schedule.Interval, added map[string]bool) (change, bool) {
	before, moved := was[stepKey{t.BatchID, t.Kind}]
	isNew := t.Sequence == 0 || t.BatchID != "" && added[t.BatchID]
	switch {
	case t.Status == orders.TaskCancelled:
		return change{t, changeCancelled, before}, !isNew
	case isNew:
		return change{task: t, kind: changeNew}, true
	case moved && t.Part == 0 && (!before.From.Equal(t.From) || !before.To.Equal(t.To)):
		return change{t, changeMoved, before}, true
	}
	return change{task: t, kind: changeEdited}, true
}

// stepKey is one step of one batch.
type stepKey struct {
	batch string
	kind  orders.TaskKind
}

// history is where each moved step stood before the first of revs, and which
// batches they added.
func history(revs []orders.PlanRevision) (was map[stepKey]schedule.Interval, added map[string]bool) {
	was, added = make(map[stepKey]schedule.Interval), make(map[string]bool)
	for _, r := range revs {
		for _, m := range r.Diff.Moves {
			key := stepKey{m.BatchKey, orders.TaskKind(m.Step)}
			if _, known := was[key]; !known {
				was[key] = m.From
			}
		}
		for _, batch := range r.Diff.Added {
			added[batch] = true
		}
	}
	return was, added
}

// near reports whether the change touches the next 36 hours: by where the task
// stands now or by where it stood.
func (c clock) near(x change, now time.Time) bool {
	until := now.Add(changeHorizon)
	inside := func(from, to time.Time) bool { return !to.Before(now) && from.Before(until) }
	if x.task.AllDay {
		return !x.task.LastDay.Before(c.day(now)) && !x.task.Day.After(c.day(until))
	}
	return inside(x.task.From, x.task.To) || !x.was.From.IsZero() && inside(x.was.From, x.was.To)
}

// nearChanges keeps the changes of the next 36 hours.
func (c clock) nearChanges(all []change, now time.Time) []change {
	return slices.DeleteFunc(slices.Clone(all), func(x change) bool { return !c.near(x, now) })
}

// changeMail is the change mail to store at now for p, given the near changes
// that no mail has told and p's change mails so far; false when there is none:
// nothing changed, one waits already, or the day has had its three. Its slot
// counts the day's mails, so two replicas that see the same changes store one.
func (c clock) changeMail(now time.Time, p orders.Person, near []change, sent []orders.Delivery) (orders.Delivery, bool) {
	if len(near) == 0 {
		return orders.Delivery{}, false
	}
	first := slices.MinFunc(near, func(a, b change) int { return a.task.ChangedAt.Compare(b.task.ChangedAt) }).task.ChangedAt
	due := first.Add(changeMerge)
	if due.Before(now) {
		due = now
	}
	due = c.afterQuiet(due, p)
	day := c.day(due)
	slot, mails := 1, 0
	for _, d := range sent {
		if d.Status == orders.DeliveryDue {
			return orders.Delivery{}, false
		}
		if d.LocalDate == day {
			slot++
			if d.Status != orders.DeliveryEmpty {
				mails++
			}
		}
	}
	return orders.Delivery{
		PersonID: p.ID, Kind: kindChange, LocalDate: day, Slot: strconv.Itoa(slot),
		DueAt: due, NextTry: due, Status: orders.DeliveryDue,
	}, mails < changesADay
}

// compareTasks orders tasks as a day goes by: whole days first.
func compareTasks(a, b orders.Task) int {
	return cmp.Or(
		a.Day.Compare(b.Day), a.From.Compare(b.From), strings.Compare(string(a.Kind), string(b.Kind)),
		strings.Compare(a.Title, b.Title), strings.Compare(a.ID, b.ID),
	)
}

// whys is why the plan changed, in order, each reason once: one that a later one
// repeats and says more of is left out.
func whys(revs []orders.PlanRevision) []string {
	var out []string
	for i, r := range revs {
		repeated := slices.ContainsFunc(revs[i+1:], func(later orders.PlanRevision) bool { return strings.Contains(later.Why, r.Why) })
		if r.Why != "" && !repeated {
			out = append(out, r.Why)
		}
	}
	return out
}
