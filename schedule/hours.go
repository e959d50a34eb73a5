package schedule

import (
	"cmp"
	"maps"
	"slices"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// openHours lays the working hours of each step on the timeline, from today to
// the last day: the weekly and extra windows, joined where they touch, without
// closed days and busy times.
func (tl *timeline) openHours(p *Problem, last civil.Date) {
	tl.open = make(map[Step][]solve.Window, len(steps))
	tl.widest = make(map[Step]solve.Time, len(steps))
	busy := tl.busy(p)
	for i, step := range steps {
		if i > 0 && p.sameHours(steps[i-1], step) {
			tl.open[step], tl.widest[step] = tl.open[steps[i-1]], tl.widest[steps[i-1]]
			continue
		}
		windows := joined(append(tl.weekly(p, step, last), tl.extra(p, step, last)...))
		windows = without(windows, busy)
		tl.open[step] = windows
		for _, w := range windows {
			tl.widest[step] = max(tl.widest[step], w.To-w.From)
		}
	}
}

// withWindows is the timeline with more windows.
func (tl *timeline) withWindows(p *Problem, more []ExtraWindow) *timeline {
	next := *tl
	next.open, next.widest = make(map[Step][]solve.Window, len(steps)), maps.Clone(tl.widest)
	busy, shared := tl.busy(p), !slices.ContainsFunc(more, func(w ExtraWindow) bool { return len(w.Steps) > 0 })
	for i, step := range steps {
		added := make([]solve.Window, 0, len(more))
		for _, w := range more {
			if holds(w.Steps, step) {
				added = tl.withWindow(added, w)
			}
		}
		switch {
		case len(added) == 0:
			next.open[step] = tl.open[step]
		case i > 0 && same(tl.open[steps[i-1]], tl.open[step]) && shared:
			next.open[step] = next.open[steps[i-1]]
		default:
			next.open[step] = joined(append(slices.Clone(tl.open[step]), without(joined(added), busy)...))
		}
		for _, window := range next.open[step] {
			next.widest[step] = max(next.widest[step], window.To-window.From)
		}
	}
	return &next
}

// same reports whether two calendars are one and the same.
func same(x, y []solve.Window) bool {
	return len(x) == len(y) && (len(x) == 0 || &x[0] == &y[0])
}

// sameHours reports whether all hours that may hold one step may hold another.
func (p *Problem) sameHours(a, b Step) bool {
	differ := func(allowed []Step) bool { return holds(allowed, a) != holds(allowed, b) }
	return !slices.ContainsFunc(p.Hours, func(w Window) bool { return differ(w.Steps) }) &&
		!slices.ContainsFunc(p.Extra, func(w ExtraWindow) bool { return differ(w.Steps) })
}

// weekly lays the weekly hours that may hold a step.
func (tl *timeline) weekly(p *Problem, step Step, last civil.Date) []solve.Window {
	var byDay [7][]Window
	for _, w := range p.Hours {
		if holds(w.Steps, step) {
			byDay[w.Weekday] = append(byDay[w.Weekday], w)
		}
	}
	closed := p.closedFrom(tl.today, last)
	out := make([]solve.Window, 0, len(closed))
	first, weekday := tl.today.Sub(tl.first), int(tl.today.Weekday())
	for i, shut := range closed {
		for _, w := range byDay[(weekday+i)%7] {
			if !shut {
				out = tl.withWindowsOf(out, first+i, w.From, w.To)
			}
		}
	}
	return out
}

// closedFrom says for each day of a stretch whether it is closed.
func (p *Problem) closedFrom(first, last civil.Date) []bool {
	out := make([]bool, max(0, last.Sub(first)+1))
	for _, r := range p.Closed {
		for i := max(0, r.From.Sub(first)); i < len(out) && i <= r.To.Sub(first); i++ {
			out[i] = true
		}
	}
	return out
}

func (tl *timeline) extra(p *Problem, step Step, last civil.Date) []solve.Window {
	var out []solve.Window
	for _, w := range p.Extra {
		if holds(w.Steps, step) && !p.closed(w.Date) && !w.Date.Before(tl.today) && !w.Date.After(last) {
			out = tl.withWindow(out, w)
		}
	}
	return out
}

// withWindow adds the times of an extra window.
func (tl *timeline) withWindow(out []solve.Window, w ExtraWindow) []solve.Window {
	return tl.withWindowsOf(out, w.Date.Sub(tl.first), w.From, w.To)
}

// withWindowsOf adds the times at which the clock shows a span of a day, counted
// from the timeline's first. On a day of 24 hours it is so many minutes from its
// start; on one with a clock change the clock has to be asked.
func (tl *timeline) withWindowsOf(out []solve.Window, day int, from, to civil.Minute) []solve.Window {
	if day >= 0 && day+1 < len(tl.grid) && tl.grid[day+1]-tl.grid[day] == 24*60 {
		return append(out, solve.Window{From: tl.grid[day] + int(from), To: tl.grid[day] + int(to)})
	}
	for _, shown := range civil.Shown(tl.first.AddDays(day), from, to, tl.zone) {
		out = append(out, solve.Window{From: tl.ceil(shown.From), To: tl.floor(shown.To)})
	}
	return out
}

// busy is the times other engagements close, in whole minutes.
func (tl *timeline) busy(p *Problem) []solve.Window {
	out := make([]solve.Window, 0, len(p.Busy))
	for _, b := range p.Busy {
		out = append(out, solve.Window{From: tl.floor(b.From), To: tl.ceil(b.To)})
	}
	return joined(out)
}

// holds reports whether a window for the given steps may hold one.
func holds(allowed []Step, step Step) bool {
	return len(allowed) == 0 || slices.Contains(allowed, step)
}

func (p *Problem) closed(d civil.Date) bool {
	return slices.ContainsFunc(p.Closed, func(r civil.Range) bool { return r.Contains(d) })
}

// joined sorts windows and unites those that touch or overlap, where they are.
func joined(windows []solve.Window) []solve.Window {
	windows = slices.DeleteFunc(windows, func(w solve.Window) bool { return w.From >= w.To })
	slices.SortFunc(windows, func(a, b solve.Window) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To))
	})
	out := windows[:0]
	for _, w := range windows {
		if n := len(out); n > 0 && w.From <= out[n-1].To {
			out[n-1].To = max(out[n-1].To, w.To)
			continue
		}
		out = append(out, w)
	}
	return out
}

// without cuts the closed spans out of windows; both are sorted and disjoint.
func without(windows, closed []solve.Window) []solve.Window {
	if len(closed) == 0 {
		return windows
	}
	out := make([]solve.Window, 0, len(windows)+len(closed))
	next := 0
	for _, w := range windows {
		for next < len(closed) && closed[next].To <= w.From {
			next++
		}
		for _, c := range closed[next:] {
			if c.From >= w.To {
				break
			}
			if c.From > w.From {
				out = append(out, solve.Window{From: w.From, To: c.From})
			}
			w.From = max(w.From, min(c.To, w.To))
		}
		if w.From < w.To {
			out = append(out, w)
		}
	}
	return out
}
