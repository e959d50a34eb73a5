package remind

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// Kinds of delivery. A rule's is kindRule followed by the rule's id.
const (
	kindDigest = "digest"       // of tomorrow, in the evening
	kindToday  = "digest-today" // of today, in the morning
	kindChange = "change"
	kindRule   = "rule:"
)

// latest is how late a reminder may come; after that it is folded into the
// next digest.
const latest = 3 * time.Hour

// clock turns a workshop's wall-clock times into instants and back.
type clock struct{ zone *time.Location }

func (c clock) day(t time.Time) civil.Date                { return civil.Of(t.In(c.zone)) }
func (c clock) at(d civil.Date, m civil.Minute) time.Time { return civil.At(d, m, c.zone).UTC() }

// dueOn is what p's settings make due on the local day d: at most one of each
// digest, and each firing of p's own rules. A wall-clock time that the day
// skips comes just after the gap, one that it shows twice comes once. A rule
// that can not be read is an error, and the rest is returned all the same.
func (c clock) dueOn(d civil.Date, p orders.Person, rules []orders.ReminderRule) ([]orders.Delivery, error) {
	if p.Retired {
		return nil, nil
	}
	var out []orders.Delivery
	var errs []error
	if p.DigestToday != nil {
		out = append(out, c.delivery(p, kindToday, d, "", *p.DigestToday))
	}
	if p.DigestAt != nil {
		out = append(out, c.delivery(p, kindDigest, d, "", *p.DigestAt))
	}
	for _, r := range rules {
		if r.PersonID != p.ID || r.Off {
			continue
		}
		times, err := orders.ParseCron(r.Cron)
		if err != nil {
			errs = append(errs, fmt.Errorf("reminder rule %s: %q: %w", r.ID, r.Cron, err))
			continue
		}
		for _, m := range times.On(d) {
			out = append(out, c.delivery(p, kindRule+r.ID, d, m.String(), m))
		}
	}
	return out, errors.Join(errs...)
}

func (c clock) delivery(p orders.Person, kind string, d civil.Date, slot string, m civil.Minute) orders.Delivery {
	at := c.at(d, m)
	return orders.Delivery{
		PersonID: p.ID, Kind: kind, LocalDate: d, Slot: slot, DueAt: at, NextTry: at, Status: orders.DeliveryDue,
	}
}

// ahead is what to store at now for p: yesterday's to tomorrow's reminders.
// Yesterday counts because a late one may still be in time, or be folded. What
// was set up only after its time had passed is left out: it was never due.
func (c clock) ahead(now time.Time, p orders.Person, rules []orders.ReminderRule) ([]orders.Delivery, error) {
	var out []orders.Delivery
	var errs []error
	for d := c.day(now).AddDays(-1); !d.After(c.day(now).AddDays(1)); d = d.AddDays(1) {
		due, err := c.dueOn(d, p, rules)
		errs = append(errs, err)
		for _, x := range due {
			if x.DueAt.After(setAt(x, p, rules)) {
				out = append(out, x)
			}
		}
	}
	return out, errors.Join(errs...)
}

// setAt is when what makes d due was last changed.
func setAt(d orders.Delivery, p orders.Person, rules []orders.ReminderRule) time.Time {
	if r, ok := ruleOf(d, rules); ok {
		return r.ChangedAt
	}
	return p.ChangedAt
}

// ruleOf finds the rule that d is about; false when it is about none, or one
// that is no more.
func ruleOf(d orders.Delivery, rules []orders.ReminderRule) (orders.ReminderRule, bool) {
	id, isRule := strings.CutPrefix(d.Kind, kindRule)
	if !isRule {
		return orders.ReminderRule{}, false
	}
	for _, r := range rules {
		if r.ID == id {
			return r, true
		}
	}
	return orders.ReminderRule{}, false
}

// dueNow is when d is due by today's settings, which may have changed since it
// was stored; false when it is not due at all any more.
func (c clock) dueNow(d orders.Delivery, p orders.Person, rules []orders.ReminderRule) (time.Time, bool, error) {
	if d.Kind == kindChange {
		return c.afterQuiet(d.DueAt, p), !p.Retired && wantsDigest(p), nil
	}
	due, err := c.dueOn(d.LocalDate, p, rules)
	for _, x := range due {
		if x.Kind == d.Kind && x.Slot == d.Slot {
			return x.DueAt, true, nil
		}
	}
	return time.Time{}, false, err
}

// wantsDigest reports whether p has a digest, which late reminders go into and
// changes are told after.
func wantsDigest(p orders.Person) bool { return p.DigestAt != nil || p.DigestToday != nil }

// afterQuiet is t, or the end of p's quiet hours when t lies in them. Equal
// ends mean no quiet hours.
func (c clock) afterQuiet(t time.Time, p orders.Person) time.Time {
	if p.QuietFrom == nil || p.QuietTo == nil || *p.QuietFrom == *p.QuietTo {
		return t
	}
	// The quiet time that holds t began today or, over midnight, yesterday.
	for d := c.day(t).AddDays(-1); !d.After(c.day(t)); d = d.AddDays(1) {
		end := d
		if *p.QuietTo < *p.QuietFrom {
			end = d.AddDays(1)
		}
		from, to := c.at(d, *p.QuietFrom), c.at(end, *p.QuietTo)
		if !t.Before(from) && t.Before(to) {
			return to
		}
	}
	return t
}
