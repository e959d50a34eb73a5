package solve

// run is a placed task.
type run struct {
	start, end Time
	parts      []Window
}

// cell is the index of the grid cell that holds t; times outside the grid belong
// to its first or last cell.
func (p *Problem) cell(t Time) int {
	return max(0, upper(p.Grid, t)-1)
}

// cellStart is the first time of a cell, Never beyond the grid.
func (p *Problem) cellStart(cell int) Time {
	if cell < 0 {
		return p.Grid[0]
	}
	if cell >= len(p.Grid) {
		return Never
	}
	return p.Grid[cell]
}

// fit finds the earliest run of a task that starts no earlier than from, and
// what kept it from starting right then. It gives up at the limit.
func (b *board) fit(t *Task, from, limit Time) (run, Cause, bool) {
	if t.Calendar == Always {
		return b.fitWindow(t, from, Window{from, Never}, t.length())
	}
	whole, cause, ok := b.fitWhole(t, from, limit)
	if t.Units < 2 {
		return whole, cause, ok
	}
	if ok { // what does not end in an earlier cell is no better
		limit = min(limit, b.problem.cellStart(b.problem.cell(whole.end-1)))
	}
	split, splitCause, splitOK := b.fitSplit(t, from, limit)
	if splitOK && (!ok || b.problem.cell(split.end-1) < b.problem.cell(whole.end-1)) {
		return split, splitCause, true
	}
	return whole, cause, ok
}

// length is the unbroken duration of a task.
func (t *Task) length() Time { return t.Duration + minutes(t.Units, t.UnitSeconds) }

// minutes is what units take together, rounded up.
func minutes(units, seconds int) Time { return (units*seconds + 59) / 60 }

func (b *board) fitWhole(t *Task, from, limit Time) (run, Cause, bool) {
	windows, open := b.problem.Calendars[t.Calendar], b.openingsOf(b.openings, t)
	length := t.length()
	first := firstWindow(windows, from)
	for i := open.next(first, length); i < len(windows) && windows[i].From < limit; i = open.next(i+1, length) {
		found, cause, ok := b.fitWindow(t, max(from, windows[i].From), windows[i], length)
		if !ok {
			continue
		}
		if cause.Kind != ByResource {
			cause = b.passed(t, from, first, i)
		}
		return found, cause, true
	}
	return run{}, Cause{Kind: ByCalendar}, false
}

// passed says what kept a task out of the windows before the one it is in: what
// takes the last of them that is long enough, or that none is.
func (b *board) passed(t *Task, from Time, first, at int) Cause {
	windows, length := b.problem.Calendars[t.Calendar], t.length()
	for i := at - 1; i >= first; i-- {
		if start := max(from, windows[i].From); start+length <= windows[i].To {
			_, cause, _ := b.fitWindow(t, start, windows[i], length)
			return cause
		}
	}
	if windows[at].From > from {
		return Cause{Kind: ByCalendar}
	}
	return Cause{Kind: ByRelease}
}

// fitWindow places length minutes of the task inside one window.
func (b *board) fitWindow(t *Task, from Time, w Window, length Time) (run, Cause, bool) {
	cause := Cause{Kind: ByRelease}
	for from+length <= w.To {
		at, free, res, found := b.taken(t, from, from+length)
		if !found {
			return run{start: from, end: from + length}, cause, true
		}
		cause = Cause{Kind: ByResource, Resource: res, At: at}
		from = free
	}
	return run{}, cause, false
}

// taken looks for a resource the task uses that is not free over [from, to).
func (b *board) taken(t *Task, from, to Time) (at, free Time, resource int, found bool) {
	for _, u := range t.Uses {
		if at, free, found := b.profiles[u.Resource].blocked(from, to, u.Amount); found {
			return at, free, u.Resource, true
		}
	}
	return 0, 0, 0, false
}

// fitSplit places a task piece by piece: in each window the longest free stretch
// is filled, the first of them holding the set-up as well.
func (b *board) fitSplit(t *Task, from, limit Time) (run, Cause, bool) {
	windows := b.problem.Calendars[t.Calendar]
	open := b.openingsOf(b.openings, t)
	least := minutes(1, t.UnitSeconds)
	out, left, cause := run{}, t.Units, Cause{Kind: ByRelease}
	for i := open.next(firstWindow(windows, from), least); i < len(windows) && windows[i].From < limit && left > 0; i = open.next(i+1, least) {
		setup := 0
		if len(out.parts) == 0 {
			setup = t.Duration
			if windows[i].From > from && cause.Kind == ByRelease {
				cause.Kind = ByCalendar
			}
		}
		part, units := b.bestPart(t, Window{max(from, windows[i].From), windows[i].To}, setup, left)
		if units == 0 {
			continue
		}
		out.parts = append(out.parts, part)
		left -= units
	}
	if left > 0 {
		return run{}, cause, false
	}
	out.start, out.end = out.parts[0].From, out.parts[len(out.parts)-1].To
	return out, cause, true
}

// bestPart finds the stretch of a window that holds the most units, the
// earliest of equals.
func (b *board) bestPart(t *Task, w Window, setup Time, left int) (Window, int) {
	best, units := Window{}, 0
	for from := w.From; from < w.To && units < left; {
		_, free, _, found := b.taken(t, from, from+1)
		if found {
			from = free
			continue
		}
		end := b.freeUntil(t, from, w.To)
		if n := min(left, (end-from-setup)*60/max(1, t.UnitSeconds)); end-from > setup && n > units {
			best, units = Window{from, from + setup + minutes(n, t.UnitSeconds)}, n
		}
		from = end
	}
	return best, units
}

// freeUntil is how long all of a task's resources stay free from a free moment.
func (b *board) freeUntil(t *Task, from, limit Time) Time {
	for _, u := range t.Uses {
		limit = min(limit, b.profiles[u.Resource].freeUntil(from, limit, u.Amount))
	}
	return limit
}

// firstWindow is the index of the first window that ends after a time.
func firstWindow(windows []Window, from Time) int {
	low, high := 0, len(windows)
	for low < high {
		middle := int(uint(low+high) >> 1)
		if windows[middle].To > from {
			high = middle
		} else {
			low = middle + 1
		}
	}
	return low
}
