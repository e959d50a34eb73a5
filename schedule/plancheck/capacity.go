package plancheck

import (
	"slices"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// event is a change in the use of a capacity: by work that is planned, or by
// what happened and can not be helped.
type event struct {
	at             time.Time
	planned, given int
	key            string
}

// hold adds a use over a span of time.
func hold(events []event, from, to time.Time, amount int, planned bool, key string) []event {
	if !from.Before(to) || amount == 0 {
		return events
	}
	up, down := event{at: from, key: key}, event{at: to, key: key}
	if planned {
		up.planned, down.planned = amount, -amount
	} else {
		up.given, down.given = amount, -amount
	}
	return append(events, up, down)
}

// sweep reports the first moment at which more is used than there is, while
// something planned takes part.
func sweep(events []event, capacity func(time.Time) int) (at time.Time, key string, over bool) {
	slices.SortStableFunc(events, func(a, b event) int { return a.at.Compare(b.at) })
	planned, given := 0, 0
	for i, e := range events {
		planned += e.planned
		given += e.given
		if e.planned > 0 || e.given > 0 {
			key = e.key
		}
		if i+1 < len(events) && events[i+1].at.Equal(e.at) {
			continue
		}
		if planned > 0 && planned+given > capacity(e.at) {
			return e.at, key, true
		}
	}
	return time.Time{}, "", false
}

// checkHands checks that no more work is under way than there are people.
func (c *checker) checkHands() {
	var events []event
	for i := range c.plan.Batches {
		b := &c.plan.Batches[i]
		if b.State == schedule.Planned {
			events = hold(events, b.Make.From, b.Make.To, 1, true, b.Key)
		}
		if b.State != schedule.Curing {
			events = hold(events, b.Cut.From, b.Cut.To, 1, true, b.Key)
		}
		for _, part := range b.WrapParts {
			events = hold(events, part.From, part.To, 1, true, b.Key)
		}
		events = hold(events, b.Trial.From, b.Trial.To, 1, true, b.Key)
	}
	if at, key, over := sweep(events, func(time.Time) int { return c.p.Hands }); over {
		c.say("at %s there is more work than hands (batch %s)", at, key)
	}
}

// checkMolds checks each kind of mold, at every change of its use and on each
// day on which some are missing.
func (c *checker) checkMolds() {
	for _, m := range c.p.Molds {
		var events []event
		for i := range c.plan.Batches {
			b := &c.plan.Batches[i]
			until := b.Cut.To.Add(time.Duration(m.Clean) * time.Minute)
			for _, use := range b.Molds {
				if use.MoldID == m.ID {
					events = hold(events, b.Make.From, until, use.Units, b.State == schedule.Planned, b.Key)
				}
			}
		}
		events = append(events, c.outDays(m)...)
		if at, key, over := sweep(events, func(t time.Time) int { return m.Count - c.missing(m, t) }); over {
			c.say("at %s more molds %s are in use than there are (batch %s)", at, m.ID, key)
		}
	}
}

// outDays makes the sweep look at the days on which the number of molds changes.
func (c *checker) outDays(m schedule.Mold) []event {
	var out []event
	for _, o := range m.Out {
		out = append(out,
			event{at: civil.StartOfDay(o.Days.From, c.p.Zone)},
			event{at: civil.StartOfDay(o.Days.To.AddDays(1), c.p.Zone)})
	}
	return out
}

func (c *checker) missing(m schedule.Mold, t time.Time) int {
	sum, day := 0, c.day(t)
	for _, o := range m.Out {
		if !day.Before(o.Days.From) && !day.After(o.Days.To) {
			sum += o.Units
		}
	}
	return sum
}

// checkRack checks the area in use. What cures already, and a batch the plan
// says it has no room for, count as given.
func (c *checker) checkRack() {
	var events []event
	for i := range c.plan.Batches {
		b := &c.plan.Batches[i]
		d := c.designs[b.DesignID]
		if d == nil {
			continue
		}
		planned := b.State != schedule.Curing && !c.admits(b.Key, schedule.HoldRack)
		events = hold(events, b.Cut.To, b.Wrap.To, b.Sound*int(d.Footprint), planned, b.Key)
	}
	if at, key, over := sweep(events, func(time.Time) int { return int(c.p.Rack) }); over {
		c.say("at %s the rack is overfull (batch %s)", at, key)
	}
}

// checkPieces checks that no piece is given twice, or to whom it is not due.
func (c *checker) checkPieces() {
	left, designOf := map[string]int{}, map[string]string{}
	for _, b := range c.plan.Batches {
		left[b.Key], designOf[b.Key] = b.Sound, b.DesignID
	}
	for _, s := range c.p.Stock {
		left["stock "+s.ID], designOf["stock "+s.ID] = s.Pieces, s.DesignID
	}
	lines := map[string]schedule.Line{}
	for _, o := range c.p.Orders {
		for _, l := range o.Lines {
			if o.Accepted {
				lines[l.ID] = l
			}
		}
	}
	given := map[string]int{}
	for _, a := range c.plan.Allocations {
		key := a.BatchKey
		if a.StockID != "" {
			key = "stock " + a.StockID
		}
		line, ok := lines[a.LineID]
		if !ok || designOf[key] != line.DesignID || a.Pieces <= 0 || (a.BatchKey == "") == (a.StockID == "") {
			c.say("%d pieces of %q are given to line %q, which makes no sense", a.Pieces, key, a.LineID)
		}
		left[key] -= a.Pieces
		given[a.LineID] += a.Pieces
	}
	for key, n := range left {
		if n < 0 {
			c.say("%s gives %d pieces more than it has", key, -n)
		}
	}
	free := map[string]int{}
	for key, n := range left {
		free[designOf[key]] += n
	}
	for id, l := range lines {
		if given[id] > l.Pieces {
			c.say("line %s gets %d of %d pieces", id, given[id], l.Pieces)
		}
		if given[id] < l.Pieces && free[l.DesignID] > 0 {
			c.say("line %s lacks pieces though %d are free", id, free[l.DesignID])
		}
	}
}
