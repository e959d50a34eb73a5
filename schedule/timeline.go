package schedule

import (
	"slices"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// timeline turns days and hours of the workshop into the core's minutes, and
// back. Minute 0 is the start of its first day.
type timeline struct {
	zone   *time.Location
	origin time.Time
	now    solve.Time // the first whole minute at or after the clock
	first  civil.Date // the day of grid[0]
	today  civil.Date
	grid   []solve.Time            // starts of days
	open   map[Step][]solve.Window // working time by step
	widest map[Step]solve.Time     // the longest window by step
}

// steps in the order they happen.
var steps = [...]Step{StepTrial, StepMake, StepCut, StepWrap}

// calendars is the working time of each step, as the core is given it.
func (tl *timeline) calendars() [][]solve.Window {
	out := make([][]solve.Window, len(steps))
	for i, step := range steps {
		out[i] = tl.open[step]
	}
	return out
}

// index of a step among the calendars given to the core.
func (s Step) index() int { return slices.Index(steps[:], s) }

const (
	horizonSlack = 400      // days planned beyond the last date asked for
	horizonMost  = 366 * 40 // days; beyond it nothing is planned
	historyMost  = 366 * 3  // days before today that facts may reach back
)

func newTimeline(p *Problem) *timeline {
	today := civil.Of(p.Now.In(p.Zone))
	first, last := p.span(today)
	tl := &timeline{zone: p.Zone, first: first, today: today, origin: civil.StartOfDay(first, p.Zone)}
	tl.now = tl.ceil(p.Now)
	tl.grid = make([]solve.Time, last.Sub(first)+2)
	for i, at := range civil.StartsOfDays(first, len(tl.grid), p.Zone) {
		tl.grid[i] = tl.floor(at)
	}
	tl.openHours(p, last)
	return tl
}

// span is the days the timeline covers: from the earliest fact to far enough
// beyond the last date for all that is asked to find a place.
func (p *Problem) span(today civil.Date) (first, last civil.Date) {
	first, last = today, today
	for _, b := range p.Batches {
		if !b.Make.From.IsZero() {
			first = earlier(first, civil.Of(b.Make.From.In(p.Zone)))
		}
		last = later(last, b.CureUntil)
	}
	for _, o := range p.Orders {
		last = later(last, o.NeededBy)
	}
	work, cure := p.work()
	for _, d := range p.Designs {
		for _, s := range d.Supplies {
			last = later(last, s.From)
		}
	}
	first = later(first, today.AddDays(-historyMost))
	last = last.AddDays(horizonSlack + cure + work)
	return first, earlier(last, today.AddDays(horizonMost))
}

// work estimates, from above, the days all hands-on work may take, and the
// longest cure.
func (p *Problem) work() (days, cure int) {
	weekly := 0
	for _, w := range p.Hours {
		weekly += int(w.To - w.From)
	}
	minutes := 0
	for _, d := range p.Designs {
		cure = max(cure, d.CureTarget)
	}
	pieces := map[string]int{}
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			pieces[l.DesignID] += l.Pieces
		}
	}
	for _, d := range p.Designs {
		per := d.MakePer + d.CutPer + d.WrapPer
		fixed := d.MakeFixed + d.CutFixed + d.WrapFixed
		minutes += pieces[d.ID] * (per/60 + fixed/max(1, d.largestFit()) + 1)
	}
	return 7 * 3 * minutes / max(60, weekly), cure
}

// largestFit is the pieces of the fullest single mold.
func (d *Design) largestFit() int {
	most := 0
	for _, f := range d.Fits {
		most = max(most, f.Full)
	}
	return most
}

func earlier(d, e civil.Date) civil.Date {
	if e.Before(d) {
		return e
	}
	return d
}

func later(d, e civil.Date) civil.Date {
	if e.After(d) {
		return e
	}
	return d
}

// floor is the minute that holds t.
func (tl *timeline) floor(t time.Time) solve.Time {
	d := t.Sub(tl.origin)
	m := solve.Time(d / time.Minute)
	if d < 0 && d%time.Minute != 0 {
		m--
	}
	return m
}

// ceil is the first minute that starts at or after t.
func (tl *timeline) ceil(t time.Time) solve.Time {
	m := tl.floor(t)
	if tl.at(m).Before(t) {
		m++
	}
	return m
}

// at is the instant of a minute, in the workshop's zone.
func (tl *timeline) at(m solve.Time) time.Time {
	return tl.origin.Add(time.Duration(m) * time.Minute)
}

func (tl *timeline) interval(from, to solve.Time) Interval {
	return Interval{From: tl.at(from), To: tl.at(to)}
}

// day is the local day of an instant.
func (tl *timeline) day(t time.Time) civil.Date { return civil.Of(t.In(tl.zone)) }

// dayStart is the minute a day starts at, clamped to the grid.
func (tl *timeline) dayStart(d civil.Date) solve.Time {
	i := d.Sub(tl.first)
	if i < 0 {
		return tl.grid[0]
	}
	if i >= len(tl.grid) {
		return tl.grid[len(tl.grid)-1]
	}
	return tl.grid[i]
}
