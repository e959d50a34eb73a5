package schedule

import (
	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// margins fills in by when a failed batch of each order must be known so that
// it can be made again in time. The rest of the plan stands, the failed batch
// included, since what it held was held until it failed; its remake may cure for
// the minimum only. A failure shows at the cut at the earliest, so a batch that
// could only be made again from an earlier start gives no margin at all. What
// orders take from a batch is made again: a cut that left more sound pieces than
// was expected does not ask for more than a mold gives.
func (d *draft) margins() {
	byOrder := d.plan.batchesByOrder(d.model.problem)
	found := d.remakes()
	for i := range d.plan.Orders {
		out := &d.plan.Orders[i]
		d.remakeBy(out, byOrder[out.OrderID], found)
	}
}

// remakes is what is known so far of the remakes of a plan.
type remakes struct {
	owed  map[string]int // pieces that orders take from a batch, by its key
	known map[remakeKey]latest
}

func (d *draft) remakes() remakes {
	out := remakes{map[string]int{}, map[remakeKey]latest{}}
	for _, a := range d.plan.Allocations {
		if a.BatchKey != "" {
			out.owed[a.BatchKey] += a.Pieces
		}
	}
	return out
}

// remakeBy fills in the margin of one order, which takes pieces from some batches.
func (d *draft) remakeBy(out *OrderOutcome, batches []*PlanBatch, found remakes) {
	if out.Missed() || len(batches) == 0 {
		return
	}
	first := solve.Never
	for _, b := range batches {
		start, ok := d.remakeStart(b, out.Deadline, found)
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
	need     int
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

// remakeStart is the last minute, after the batch's own cut, at which pouring
// again what orders take from it still meets a deadline; false when none does.
func (d *draft) remakeStart(b *PlanBatch, deadline civil.Date, found remakes) (solve.Time, bool) {
	key := remakeKey{b.DesignID, found.owed[b.Key], deadline}
	from := max(d.model.tl.now, d.model.tl.ceil(b.Cut.To))
	was, ok := found.known[key]
	if !ok || !was.found && from < was.from {
		was = latest{from: from}
		if jobs, ok := d.model.remake(b.DesignID, key.need, deadline); ok {
			for i := range jobs {
				jobs[i].Release = max(jobs[i].Release, from)
			}
			was.start, was.found = d.schedule.Latest(jobs...)
		}
		found.known[key] = was
	}
	return was.start, was.found && was.start >= from
}

// remake is the jobs of pouring sound pieces of a design again, curing for the
// minimum: one, unless there are more than one batch can be expected to give.
func (m *model) remake(designID string, need int, deadline civil.Date) ([]solve.Job, bool) {
	design := m.problem.design(designID)
	sizer := m.sizers[design.ID]
	if design.Blocked != "" || sizer.all == 0 {
		return nil, false
	}
	var lots []*lot
	for ; need > 0; need -= sizer.all {
		mixes := sizer.mixes(min(need, sizer.all))
		if len(mixes) == 0 {
			return nil, false
		}
		lots = append(lots, &lot{design: design, mixes: mixes, due: deadline})
	}
	m.lend(lots)
	out := make([]solve.Job, len(lots))
	for k, l := range lots {
		out[k] = m.job(l)
		out[k].After = nil
		for i := range out[k].Modes {
			hurry(&out[k].Modes[i])
		}
	}
	return out, true
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
