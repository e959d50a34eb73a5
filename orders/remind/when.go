package remind

import (
	"fmt"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// short writes a day as "Tue 8 Dec".
func short(d civil.Date) string {
	return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC).Format("Mon 2 Jan")
}

// named writes a day as the reader will say it on the day the reminder is sent.
func (b brief) named(d civil.Date) string {
	switch n := d.Sub(b.today()); {
	case n == 0:
		return "Today, " + short(d)
	case n == 1:
		return "Tomorrow, " + short(d)
	case n > 1:
		return fmt.Sprintf("In %d days, %s", n, short(d))
	}
	return short(d)
}

// clockTime is the wall-clock time of t, with the zone's abbreviation when the
// clocks show that time twice.
func (c clock) clockTime(t time.Time) string {
	local := t.In(c.zone)
	if civil.ShownTwice(local) {
		return local.Format("15:04 MST")
	}
	return local.Format("15:04")
}

// moment writes an instant as "Tue 8 Dec, 18:00".
func (c clock) moment(t time.Time) string { return short(c.day(t)) + ", " + c.clockTime(t) }

// when writes when a task begins.
func (c clock) when(t orders.Task) string {
	if t.AllDay || t.From.IsZero() {
		return short(t.Day)
	}
	return c.moment(t.From)
}

// hours writes when a task is done as seen on day d, as "18:00–18:40".
func (c clock) hours(t orders.Task, d civil.Date) string {
	if t.AllDay || t.From.IsZero() {
		return "all day"
	}
	from, to := c.clockTime(t.From), c.clockTime(t.To)
	if c.day(t.From) != d {
		from = c.moment(t.From)
	}
	if c.day(t.To) != d {
		to = c.moment(t.To)
	}
	return from + "–" + to
}
