package schedule

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ripeline/schedule/solve"
)

// checkPlannable reports what keeps every batch of a design from being planned.
func (p *Problem) checkPlannable(f *faults, d *Design) {
	field := fmt.Sprintf("designs[%s]", d.ID)
	for _, fit := range d.Fits {
		f.need(p.moldIndex(fit.MoldID) >= 0, fmt.Sprintf("%s.fits[%s]", field, fit.MoldID), "the workshop has no such mold")
	}
	if len(p.Hours) == 0 || len(p.Extra) > 0 || len(d.Fits) == 0 {
		return
	}
	makes, cuts := p.weekly(StepMake), p.weekly(StepCut)
	if len(makes) == 0 || len(cuts) == 0 {
		return
	}
	least := d.leastPieces()
	pour := minutesFor(d.MakeFixed, d.MakePer, least)
	cut := minutesFor(d.CutFixed, d.CutPer, least)
	f.need(pour <= widest(makes), field+".make_minutes", "the smallest pour takes %d minutes, but the longest hours for it have %d; make them longer", pour, widest(makes))
	f.need(cut <= widest(cuts), field+".cut_minutes", "the smallest cut takes %d minutes, but the longest hours for it have %d; make them longer", cut, widest(cuts))
	if pour <= widest(makes) && cut <= widest(cuts) && !d.CutWindow.met(makes, cuts, pour, cut) {
		f.add(field+".cut_window", "a pour in any of your pouring hours (%s) would have to be cut %s later, but there are no cut hours then (they are %s); widen the cut window or add hours",
			weekdays(makes), d.CutWindow, weekdays(cuts))
	}
}

// String says the window for a person.
func (w CutWindow) String() string {
	if w.Days {
		return fmt.Sprintf("%d–%d days", w.Min, w.Max)
	}
	return fmt.Sprintf("%d–%d h", w.Min, w.Max)
}

// leastPieces is the smallest batch.
func (d *Design) leastPieces() int {
	least := mostPieces
	for _, f := range d.Fits {
		least = min(least, f.Min)
	}
	return least
}

const (
	minutesInDay  = 24 * 60
	minutesInWeek = 7 * minutesInDay
)

// weekly is the hours of a step in minutes from Sunday 00:00.
func (p *Problem) weekly(step Step) []solve.Window {
	var out []solve.Window
	for _, w := range p.Hours {
		if holds(w.Steps, step) {
			day := int(w.Weekday) * minutesInDay
			out = append(out, solve.Window{From: day + int(w.From), To: day + int(w.To)})
		}
	}
	return joined(out)
}

func widest(windows []solve.Window) solve.Time {
	most := 0
	for _, w := range windows {
		most = max(most, w.To-w.From)
	}
	return most
}

// met reports whether some weekly pour can be cut in its window. Clock changes
// and closed days are left out: they can only matter once.
func (w CutWindow) met(makes, cuts []solve.Window, pour, cut solve.Time) bool {
	for _, m := range makes {
		first, last := m.From+pour, m.To
		if first > last {
			continue
		}
		from, to := first+w.Min*60, last+w.Max*60
		if w.Days {
			day := m.From / minutesInDay
			from, to = (day+w.Min)*minutesInDay, (day+w.Max+1)*minutesInDay-1
		}
		for _, c := range cuts {
			if c.To-cut >= c.From && hits(c.From, c.To-cut, from, to) {
				return true
			}
		}
	}
	return false
}

// hits reports whether the weekly span [a, b] meets [from, to] in any week.
func hits(a, b, from, to solve.Time) bool {
	for week := from/minutesInWeek - 1; week <= to/minutesInWeek+1; week++ {
		if a+week*minutesInWeek <= to && b+week*minutesInWeek >= from {
			return true
		}
	}
	return false
}

// weekdays names the days of windows, Monday first.
func weekdays(windows []solve.Window) string {
	var names []string
	for i := range 7 {
		day := time.Weekday((i + 1) % 7)
		if slices.ContainsFunc(windows, func(w solve.Window) bool { return w.From/minutesInDay == int(day) }) {
			names = append(names, day.String()[:3])
		}
	}
	return strings.Join(names, ", ")
}
