package orders

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/robfig/cron/v3"

	"ripeline/schedule/civil"
)

// Limits of a reminder rule.
const (
	maxFiringsADay = 12
	maxLead        = 60 // days
	cronYears      = 5  // a rule that does not fire within these never does
)

// CronRule is a five-field cron expression read as wall-clock times. The day
// of month and the day of week are joined by "or" when both are given, as is
// common practice.
type CronRule struct{ spec cron.SpecSchedule }

// ParseCron reads a five-field cron expression. It refuses time zones (a rule
// always follows the workshop's clock), rules that never fire and rules that
// fire more than 12 times on a day. Sunday is 0 or 7.
func ParseCron(expr string) (CronRule, error) {
	fields := strings.Fields(expr)
	if len(fields) != 5 || strings.Contains(expr, "=") {
		return CronRule{}, fmt.Errorf("write five fields: minute, hour, day of month, month, day of week; 0 18 * * * is every day at 18:00")
	}
	if fields[4] == "7" {
		fields[4] = "0"
	}
	parsed, err := cron.NewParser(cron.Minute | cron.Hour | cron.Dom | cron.Month | cron.Dow).Parse(strings.Join(fields, " "))
	if err != nil {
		return CronRule{}, fmt.Errorf("can not be read (%w); 0 18 * * * is every day at 18:00", err)
	}
	spec, ok := parsed.(*cron.SpecSchedule)
	if !ok {
		return CronRule{}, fmt.Errorf("must be five fields; 0 18 * * * is every day at 18:00")
	}
	r := CronRule{*spec}
	r.spec.Location = time.UTC
	first := r.spec.Next(time.Date(2027, 12, 31, 23, 59, 59, 0, time.UTC)) // begins before a leap year
	if first.IsZero() || first.Year() > 2027+cronYears {
		return CronRule{}, fmt.Errorf("never fires: no such day comes; 0 18 * * * is every day at 18:00")
	}
	if len(r.On(civil.Of(first))) > maxFiringsADay {
		return CronRule{}, fmt.Errorf("fires more than %d times a day; give it an hour, as in 0 18 * * *", maxFiringsADay)
	}
	return r, nil
}

// On returns the wall-clock times at which the rule fires on a date, in order.
// Each local date is computed by itself, so that a clock change neither skips
// nor doubles one.
func (r CronRule) On(d civil.Date) []civil.Minute {
	day := time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC)
	var out []civil.Minute
	for t := r.spec.Next(day.Add(-time.Second)); !t.IsZero() && civil.Of(t) == d && len(out) <= maxFiringsADay; t = r.spec.Next(t) {
		out = append(out, civil.ClockOf(t))
	}
	return out
}

// Next returns the first n instants after t at which the rule fires by the
// wall clock of loc.
func (r CronRule) Next(t time.Time, loc *time.Location, n int) []time.Time {
	var out []time.Time
	last := civil.Of(t.In(loc)).AddDays(366 * cronYears)
	wall := time.Date(t.In(loc).Year(), t.In(loc).Month(), t.In(loc).Day(), 0, 0, 0, 0, time.UTC).Add(-time.Second)
	for len(out) < n {
		wall = r.spec.Next(wall)
		if wall.IsZero() || civil.Of(wall).After(last) {
			break
		}
		if at := civil.At(civil.Of(wall), civil.ClockOf(wall), loc); at.After(t) {
			out = append(out, at)
		}
	}
	return out
}

// NextTimes returns the next n times (at most 20) a cron expression fires, by
// the workshop's wall clock; *Invalid (field "cron") when it can not be read
// or never fires.
func (b *Book) NextTimes(ctx context.Context, a Actor, expr string, n int) ([]time.Time, error) {
	rule, err := ParseCron(expr)
	if err != nil {
		return nil, &Invalid{Fields: []FieldError{{"cron", err.Error()}}}
	}
	return read(ctx, b, a, func(tx Tx) ([]time.Time, error) {
		w, err := tx.Workshop(ctx)
		if err != nil {
			return nil, err
		}
		loc, err := w.location()
		if err != nil {
			return nil, err
		}
		return rule.Next(b.now(), loc, min(max(n, 1), 20)), nil
	})
}

var taskKinds = []TaskKind{TaskTrial, TaskMake, TaskCut, TaskCure, TaskWrap, TaskHandOver, TaskSupplies}

func (b *Book) checkRule(ctx context.Context, tx Tx, r, _ *ReminderRule) error {
	var c Check
	checkName(&c, "name", r.Name, true)
	if _, err := known(ctx, &c, tx.People(), "person_id", r.PersonID, "person"); err != nil {
		return err
	}
	if _, err := ParseCron(r.Cron); err != nil {
		c.Add("cron", err.Error())
	}
	c.Want(slices.Contains(taskKinds, r.Kind), "kind", "must be one of trial, make, cut, cure, wrap, hand_over, supplies")
	within(&c, "lead_days", r.LeadDays, 0, maxLead, "days")
	return c.Err()
}
