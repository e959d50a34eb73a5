package schedule

import (
	"fmt"
	"slices"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// verb is what a person calls the doing of a step.
func (s Step) verb() string {
	switch s {
	case StepMake:
		return "pour"
	case StepTrial:
		return "try"
	}
	return string(s)
}

// closed tells of a step that waits for hours: when there are none, and for a pour
// what was in the way in the hours before.
func (m *model) closed(b *PlanBatch, l *lot, step Step, h holders) []Hold {
	open := m.tl.open[step]
	start := m.tl.floor(b.step(step).From)
	next, _ := slices.BinarySearchFunc(open, start, func(w solve.Window, t solve.Time) int {
		if w.To <= t {
			return -1
		}
		return 1
	})
	if next == len(open) {
		return []Hold{{Step: step, Kind: HoldHours, Text: fmt.Sprintf("There are no hours to %s it before %s.", step.verb(), m.clock(b.step(step).From))}}
	}
	hours := Hold{Step: step, Kind: HoldHours, Text: fmt.Sprintf("There are no hours to %s it before %s.", step.verb(), m.clock(m.tl.at(open[next].From)))}
	if step != StepMake || next == 0 || open[next-1].To <= m.tl.now {
		return []Hold{hours}
	}
	hours.Text = fmt.Sprintf("There are no hours to pour it between %s and %s.", m.clock(m.tl.at(open[next-1].To)), m.clock(m.tl.at(open[next].From)))
	return append(m.before(b, l, open[:next], h), hours)
}

// before tells what kept a pour out of the hours before, back to the first in
// which a mold was taken.
func (m *model) before(b *PlanBatch, l *lot, open []solve.Window, h holders) []Hold {
	var out []Hold
	length := b.Make.To.Sub(b.Make.From)
	for i := len(open) - 1; i >= 0 && open[i].To > m.tl.now; i-- {
		last := m.tl.at(open[i].To).Add(-length)
		if last.Before(m.tl.at(max(open[i].From, m.tl.now))) {
			continue // shorter than the pour
		}
		if hold, found := m.awaited(b, l, last); found {
			return append([]Hold{hold}, out...)
		}
		if hold, found := m.occupied(b, l, last, h); found {
			return append([]Hold{hold}, out...)
		}
		if out == nil && !m.cuttable(b, l, Interval{m.tl.at(open[i].From), last}) {
			out = append(out, Hold{Step: StepMake, Kind: HoldCut, Text: fmt.Sprintf(
				"Poured on %s, it could not be cut within %s.", on(civil.Of(last.In(m.tl.zone))), l.design.CutWindow)})
		}
	}
	return out
}

// awaited tells of supplies or a trial that a pour at a time would be too early for.
func (m *model) awaited(b *PlanBatch, l *lot, t time.Time) (Hold, bool) {
	out := Hold{Step: StepMake}
	switch {
	case l.supplied(b.Pieces).After(m.tl.day(t)):
		out.Kind, out.Text = HoldSupplies, suppliesOn(l.supplied(b.Pieces))
	case !b.Trial.To.IsZero() && !m.tl.day(b.Trial.To).Before(m.tl.day(t)):
		out.Kind, out.Text = HoldTrial, "Its trial has to be judged first."
	default:
		return out, false
	}
	return out, true
}

// occupied tells of a mold that others hold at a time, or that is out, so that the
// batch could not be poured then.
func (m *model) occupied(b *PlanBatch, own *lot, t time.Time, h holders) (Hold, bool) {
	out := Hold{Step: StepMake}
	for _, use := range b.Molds {
		j := m.problem.moldIndex(use.MoldID)
		if j < 0 || h.held(resourceMolds+j, t, own)+use.Units <= m.problem.Molds[j].in(m.tl.day(t)) {
			continue
		}
		m.taken(&out, own, resourceMolds+j, t, h)
		return out, true
	}
	return out, false
}

// in is how many of a mold are there on a day.
func (mold *Mold) in(d civil.Date) int {
	n := mold.Count
	for _, out := range mold.Out {
		if out.Days.Contains(d) {
			n -= out.Units
		}
	}
	return n
}

// held counts the units of a resource that batches other than one's own hold at a
// time.
func (h holders) held(resource int, t time.Time, own *lot) int {
	sum := 0
	for _, x := range h.of(resource) {
		if x.lot != own && !x.from.After(t) && x.to.After(t) {
			sum += x.units
		}
	}
	return sum
}

// cuttable reports whether there are hours to cut a batch in time that is poured
// at some time of a stretch.
func (m *model) cuttable(b *PlanBatch, l *lot, pour Interval) bool {
	length := b.Make.To.Sub(b.Make.From)
	from, _ := l.design.CutWindow.bounds(Interval{pour.From, pour.From.Add(length)}, m.tl.zone)
	_, to := l.design.CutWindow.bounds(Interval{pour.To, pour.To.Add(length)}, m.tl.zone)
	first, last := m.tl.floor(from), m.tl.ceil(to)
	return slices.ContainsFunc(m.tl.open[StepCut], func(w solve.Window) bool { return w.From < last && w.To > first })
}
