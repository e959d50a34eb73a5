package schedule

import (
	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// margins fills in by when a failed batch of each order must be known so that
// it can be made again in time. The rest of the plan stands, the failed batch
// included, since what it held was held until it failed; its remake may cure for
// the minimum only. A failure shows at the cut at the earliest, so a batch that
// could only be made again from an earlier start gives no margin at all.
func (d *draft) margins() {
	byOrder := d.plan.batchesByOrder(d.model.problem)
	known := map[remakeKey]latest{}
	for i := range d.plan.Orders {
		out := &d.plan.Orders[i]
		d.remakeBy(out, byOrder[out.OrderID], known)
	}
}

// remakeBy fills in the margin of one order, which takes pieces from some batches.
func (d *draft) remakeBy(out *OrderOutcome, batches []*PlanBatch, known map[remakeKey]latest) {
	if out.Missed() || len(batches) == 0 {
		return
	}
	first := solve.Never
	for _, b := range batches {
		start, ok := d.remakeStart(b, out.Deadline, known)
		if !ok {
			return
		}
		first = min(first, start)
	}
	if first >= d.model.tl.now {
		out.RemakeBy = d.model.tl.at(first)
	}
}

// remakeKey is what the last start of a remake depends on.
type remakeKey struct {
	design   string
	sound    int
	deadline civil.Date
}

// batchesByOrder lists the batches each order takes pieces from.
func (plan *Plan) batchesByOrder(p *Problem) map[string][]*PlanBatch {
	orderOf, batches := p.orderOfLine(), plan.byKey()
	out := map[string][]*PlanBatch{}
	seen := map[Allocation]bool{}
	for _, a := range plan.Allocations {
		pair := Allocation{BatchKey: a.BatchKey, LineID: orderOf[a.LineID]}
		if a.BatchKey == "" || seen[pair] {
			continue
		}
		seen[pair] = true
		out[pair.LineID] = append(out[pair.LineID], batches[a.BatchKey])
	}
	return out
}

// latest is the last start of a remake that was found, from some minute on.
type latest struct {
	from, start solve.Time
	found       bool
}

// remakeStart is the last minute, after the batch's own cut, at which pouring as
// many pieces again still meets a deadline; false when none does.
func (d *draft) remakeStart(b *PlanBatch, deadline civil.Date, known map[remakeKey]latest) (solve.Time, bool) {
	key := remakeKey{b.DesignID, b.Sound, deadline}
	from := max(d.model.tl.now, d.model.tl.ceil(b.Cut.To))
	was, ok := known[key]
	if !ok || !was.found && from < was.from {
		was = latest{from: from}
		if job, ok := d.model.remake(b, deadline); ok {
			job.Release = max(job.Release, from)
			was.start, was.found = d.schedule.Latest(&job)
		}
		known[key] = was
	}
	return was.start, was.found && was.start >= from
}

// remake is the job of pouring a batch again, curing for the minimum.
func (m *model) remake(b *PlanBatch, deadline civil.Date) (solve.Job, bool) {
	design := m.problem.design(b.DesignID)
	if design.Blocked != "" {
		return solve.Job{}, false
	}
	mixes := m.sizers[design.ID].mixes(b.Sound)
	l := &lot{design: design, mixes: mixes, due: deadline, shelf: m.onShelf(design)}
	if len(mixes) == 0 {
		return solve.Job{}, false
	}
	job := m.job(l)
	job.After = nil
	for i := range job.Modes {
		hurry(&job.Modes[i])
	}
	return job, true
}

// hurry gives up the wishes of a mode.
func hurry(m *solve.Mode) {
	for i := range m.Lags {
		m.Lags[i].Wish = 0
	}
}

func (p *Problem) design(id string) *Design {
	for i := range p.Designs {
		if p.Designs[i].ID == id {
			return &p.Designs[i]
		}
	}
	return nil
}
