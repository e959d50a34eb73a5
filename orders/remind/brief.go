package remind

import (
	"slices"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// How far a digest looks, in days from the day it is sent.
const (
	cureDays     = 2
	handOverDays = 7
	supplyDays   = 7
	lookBack     = 30 // for supplies that should have been ordered, and folded reminders
)

// brief is all that one reminder is written from. It is read in one moment;
// writing it needs nothing else, no clock included.
type brief struct {
	shop
	person   orders.Person
	delivery orders.Delivery
	now      time.Time
	planURL  string

	told    coverage // by what was delivered before
	known   bool     // false when nothing was
	changes []change // since told
	whys    []string
	missed  []orders.Delivery // folded into this one, oldest first
	molded  []orders.Batch    // poured, and not cut yet
}

// today is the local day on which the reminder is sent.
func (b brief) today() civil.Date { return b.day(b.now) }

// open is the tasks still to be done that fit.
func (b brief) open(fits func(orders.Task) bool) []orders.Task {
	return b.pick(func(t orders.Task) bool { return t.Status == orders.TaskOpen && fits(t) })
}

// pick is the tasks that fit, as the days go by.
func (b brief) pick(fits func(orders.Task) bool) []orders.Task {
	var out []orders.Task
	for _, t := range b.tasks {
		if fits(t) {
			out = append(out, t)
		}
	}
	slices.SortFunc(out, compareTasks)
	return out
}

// on is what there is to do on a day, of these statuses, whole-day entries
// first.
func (b brief) on(d civil.Date, status ...orders.TaskStatus) []orders.Task {
	return b.pick(func(t orders.Task) bool {
		return t.Kind != orders.TaskCure && slices.Contains(status, t.Status) && !t.Day.After(d) && !t.LastDay.Before(d)
	})
}

// curesEnding are the cures that end from today on within cureDays.
func (b brief) curesEnding() []orders.Task {
	out := b.open(func(t orders.Task) bool {
		return t.Kind == orders.TaskCure && within(t.LastDay, b.today(), cureDays)
	})
	slices.SortStableFunc(out, func(x, y orders.Task) int { return x.LastDay.Compare(y.LastDay) })
	return out
}

// handOvers are the coming hand-overs but for those of the digest's own day.
func (b brief) handOvers(but civil.Date) []orders.Task {
	return b.open(func(t orders.Task) bool {
		return t.Kind == orders.TaskHandOver && t.Day != but && within(t.Day, b.today(), handOverDays)
	})
}

// supplies is what must be ordered soon, or should have been.
func (b brief) supplies(but civil.Date) []orders.Task {
	return b.open(func(t orders.Task) bool {
		return t.Kind == orders.TaskSupplies && t.Day != but && !t.Day.After(b.today().AddDays(supplyDays))
	})
}

// hurried is the batches in their molds that have to be cut before any cut that
// is planned tells of it.
func (b brief) hurried() []orders.Batch {
	return slices.DeleteFunc(slices.Clone(b.molded), func(x orders.Batch) bool { return !x.Hurried(b.now) })
}

// unrecorded is the work of earlier days that nobody said was done, but for the
// cuts that are told of as hurried.
func (b brief) unrecorded() []orders.Task {
	hurried := b.hurried()
	return b.open(func(t orders.Task) bool {
		switch t.Kind {
		case orders.TaskCure, orders.TaskSupplies:
			return false
		case orders.TaskCut:
			if slices.ContainsFunc(hurried, func(x orders.Batch) bool { return x.ID == t.BatchID }) {
				return false
			}
		case orders.TaskTrial, orders.TaskMake, orders.TaskWrap, orders.TaskHandOver:
		}
		return t.LastDay.Before(b.today())
	})
}

func within(d, from civil.Date, days int) bool {
	return !d.Before(from) && !d.After(from.AddDays(days))
}

// ofRule is the work that a rule's reminder of day d is about, done work
// included: of its kind, LeadDays later. A cure counts on the day it ends.
func (b brief) ofRule(r orders.ReminderRule, d civil.Date) []orders.Task {
	target := d.AddDays(r.LeadDays)
	return b.pick(func(t orders.Task) bool {
		day := t.Day
		if t.Kind == orders.TaskCure {
			day = t.LastDay
		}
		return t.Kind == r.Kind && day == target && t.Status != orders.TaskCancelled
	})
}

// missedOf picks from a person's deliveries those that are folded into d: they
// came too late, whether a replica has noted that already or not, and the last
// digest, due at lastDue and written at told, did not tell of them.
func missedOf(d orders.Delivery, all []orders.Delivery, now, lastDue, told time.Time) []orders.Delivery {
	tooLate := func(x orders.Delivery, at time.Time) bool { return at.After(x.DueAt.Add(latest)) }
	var out []orders.Delivery
	for _, x := range all {
		missed := x.Status == orders.DeliveryFolded || x.Status == orders.DeliveryDue && tooLate(x, now)
		wasTold := x.DueAt.Before(lastDue) && tooLate(x, told)
		if missed && !wasTold && x.ID != d.ID && x.DueAt.Before(d.DueAt) {
			out = append(out, x)
		}
	}
	slices.Reverse(out)
	return out
}
