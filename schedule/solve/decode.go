package solve

import "slices"

// decode places the jobs in the given order within their stages; those marked free forget their base, except its firm part.
func (b *board) decode(order []int, free []bool) *Schedule {
	for _, stage := range []int{held, underWay, settled, ahead} {
		for _, j := range order {
			if b.problem.Jobs[j].stage() == stage {
				b.insert(j, free != nil && free[j])
			}
		}
	}
	s := &Schedule{Jobs: b.jobs, Built: 1, board: b}
	s.Objective = b.problem.rate(s)
	return s
}

// The stages of a job, in the order they are placed. What a job holds already
// would be held twice if others were placed before it, and what is firm must not
// give way to what is not.
const (
	held     = iota // every resource it spans is in its hands
	underWay        // some are
	settled         // none is, but some of its tasks are fixed or firm
	ahead           // it is free
)

func (j *Job) stage() int {
	forced, spans := 0, j.Modes[0].Spans
	for i := range spans {
		if spans[i].Forced {
			forced++
		}
	}
	switch {
	case forced > 0 && forced == len(spans):
		return held
	case forced > 0:
		return underWay
	case j.Base != nil && j.Base.Firm > 0 || slices.ContainsFunc(j.Modes[0].Tasks, func(t Task) bool { return t.Fixed }):
		return settled
	}
	return ahead
}

// insert places one job, after those it is linked to.
func (b *board) insert(j int, free bool) {
	if b.jobs[j] != nil {
		return
	}
	job := &b.problem.Jobs[j]
	release, ok := b.released(job)
	if !ok {
		return
	}
	best := b.place(job, release, free)
	if best == nil {
		return
	}
	b.jobs[j] = best
	b.commit(&job.Modes[best.Mode], best, 1)
}

// released is when the links of a job let it start; false when one of the jobs
// it is linked to found no place.
func (b *board) released(job *Job) (Time, bool) {
	release := job.Release
	for _, link := range job.After {
		b.insert(link.Job, false)
		before := b.jobs[link.Job]
		if before == nil {
			return 0, false
		}
		last := before.Starts[len(before.Starts)-1]
		release = max(release, b.problem.cellStart(b.problem.cell(last)+link.Cells))
	}
	return release, true
}

// place finds the placement of a job that is least late, and among those as near
// to its base as can be, and then nearest to what is wished.
func (b *board) place(job *Job, release Time, free bool) *Placement {
	best := b.placeAtBase(job, release, free)
	if best != nil && (best.End() <= job.Due || best.Kept && job.Base.Firm == len(best.Starts)) {
		return best
	}
	if best != nil && job.Base.Firm > 0 {
		return best
	}
	for m := range job.Modes {
		if job.Modes[m].LastResort && best != nil {
			break
		}
		if best != nil && !b.mayBeat(job, m, release, best) {
			continue
		}
		found := b.placeMode(job, m, release, nil)
		if found != nil && (best == nil || b.better(job, found, best)) {
			best = found
		}
	}
	return best
}

// mayBeat reports whether a mode, placed wherever it ends first, is less late than
// a placement, or as late where that matters less.
func (b *board) mayBeat(job *Job, mode int, release Time, than *Placement) bool {
	m := &job.Modes[mode]
	hurried := b.tryMode(m, mode, release, nil, m.wishes(), Never)
	if hurried == nil {
		return false
	}
	late, bar := b.late(job, hurried), b.late(job, than)
	return late < bar || late == bar && (job.Base == nil || job.moves(than) > 0)
}

// better compares two placements of one job.
func (b *board) better(job *Job, x, y *Placement) bool {
	if lx, ly := b.late(job, x), b.late(job, y); lx != ly {
		return lx < ly
	}
	if mx, my := job.moves(x), job.moves(y); mx != my {
		return mx < my
	}
	if x.Short != y.Short {
		return x.Short < y.Short
	}
	if cx, cy := job.Modes[x.Mode].Cost, job.Modes[y.Mode].Cost; cx != cy {
		return cx < cy
	}
	return x.End() < y.End()
}

// late is how many cells a placement ends after its due time.
func (b *board) late(job *Job, pl *Placement) int {
	if end := pl.End(); end > job.Due {
		return b.problem.cell(end-1) - b.problem.cell(job.Due-1)
	}
	return 0
}

// placeAtBase keeps as many leading tasks at their base as it can: all of them,
// or fewer where that is late, but never fewer than the firm ones unless those
// can not stay.
func (b *board) placeAtBase(job *Job, release Time, free bool) *Placement {
	if job.Base == nil {
		return nil
	}
	keep := len(job.Base.Starts)
	if free {
		keep = job.Base.Firm
	}
	var best *Placement
	for ; keep >= max(1, job.Base.Firm); keep-- {
		found := b.placeMode(job, job.Base.Mode, release, job.Base.Starts[:keep])
		if found == nil {
			continue
		}
		found.Kept = slices.Equal(found.Starts, job.Base.Starts)
		if best == nil || b.late(job, found) < b.late(job, best) {
			best = found
		}
		if best.End() <= job.Due || keep == len(job.Base.Starts) && keep > 1 && !b.mayBeat(job, job.Base.Mode, release, best) {
			break
		}
	}
	return best
}

// placeMode places one mode with its leading tasks fixed. Wishes are met in full
// when that is in time, and otherwise yield no more than makes it as early, in
// cells, as it can be.
func (b *board) placeMode(job *Job, mode int, release Time, fixed []Time) *Placement {
	m := &job.Modes[mode]
	if len(fixed) == len(m.Tasks) {
		return b.tryMode(m, mode, release, fixed, Never, Never)
	}
	most := m.wishes()
	wished := b.tryMode(m, mode, release, fixed, 0, Never)
	if wished != nil && wished.End() <= job.Due || most == 0 {
		return wished
	}
	hurried := b.tryMode(m, mode, release, fixed, most, Never)
	if hurried == nil {
		return wished
	}
	return b.relax(job, mode, release, fixed, hurried, most)
}

// relax looks for the smallest yield that ends no later than the hurried
// placement does, or than the job is due.
func (b *board) relax(job *Job, mode int, release Time, fixed []Time, hurried *Placement, most int) *Placement {
	by := max(job.Due, b.problem.cellStart(b.problem.cell(hurried.End()-1)+1))
	best, low := hurried, 0
	for high := most; low < high; {
		middle := (low + high) / 2
		found := b.tryMode(&job.Modes[mode], mode, release, fixed, middle, by)
		if found != nil {
			best, high = found, middle
		} else {
			low = middle + 1
		}
	}
	return best
}

// wishes is the largest number of cells a wished lag may yield.
func (m *Mode) wishes() int {
	most := 0
	for _, lag := range m.Lags {
		most = max(most, lag.Wish-lag.Min)
	}
	return most
}

// tryMode places one mode with its leading tasks fixed and its wishes yielding,
// if no task then ends after a limit; else it returns nil.
func (b *board) tryMode(m *Mode, mode int, release Time, fixed []Time, yield int, limit Time) *Placement {
	a := b.newAttempt(m, release)
	a.yield, a.limit = yield, limit
	for i, start := range fixed {
		if start < b.problem.Start && !m.Tasks[i].Fixed {
			continue // overdue: it can not stay
		}
		if start < a.bound[i] || start > a.latest[i] {
			return nil
		}
		a.bound[i], a.latest[i], a.causes[i], a.jumps[i] = start, start, Cause{Kind: ByBase}, Never
	}
	if !a.solve() {
		return nil
	}
	return a.placement(mode)
}
