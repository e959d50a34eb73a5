package solve

import "slices"

// board is a schedule under construction: the profiles with what is placed.
type board struct {
	problem  *Problem
	profiles []*profile
	openings []*openings
	jobs     []*Placement
	shortest Time    // length of the shortest cell
	attempt  attempt // the last one, whose room the next one uses
}

func newBoard(p *Problem) *board {
	b := &board{problem: p, profiles: make([]*profile, len(p.Resources)), jobs: make([]*Placement, len(p.Jobs))}
	for i, r := range p.Resources {
		b.profiles[i] = newProfile(r)
	}
	b.shortest = Never
	for i := range len(p.Grid) - 1 {
		b.shortest = min(b.shortest, p.Grid[i+1]-p.Grid[i])
	}
	b.openings = b.newOpenings()
	return b
}

func (b *board) clone() *board {
	c := &board{problem: b.problem, shortest: b.shortest, profiles: make([]*profile, len(b.profiles)), jobs: slices.Clone(b.jobs)}
	for i, p := range b.profiles {
		c.profiles[i] = p.clone()
	}
	c.openings = make([]*openings, len(b.openings))
	for i, o := range b.openings {
		c.openings[i] = o.clone()
	}
	return c
}

// attempt is the placing of one mode under given bounds. A board has one at a
// time.
type attempt struct {
	board  *board
	mode   *Mode
	bound  []Time // earliest start of each task so far
	latest []Time
	yield  int  // cells that wishes give way by
	limit  Time // no task may end after it
	runs   []run
	placed []bool // whether the run is up to date with some bound
	causes []Cause
	jumps  []Time // by how much each cause moved its task
}

// newAttempt starts from the bounds of the tasks and the release of the job. It
// ends the attempt before it.
func (b *board) newAttempt(mode *Mode, release Time) *attempt {
	a := &b.attempt
	a.board, a.mode, a.yield, a.limit = b, mode, 0, Never
	a.size(len(mode.Tasks))
	for i := range mode.Tasks {
		t := &mode.Tasks[i]
		if t.Fixed {
			a.bound[i], a.latest[i] = t.Earliest, t.Earliest
		} else {
			a.bound[i], a.latest[i] = max(t.Earliest, b.problem.Start), Never
		}
	}
	a.bound[0] = max(a.bound[0], release)
	return a
}

// size makes room for n tasks, about which nothing is known yet.
func (a *attempt) size(n int) {
	if cap(a.runs) < n {
		times := make([]Time, 3*n)
		a.bound, a.latest, a.jumps = times[:n:n], times[n:2*n:2*n], times[2*n:]
		a.runs, a.placed, a.causes = make([]run, n), make([]bool, n), make([]Cause, n)
	}
	a.bound, a.latest, a.jumps = a.bound[:n], a.latest[:n], a.jumps[:n]
	a.runs, a.placed, a.causes = a.runs[:n], a.placed[:n], a.causes[:n]
	clear(a.jumps)
	clear(a.runs)
	clear(a.placed)
	clear(a.causes)
}

// solve raises the bounds to their least fixpoint. It reports whether the job
// can be placed; the runs are then its componentwise earliest placement.
func (a *attempt) solve() bool {
	for {
		if !a.fitTasks() {
			return false
		}
		if !a.raiseLags() && !a.raiseSpans() {
			return true
		}
		for i, bound := range a.bound {
			if bound >= Never || bound > a.latest[i] {
				return false
			}
		}
	}
}

// fitTasks moves each task whose bound was raised to its earliest run.
func (a *attempt) fitTasks() bool {
	for i := range a.mode.Tasks {
		if a.placed[i] && a.runs[i].start >= a.bound[i] {
			continue
		}
		found, cause, ok := a.board.fit(&a.mode.Tasks[i], a.bound[i], a.limit)
		if !ok || found.start > a.latest[i] || found.end > a.limit {
			return false
		}
		if cause.Kind != ByRelease {
			a.blame(i, cause, found.start-a.bound[i])
		}
		a.runs[i], a.bound[i], a.placed[i] = found, found.start, true
	}
	return true
}

func (a *attempt) raise(task int, to Time, cause Cause) bool {
	if to <= a.bound[task] {
		return false
	}
	a.blame(task, cause, to-a.bound[task])
	a.bound[task] = to
	return true
}

// blame notes a cause for a task unless another one moved it further. A minimum
// lag that moves a task sets aside what moved it less far before.
func (a *attempt) blame(task int, cause Cause, jump Time) {
	if cause.Kind == ByMinLag {
		a.causes[task], a.jumps[task] = cause, 0
	} else if jump >= a.jumps[task] {
		a.causes[task], a.jumps[task] = cause, jump
	}
}

// raiseLags raises the bounds of tasks whose lags fail.
func (a *attempt) raiseLags() bool {
	raised := false
	for i := range a.mode.Lags {
		lag := &a.mode.Lags[i]
		if a.raise(lag.To, a.lagFrom(lag), Cause{Kind: ByMinLag}) {
			raised = true
		} else if lag.Max >= 0 && a.raise(lag.From, a.lagBack(lag), Cause{Kind: ByMaxLag}) {
			raised = true
		}
	}
	return raised
}

// lagFrom is the earliest start of the later task.
func (a *attempt) lagFrom(lag *Lag) Time {
	from := a.runs[lag.From]
	least := max(lag.Min, lag.Wish-a.yield)
	if !lag.Cells {
		return from.end + least
	}
	return max(from.end, a.board.problem.cellStart(a.board.problem.cell(from.start)+least))
}

// lagBack is the earliest start of the earlier task from which the later one,
// where it is, is still in time.
func (a *attempt) lagBack(lag *Lag) Time {
	from, to := a.runs[lag.From], a.runs[lag.To]
	if !lag.Cells {
		return to.start - lag.Max - (from.end - from.start)
	}
	p := a.board.problem
	if p.cell(to.start)-p.cell(from.start) <= lag.Max {
		return from.start
	}
	return p.cellStart(p.cell(to.start) - lag.Max)
}

// raiseSpans raises the task that begins a span over a time at which its
// resource is taken, to after that time.
func (a *attempt) raiseSpans() bool {
	raised := false
	for i := range a.mode.Spans {
		span := &a.mode.Spans[i]
		if span.Forced {
			continue
		}
		from, to := a.span(span)
		at, free, found := a.board.profiles[span.Resource].blocked(from, to, span.Amount)
		if !found {
			continue
		}
		if free < Never {
			free = a.board.profiles[span.Resource].gap(free, a.leastSpan(span), span.Amount)
		}
		if span.FromEnd && free < Never {
			free -= a.runs[span.From].end - a.runs[span.From].start
		}
		a.raise(span.From, free, Cause{Kind: ByResource, Resource: span.Resource, At: at})
		raised = true // if not by this span, then further by one before it
	}
	return raised
}

// leastSpan is a time for which a span holds its resource at least, whatever the
// placement: the longest of its tasks' lengths and minimum lags in a row.
func (a *attempt) leastSpan(s *Span) Time {
	least := make([]Time, len(a.mode.Tasks)) // from the start of the span to that of a task
	for i := range a.mode.Lags {
		lag := &a.mode.Lags[i]
		if lag.From < s.From || lag.To > s.To {
			continue
		}
		t := &a.mode.Tasks[lag.From]
		length := t.Duration
		if lag.Cells {
			length = max(length, (lag.Min-1)*a.board.shortest)
		} else {
			length += lag.Min
		}
		if lag.From == s.From && s.FromEnd {
			if length -= t.Duration; t.Units > 0 { // it may take longer, in parts
				length = 0
			}
		}
		least[lag.To] = max(least[lag.To], least[lag.From]+length)
	}
	return max(1, least[s.To])
}

// span is the time over which a span holds its resource.
func (a *attempt) span(s *Span) (from, to Time) {
	to = a.runs[s.To].end + s.Tail
	if s.FromEnd {
		return a.runs[s.From].end, to
	}
	return a.runs[s.From].start, to
}

// placement turns the runs into a placement.
func (a *attempt) placement(mode int) *Placement {
	n := len(a.runs)
	times := make([]Time, 2*n)
	pl := &Placement{Mode: mode, Starts: times[:n:n], Ends: times[n:], Causes: slices.Clone(a.causes)}
	for i, r := range a.runs {
		pl.Starts[i], pl.Ends[i] = r.start, r.end
		if len(r.parts) > 1 {
			if pl.Parts == nil {
				pl.Parts = make([][]Window, n)
			}
			pl.Parts[i] = r.parts
		}
	}
	for _, lag := range a.mode.Lags {
		if lag.Wish > 0 {
			pl.Short += max(0, lag.Wish-a.board.lagLength(&lag, pl))
		}
	}
	return pl
}

// lagLength measures a lag in its own unit.
func (b *board) lagLength(lag *Lag, pl *Placement) int {
	if lag.Cells {
		return b.problem.cell(pl.Starts[lag.To]) - b.problem.cell(pl.Starts[lag.From])
	}
	return pl.Starts[lag.To] - pl.Ends[lag.From]
}

// commit reserves, or with sign -1 gives back, what a placement holds.
func (b *board) commit(mode *Mode, pl *Placement, sign int) {
	for i := range mode.Tasks {
		for _, u := range mode.Tasks[i].Uses {
			for _, part := range pl.parts(i) {
				b.reserve(u.Resource, part.From, part.To, sign*u.Amount)
			}
		}
	}
	for i := range mode.Spans {
		s := &mode.Spans[i]
		from := pl.Starts[s.From]
		if s.FromEnd {
			from = pl.Ends[s.From]
		}
		b.reserve(s.Resource, from, pl.Ends[s.To]+s.Tail, sign*s.Amount)
	}
}

// parts is the stretches of work of a task.
func (pl *Placement) parts(task int) []Window {
	if pl.Parts != nil && pl.Parts[task] != nil {
		return pl.Parts[task]
	}
	return []Window{{pl.Starts[task], pl.Ends[task]}}
}
