package plancheck

import (
	"slices"
	"time"

	"ripeline/schedule"
)

// checkWindows checks that work still to come lies in open hours after now.
func (c *checker) checkWindows(b *schedule.PlanBatch, _ *schedule.Design, old *schedule.Batch) {
	if b.State == schedule.Planned {
		c.checkOpen(b.Key, schedule.StepMake, b.Make, old, func(o *schedule.Batch) schedule.Interval { return o.Make })
	}
	if b.State != schedule.Curing {
		c.checkOpen(b.Key, schedule.StepCut, b.Cut, old, func(o *schedule.Batch) schedule.Interval { return o.Cut })
	}
	for _, part := range b.WrapParts {
		c.checkOpen(b.Key, schedule.StepWrap, part, old, func(o *schedule.Batch) schedule.Interval { return o.Wrap })
	}
	if !b.Trial.From.IsZero() {
		c.checkOpen(b.Key, schedule.StepTrial, b.Trial, nil, nil)
	}
}

// checkOpen checks one stretch of work. A person may have fixed it outside the
// hours.
func (c *checker) checkOpen(key string, step schedule.Step, at schedule.Interval, old *schedule.Batch, published func(*schedule.Batch) schedule.Interval) {
	if at.From.Before(c.p.Now) {
		c.say("batch %s: %s at %s, before now", key, step, at.From)
	}
	if !at.From.Equal(at.From.Truncate(time.Minute)) || at.To.Before(at.From) {
		c.say("batch %s: %s is not in whole minutes, or ends before it begins", key, step)
	}
	if old != nil && old.Pinned && published(old).From.Equal(at.From) {
		return
	}
	for t := at.From; t.Before(at.To); t = t.Add(time.Minute) {
		if !c.open(step, t) {
			c.say("batch %s: %s at %s, outside working hours", key, step, t.In(c.p.Zone))
			return
		}
	}
}

// open reports whether the minute from t may hold a step.
func (c *checker) open(step schedule.Step, t time.Time) bool {
	local := t.In(c.p.Zone)
	day, clock := c.day(t), local.Hour()*60+local.Minute()
	for _, r := range c.p.Closed {
		if !day.Before(r.From) && !day.After(r.To) {
			return false
		}
	}
	for _, b := range c.p.Busy {
		if t.Before(b.To) && t.Add(time.Minute).After(b.From) {
			return false
		}
	}
	for _, w := range c.p.Hours {
		if w.Weekday == local.Weekday() && int(w.From) <= clock && clock < int(w.To) && allows(w.Steps, step) {
			return true
		}
	}
	for _, w := range c.p.Extra {
		if w.Date == day && int(w.From) <= clock && clock < int(w.To) && allows(w.Steps, step) {
			return true
		}
	}
	return false
}

func allows(list []schedule.Step, step schedule.Step) bool {
	return len(list) == 0 || slices.Contains(list, step)
}

// checkTrials checks that the first pour of a design that needs a trial comes
// after one that could be judged.
func (c *checker) checkTrials() {
	for i := range c.p.Designs {
		d := &c.p.Designs[i]
		trials, first, keys := 0, time.Time{}, []string(nil)
		for j := range c.plan.Batches {
			b := &c.plan.Batches[j]
			if b.DesignID != d.ID || b.State != schedule.Planned {
				if !b.Trial.From.IsZero() && b.DesignID == d.ID {
					c.say("batch %s is under way and yet has a trial", b.Key)
				}
				continue
			}
			keys = append(keys, b.Key)
			if !b.Trial.From.IsZero() {
				trials++
				first = b.Trial.From
				if b.Trial.To.Sub(b.Trial.From) != time.Duration(d.TrialMinutes)*time.Minute {
					c.say("batch %s: its trial has the wrong length", b.Key)
				}
			}
		}
		c.checkTrial(d, trials, first, keys)
	}
}

func (c *checker) checkTrial(d *schedule.Design, trials int, at time.Time, keys []string) {
	if !d.NeedsTrial {
		if trials > 0 {
			c.say("design %s has a trial it does not need", d.ID)
		}
		return
	}
	if len(keys) == 0 {
		return
	}
	if trials != 1 {
		c.say("design %s has %d trials instead of one", d.ID, trials)
		return
	}
	judged := c.day(at).AddDays(1)
	for _, b := range c.plan.Batches {
		if slices.Contains(keys, b.Key) && !c.day(b.Make.From).After(judged) {
			c.say("batch %s is made before its trial is judged", b.Key)
		}
	}
}
