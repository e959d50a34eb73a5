package plancheck

import (
	"slices"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// step is a published step that is still to come, and where the plan has it.
type step struct {
	batch    string
	old, now schedule.Interval
	moved    bool
}

// steps pairs the published steps with the planned ones.
func (c *checker) steps() []step {
	var out []step
	for i := range c.plan.Batches {
		b := &c.plan.Batches[i]
		old := c.book[b.Key]
		if old == nil {
			continue
		}
		add := func(was, is schedule.Interval, otherwise bool) {
			if was.From.IsZero() {
				return
			}
			moved := otherwise || minute(was.From) != minute(is.From) || minute(was.To) != minute(is.To)
			out = append(out, step{batch: b.Key, old: was, now: is, moved: moved})
		}
		if old.State == schedule.Planned {
			if !b.Trial.From.IsZero() {
				add(old.Trial, b.Trial, false)
			}
			add(old.Make, b.Make, !slices.Equal(old.Molds, b.Molds))
		}
		if old.State != schedule.Curing {
			add(old.Cut, b.Cut, false)
		}
		add(old.Wrap, b.Wrap, false)
	}
	return out
}

func minute(t time.Time) int64 { return t.Unix() / 60 }

// changes weighs what moved: 8 inside the firm window, 4 within a week, 2
// within four, else 1; and 100 for each customer told an earlier day.
func (c *checker) changes() int {
	sum := 0
	for _, s := range c.steps() {
		if !s.moved {
			continue
		}
		switch {
		case c.firm(s.old.From):
			sum += 8
		case s.old.From.Before(c.ahead(7)):
			sum += 4
		case s.old.From.Before(c.ahead(28)):
			sum += 2
		default:
			sum++
		}
	}
	for _, o := range c.p.Orders {
		if o.Told.IsZero() {
			continue
		}
		for _, out := range c.plan.Orders {
			if out.OrderID == o.ID && (out.Ready.IsZero() || out.Ready.After(lastOf(o.Told, c.published(o)))) {
				sum += 100
			}
		}
	}
	return sum
}

// published is the day an order is ready by what the book allocates to it, the
// zero day when that is not all of it.
func (c *checker) published(o schedule.Order) civil.Date {
	var ready civil.Date
	for _, l := range o.Lines {
		lacking := l.Pieces
		count := func(shares []schedule.Share, wrapped civil.Date) {
			for _, s := range shares {
				if s.LineID == l.ID {
					lacking -= s.Pieces
					ready = lastOf(ready, wrapped)
				}
			}
		}
		for _, b := range c.p.Batches {
			if !b.Wrap.To.IsZero() {
				count(b.For, c.day(b.Wrap.To.Add(-time.Second)))
			}
		}
		for _, s := range c.p.Stock {
			count(s.For, civil.Date{})
		}
		if lacking > 0 {
			return civil.Date{}
		}
	}
	return ready
}

// ahead is now, some days on, by the clock on the wall.
func (c *checker) ahead(days int) time.Time { return c.p.Now.In(c.p.Zone).AddDate(0, 0, days) }

func (c *checker) firm(t time.Time) bool { return !t.Before(c.p.Now) && t.Before(c.ahead(c.p.Firm)) }

// checkStability puts every batch whose firm or pinned work moved back to its
// published times: if the plan is then still feasible, it moved without need.
func (c *checker) checkStability() {
	for _, s := range c.steps() {
		pinned := c.book[s.batch].Pinned && !s.old.From.Before(c.p.Now)
		if !s.moved || !pinned && !c.firm(s.old.From) {
			continue
		}
		if c.couldStay(s.batch) {
			c.say("batch %s moved though its published times were free and firm", s.batch)
		}
	}
}

// couldStay reports whether the plan stays feasible with one batch put back.
func (c *checker) couldStay(key string) bool {
	back := *c.plan
	back.Batches = slices.Clone(c.plan.Batches)
	back.Problems = nil
	trial, put := newChecker(c.p, &back), false
	for i := range back.Batches {
		b := &back.Batches[i]
		old := c.book[b.Key]
		if b.Key != key || old.Make.From.IsZero() || old.Cut.From.IsZero() || old.Wrap.From.IsZero() {
			continue
		}
		put = true
		b.Molds, b.Pieces = old.Molds, old.Pieces
		b.Make, b.Cut, b.Wrap, b.WrapParts = old.Make, old.Cut, old.Wrap, []schedule.Interval{old.Wrap}
		if !b.Trial.From.IsZero() && !old.Trial.From.IsZero() {
			b.Trial = old.Trial
		}
		d := c.designs[b.DesignID]
		b.CutFrom, b.CutTo = c.cutWindow(b, d)
		cut := c.day(b.Cut.From)
		b.CureMin, b.CureTarget = cut.AddDays(d.CureMin), cut.AddDays(d.CureTarget)
		if b.State != schedule.Planned {
			b.CureMin, b.CureTarget = lastOf(b.CureMin, old.CureUntil), lastOf(b.CureTarget, old.CureUntil)
		}
		trial.checkBatch(b)
	}
	trial.checkHands()
	trial.checkMolds()
	trial.checkRack()
	trial.checkTrials()
	trial.checkSupplies()
	return put && len(trial.found) == 0
}
