package schedule

import (
	"cmp"
	"slices"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// read turns a schedule into a plan: batches by make start, pieces to lines, and
// what that means for each order.
func (pl *planner) read(d *draft, po policy) *Plan {
	b := d.book
	plan := &Plan{Dropped: slices.Sorted(slices.Values(b.dropped)), Problems: slices.Clone(b.problems)}
	d.model.rename(d.schedule)
	d.model.findFirsts(d.schedule)
	for _, l := range d.model.lots {
		if placed := d.schedule.Jobs[l.job]; placed != nil {
			plan.Problems = append(plan.Problems, d.model.strains(l, placed)...)
		} else {
			plan.Problems = append(plan.Problems, pl.homeless(l)...)
		}
	}
	d.made = d.model.byMake(d.schedule)
	plan.Batches = make([]PlanBatch, len(d.made))
	for i, l := range d.made {
		plan.Batches[i] = d.model.batch(l, d.schedule.Jobs[l.job], d.schedule)
	}
	s := sharing{orders: pl.problem.accepted(), claims: pl.claims}
	s.again = func(to *Plan, po policy) {
		to.Allocations = pl.allotPlan(d, to, po)
		to.Orders = pl.outcomes(to)
	}
	s.again(plan, po)
	s.rescue(plan, po)
	d.plan = plan
	if !po.quick {
		d.margins()
		d.explain()
	}
	plan.Objective = rate(pl.problem, plan, pl.ready)
	plan.Proved = plan.meetsBound()
	return plan
}

// byMake lists the lots that have a place by when they are made, then key.
func (m *model) byMake(s *solve.Schedule) []*lot {
	type made struct {
		lot *lot
		at  time.Time
	}
	all := make([]made, 0, len(m.lots))
	for _, l := range m.lots {
		if placed := s.Jobs[l.job]; placed != nil {
			all = append(all, made{l, m.times(l, placed, 0).From})
		}
	}
	slices.SortFunc(all, func(x, y made) int { return cmp.Or(x.at.Compare(y.at), cmp.Compare(x.lot.key, y.lot.key)) })
	out := make([]*lot, len(all))
	for i, x := range all {
		out[i] = x.lot
	}
	return out
}

// rename numbers the new lots by when they are made, those without a place last.
func (m *model) rename(s *solve.Schedule) {
	var fresh []*lot
	for _, l := range m.lots {
		if l.batch == nil {
			fresh = append(fresh, l)
		}
	}
	made := func(l *lot) solve.Time {
		if placed := s.Jobs[l.job]; placed != nil {
			return placed.Starts[0]
		}
		return solve.Never
	}
	slices.SortStableFunc(fresh, func(x, y *lot) int { return cmp.Compare(made(x), made(y)) })
	m.problem.nameNew(fresh)
}

// batch reads one placed lot.
func (m *model) batch(l *lot, placed *solve.Placement, s *solve.Schedule) PlanBatch {
	b := PlanBatch{Key: l.key, New: l.batch == nil, DesignID: l.design.ID, State: Planned}
	if l.running() {
		b.State, b.Molds, b.Pieces, b.Sound = l.batch.State, slices.Clone(l.batch.Molds), l.batch.Pieces, l.batch.Sound
	} else {
		x := l.mixes[placed.Mode]
		b.Molds, b.Pieces, b.Sound = slices.Clone(x.molds), x.pieces, x.sound
		b.Trial = m.trial(l, s)
	}
	b.Make, b.Cut, b.Wrap = m.times(l, placed, 0), m.times(l, placed, 1), m.times(l, placed, 2)
	b.WrapParts = []Interval{b.Wrap}
	if placed.Parts != nil && placed.Parts[2] != nil {
		b.WrapParts = nil
		for _, part := range placed.Parts[2] {
			b.WrapParts = append(b.WrapParts, m.tl.interval(part.From, part.To))
		}
	}
	b.CutFrom, b.CutTo = l.design.CutWindow.bounds(b.Make, m.tl.zone)
	cut := m.tl.day(b.Cut.From)
	b.CureMin, b.CureTarget = cut.AddDays(l.design.CureMin), cut.AddDays(l.design.CureTarget)
	if l.running() {
		b.CureMin, b.CureTarget = later(b.CureMin, l.batch.CureUntil), later(b.CureTarget, l.batch.CureUntil)
	}
	return b
}

// trial is the trial of the lot's design, on the first batch that waits for it.
func (m *model) trial(l *lot, s *solve.Schedule) Interval {
	job, ok := m.trials[l.design.ID]
	if !ok || s.Jobs[job] == nil || m.firsts[l.design.ID] != l {
		return Interval{}
	}
	return m.tl.interval(s.Jobs[job].Starts[0], s.Jobs[job].Ends[0])
}

// findFirsts notes which batch of each design is poured first, of those that are
// still to be poured.
func (m *model) findFirsts(s *solve.Schedule) {
	m.firsts = map[string]*lot{}
	for _, l := range m.lots {
		if l.running() || s.Jobs[l.job] == nil {
			continue
		}
		first := m.firsts[l.design.ID]
		if first == nil || cmp.Or(cmp.Compare(s.Jobs[l.job].Starts[0], s.Jobs[first.job].Starts[0]), cmp.Compare(l.key, first.key)) < 0 {
			m.firsts[l.design.ID] = l
		}
	}
}

// times of a step: as they happened, or as placed.
func (m *model) times(l *lot, placed *solve.Placement, task int) Interval {
	if l.running() && (task == 0 || task == 1 && l.batch.State == Curing) {
		return l.batch.published()[task]
	}
	return m.tl.interval(placed.Starts[task], placed.Ends[task])
}

// bounds is the first and last instant at which the cut may start after a pour;
// in days the last is the end of the last day.
func (w CutWindow) bounds(pour Interval, zone *time.Location) (from, to time.Time) {
	if w.Days {
		day := civil.Of(pour.From.In(zone))
		from, to = civil.StartOfDay(day.AddDays(w.Min), zone), civil.StartOfDay(day.AddDays(w.Max+1), zone)
		if from.Before(pour.To) {
			from = pour.To
		}
		return from, to
	}
	return pour.To.Add(time.Duration(w.Min) * time.Hour), pour.To.Add(time.Duration(w.Max) * time.Hour)
}

// homeless says what a lot that found no place means for whom it served.
func (pl *planner) homeless(l *lot) []Reason {
	kind, text := HoldHours, "No time could be found for "+l.called()
	if l.unsupplied() {
		kind, text = HoldSupplies, "There are not enough supplies, now or to come, for "+l.called()
	}
	out := []Reason{{Kind: kind, Batch: l.key, Text: text + "."}}
	for _, c := range l.served {
		out = append(out, Reason{Kind: kind, OrderID: c.order.ID, Batch: l.key, To: c.deadline, Text: text + ", which " + c.order.called() + " needs."})
	}
	return out
}

// strains says what rule a batch had to break because of what already happened.
func (m *model) strains(l *lot, placed *solve.Placement) []Reason {
	if l.batch == nil {
		return nil
	}
	pinned := 0
	if l.pinned {
		pinned = 1
	}
	var out []Reason
	if l.unpinned || placed.Mode >= pinned && l.pinned {
		out = append(out, Reason{Kind: HoldPlan, Batch: l.key, Text: "The times fixed by hand for " + l.called() + " can not be kept: they break its cure, its cut window or a capacity, or come before its supplies."})
	}
	if l.batch.State == Poured && placed.Mode > pinned {
		out = append(out, Reason{Kind: HoldCut, Batch: l.key, Text: sentence(l.called()) + " can not be cut in its cut window any more; it is cut as soon as can be."})
	}
	if l.batch.State == Poured && placed.Mode == pinned+2 {
		out = append(out, Reason{Kind: HoldRack, Batch: l.key, Text: "The rack has no room for " + l.called() + " when it is cut; make some."})
	}
	return out
}

// allotPlan gives the pieces of a plan's batches, which are those the draft made,
// and of stock to the lines.
func (pl *planner) allotPlan(d *draft, plan *Plan, po policy) []Allocation {
	all, sources := make([]source, len(d.made)), pl.stock(d.book, po)
	for i, l := range d.made {
		b := &plan.Batches[i]
		all[i] = source{
			key: b.Key, designID: b.DesignID, ready: pl.tl.floor(b.Wrap.To), left: b.Sound, shares: l.shares,
			spare: po.spare && b.State != Planned,
		}
		sources = append(sources, &all[i])
	}
	a := newAllotment(pl.claims(po), sources)
	if !po.pool {
		a.keep()
	}
	a.share(false)
	a.share(true)
	return byLine(a.given)
}
