package schedule

import (
	"slices"
	"time"

	"ripeline/schedule/solve"
)

// runningModes states a batch that has been poured or cut: what happened is
// fixed, the rest is to be placed. When a poured batch can not be cut in its
// window any more, it is cut as soon as can be; when the rack has no room for it,
// it goes there all the same, for it can not stay in the mold.
func (m *model) runningModes(l *lot) []solve.Mode {
	b, d := l.batch, l.design
	mode := m.mode(d, mix{molds: b.Molds, pieces: b.Pieces, sound: b.Sound})
	mode.Spans = withRack(solve.Mode{Spans: m.moldSpans(b.Molds, true)}, d, b.Sound, b.State == Curing).Spans
	mode.Tasks[0] = m.fact(b.Make)
	if !wholeMinute(b.Make.To) && !d.CutWindow.Days {
		mode.Lags[0].Max-- // the fact ends within the minute that it is rounded up to
	}
	if !b.CureUntil.IsZero() {
		mode.Tasks[2].Earliest = m.tl.dayStart(b.CureUntil)
	}
	if b.State == Curing {
		mode.Tasks[1] = m.fact(b.Cut)
		mode.Lags = mode.Lags[1:]
		return m.withPins(l, mode)
	}
	overdue := unbounded(mode)
	crowded := unbounded(mode)
	crowded.Spans = withRack(solve.Mode{Spans: m.moldSpans(b.Molds, true)}, d, b.Sound, true).Spans
	crowded.LastResort, overdue.LastResort = true, true
	return append(m.withPins(l, mode), overdue, crowded)
}

// unbounded is a mode whose cut may come as late as it must.
func unbounded(mode solve.Mode) solve.Mode {
	mode.Lags = slices.Clone(mode.Lags)
	mode.Lags[0].Max = -1
	return mode
}

// withPins puts the mode that keeps pinned times before the one that does not.
func (m *model) withPins(l *lot, mode solve.Mode) []solve.Mode {
	if !l.pinned {
		return []solve.Mode{mode}
	}
	pinned := m.pin(l, mode)
	for i := range pinned.Tasks {
		if pinned.Tasks[i].Earliest < mode.Tasks[i].Earliest {
			l.pinned, l.unpinned = false, true
			return []solve.Mode{mode}
		}
	}
	mode.LastResort = true
	return []solve.Mode{pinned, mode}
}

// pin fixes the published times that still lie ahead, in or out of working
// hours.
func (m *model) pin(l *lot, mode solve.Mode) solve.Mode {
	mode.Tasks = slices.Clone(mode.Tasks)
	for i, at := range l.batch.published() {
		if t := &mode.Tasks[i]; !t.Fixed && !at.From.IsZero() && m.tl.floor(at.From) >= m.tl.now {
			t.Fixed, t.Earliest, t.Calendar = true, m.tl.floor(at.From), solve.Always
		}
	}
	return mode
}

// fact is a task that happened: it takes nobody's hands any more.
func (m *model) fact(at Interval) solve.Task {
	from := m.tl.floor(at.From)
	return solve.Task{Calendar: solve.Always, Fixed: true, Earliest: from, Duration: max(0, m.tl.ceil(at.To)-from)}
}

func wholeMinute(t time.Time) bool { return t.Equal(t.Truncate(time.Minute)) }

// base is the published placement of a lot, nil when it has none.
func (m *model) base(l *lot) *solve.Base {
	if l.batch == nil {
		return nil
	}
	published := l.batch.published()
	n := len(published)
	both := make([]int, 2*n)
	base := &solve.Base{Starts: both[:n:n], Moves: both[n:]}
	for i, at := range published {
		if at.From.IsZero() {
			return nil
		}
		base.Starts[i] = m.tl.floor(at.From)
		base.Moves[i] = m.prices.of(at.From)
		if base.Starts[i] < m.firmEnd && base.Firm == i {
			base.Firm++
		}
	}
	return base
}

// What moving published work costs, by how near it is, and what it costs when
// a customer was told an earlier day.
const (
	changeFar  = 1
	changeSoon = 2 // within soonDays
	changeNear = 4 // within nearDays
	changeFirm = 8 // inside the firm window
	changeTold = 100

	nearDays = 7
	soonDays = 28
)

// movePrices says what it costs to move a step, by when it was to start.
type movePrices struct{ now, firm, near, soon time.Time }

func (p *Problem) movePrices() movePrices {
	now := p.Now.In(p.Zone)
	return movePrices{now, now.AddDate(0, 0, p.Firm), now.AddDate(0, 0, nearDays), now.AddDate(0, 0, soonDays)}
}

// of is the weight of moving a step published to start at a time.
func (c movePrices) of(at time.Time) int {
	switch {
	case !at.Before(c.now) && at.Before(c.firm):
		return changeFirm
	case at.Before(c.near):
		return changeNear
	case at.Before(c.soon):
		return changeSoon
	}
	return changeFar
}

// firm reports whether published work starting at a time is inside the firm
// window. What should have started already is not: it has to move.
func (p *Problem) firm(at time.Time) bool {
	now := p.Now.In(p.Zone)
	return !at.Before(now) && at.Before(now.AddDate(0, 0, p.Firm))
}
