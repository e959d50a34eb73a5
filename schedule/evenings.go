package schedule

import (
	"context"
	"fmt"
	"slices"

	"ripeline/schedule/civil"
)

// The hours of an extra window: an evening, as most who work alone could find.
const (
	extraFrom = 18 * 60
	extraTo   = 21 * 60
)

// mostEvenings is how many evenings are tried alone.
const mostEvenings = 12

// extraWindow offers one more evening, the first that helps. It first plans with
// all evenings there are, and then tries alone each that this made use of, and
// after them some of the others, the first of them first.
func (a *ask) extraWindow(ctx context.Context) (offer, error) {
	all := a.evenings()
	d := a.replan(a.planner.withWindows(all), a.ripe)
	if d == nil {
		return offer{}, nil
	}
	for _, w := range a.usedFirst(d, all) {
		pl := a.planner.withWindows([]ExtraWindow{w})
		d := a.replan(pl, a.ripe)
		if d == nil {
			continue
		}
		if found, err := a.left(ctx, pl); err != nil {
			return offer{}, err
		} else if found {
			alt := a.alternative(AltExtraWindow, d, fmt.Sprintf("Work on %s from %s to %s as well: ready on %s.",
				on(w.Date), w.From, w.To, on(d.plan.outcome(a.order.ID).Ready)))
			alt.Window = w
			return offered(alt)
		}
	}
	return offer{}, nil
}

// left reports whether the answer is a plain yes in a changed workshop once what
// others make of the change has been planned: hours that are added are theirs as
// well. Who is in time as published makes nothing of them.
func (a *ask) left(ctx context.Context, pl *planner) (bool, error) {
	if o := a.before.Objective; o.Late == 0 && o.Changes == 0 && !a.before.drawsUp() {
		return true, nil
	}
	again, err := newAsk(ctx, pl.problem, *a.order)
	if err != nil {
		return false, err
	}
	d, err := again.plainly(ctx)
	return d != nil, err
}

// evenings lists one window for each day, from tomorrow to the deadline, on which
// the workshop is not closed.
func (a *ask) evenings() []ExtraWindow {
	var out []ExtraWindow
	for day := a.planner.tl.today.AddDays(1); !day.After(a.order.deadline()); day = day.AddDays(1) {
		if !a.planner.problem.closed(day) {
			out = append(out, ExtraWindow{Date: day, From: extraFrom, To: extraTo})
		}
	}
	return out
}

// usedFirst lists mostEvenings windows: in order those on whose days a plan works
// for the enquiry, then in order the others.
func (a *ask) usedFirst(d *draft, windows []ExtraWindow) []ExtraWindow {
	days := map[civil.Date]bool{}
	for _, key := range a.keys(d.plan) {
		b := d.plan.batch(key)
		for _, at := range append([]Interval{b.Trial, b.Make, b.Cut}, b.WrapParts...) {
			days[a.planner.tl.day(at.From)] = true
		}
	}
	out := slices.Clone(windows)
	slices.SortStableFunc(out, func(v, w ExtraWindow) int {
		switch {
		case days[v.Date] == days[w.Date]:
			return 0
		case days[v.Date]:
			return -1
		}
		return 1
	})
	return out[:min(len(out), mostEvenings)]
}
