package schedule

import (
	"cmp"
	"context"
	"slices"

	"ripeline/schedule/solve"
)

// DefaultBudget is how many schedules the search builds when the problem names
// no budget.
const DefaultBudget = 200

// Solve plans all accepted orders. The error names fields that make no sense, or is that of
// ctx; an order that can not be planned is no error but has its reason in
// Plan.Problems.
func Solve(ctx context.Context, p *Problem) (*Plan, error) {
	pl, err := newPlanner(p)
	if err != nil {
		return nil, err
	}
	return pl.best(ctx)
}

// policy is a way to cut demand into lots, before times are found.
type policy struct {
	pool    bool     // give pieces by due date alone, and not first to whom they are allocated now
	singles bool     // batches of one mold, and not of as many as a session can pour
	fresh   bool     // published times are no reason to stay, except in the firm window
	ripe    bool     // new batches cure for as long as is wished, even if that is late
	avoid   []string // molds that new batches do not use
	last    string   // the order that may only take what the others leave, "" for none
	quick   bool     // leave the remake margins out
	budget  int
}

// planner plans one problem under several policies.
type planner struct {
	problem *Problem
	tl      *timeline
	designs map[string]*Design
	sizers  map[string]*lotsizer
}

func newPlanner(p *Problem) (*planner, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	tl := newTimeline(p)
	pl := &planner{problem: p, tl: tl, designs: map[string]*Design{}, sizers: map[string]*lotsizer{}}
	for i := range p.Designs {
		d := &p.Designs[i]
		pl.designs[d.ID] = d
		pl.sizers[d.ID] = newLotsizer(p, d, tl)
	}
	return pl, nil
}

// budget is how many schedules the search may build.
func (p *Problem) budget() int {
	if p.Budget > 0 {
		return p.Budget
	}
	return DefaultBudget
}

// best plans under the plain policy and, where that leaves an order late, under
// the others; the first of equals is kept.
func (pl *planner) best(ctx context.Context) (*Plan, error) {
	budget := pl.problem.budget()
	best, err := pl.plan(ctx, policy{budget: budget})
	if err != nil {
		return nil, err
	}
	for _, po := range []policy{{pool: true}, {singles: true}, {pool: true, singles: true}} {
		if best.plan.Objective.Late == 0 {
			break
		}
		po.budget = budget
		other, err := pl.plan(ctx, po)
		if err != nil {
			return nil, err
		}
		if other.plan.Objective.Compare(best.plan.Objective) < 0 {
			best = other
		}
	}
	return best.plan, nil
}

// draft is a finished plan with the state it was made in, to ask it more.
type draft struct {
	plan     *Plan
	model    *model
	schedule *solve.Schedule
}

// plan makes lots, places them, and gives their pieces to the orders.
func (pl *planner) plan(ctx context.Context, po policy) (*draft, error) {
	b := pl.book(po)
	m := newModel(pl.problem, pl.tl, b.lots, po)
	m.core.Budget = po.budget
	if po.fresh {
		m.forgetBases()
	}
	s, err := solve.Solve(ctx, m.core)
	if err != nil {
		return nil, err
	}
	d := &draft{model: m, schedule: s}
	d.plan = pl.read(d, b, po)
	return d, nil
}

// forgetBases drops the published times outside the firm window.
func (m *model) forgetBases() {
	for i := range m.core.Jobs {
		if base := m.core.Jobs[i].Base; base != nil && base.Firm == 0 {
			m.core.Jobs[i].Base = nil
		}
	}
}

// book is the demand cut into lots.
type book struct {
	lots     []*lot
	dropped  []string
	problems []Reason
}

// book nets the claims against stock, running and published batches, drops the
// published ones that are not needed, and makes new lots for the rest.
func (pl *planner) book(po policy) *book {
	b := &book{}
	open := claims(pl.problem.Orders, po.last)
	sources := pl.stock()
	planned := pl.plannedLots(b)
	planned = pl.dropUnneeded(b, planned, open)
	for i := range pl.problem.Batches {
		if batch := &pl.problem.Batches[i]; batch.State != Planned {
			planned = append(planned, pl.runningLot(batch))
		}
	}
	byKey := map[string]*lot{}
	for _, l := range planned {
		byKey[l.key] = l
		sources = append(sources, pl.source(l, pl.expected(l.batch)))
	}
	allot(open, sources, !po.pool)
	for _, s := range sources {
		if l := byKey[s.key]; l != nil && !s.stock {
			l.serve(s.served)
		}
	}
	b.lots = append(planned, pl.newLots(b, open, po)...)
	return b
}

// serve notes whom a lot serves, which makes it due.
func (l *lot) serve(served []*claim) {
	for _, c := range served {
		l.served = append(l.served, c)
		if l.due.IsZero() || c.deadline.Before(l.due) {
			l.due = c.deadline
		}
	}
}

func (pl *planner) runningLot(b *Batch) *lot {
	return &lot{key: b.ID, design: pl.designs[b.DesignID], batch: b, pinned: b.Pinned}
}

// plannedLots lists the published batches that may still be poured.
func (pl *planner) plannedLots(b *book) []*lot {
	var out []*lot
	for i := range pl.problem.Batches {
		batch := &pl.problem.Batches[i]
		if batch.State != Planned {
			continue
		}
		l := &lot{key: batch.ID, design: pl.designs[batch.DesignID], batch: batch, pinned: batch.Pinned}
		l.mixes = pl.publishedMixes(l)
		if why := pl.unplannable(l.design, pl.sizers[batch.DesignID]); why != "" || len(l.mixes) == 0 {
			b.dropped = append(b.dropped, batch.ID)
			continue
		}
		out = append(out, l)
	}
	return out
}

// publishedMixes is the published molds of a batch where they still will do, and
// then other ways to get as many sound pieces.
func (pl *planner) publishedMixes(l *lot) []mix {
	published := mix{molds: l.batch.Molds, pieces: l.batch.Pieces, sound: l.batch.Sound}
	if published.sound == 0 {
		published.sound = l.design.sound(published.pieces)
	}
	others := pl.sizers[l.design.ID].mixes(published.sound)
	if !pl.problem.pourable(l.design, l.batch) {
		return others
	}
	others = slices.DeleteFunc(others, func(x mix) bool { return slices.Equal(x.molds, published.molds) })
	return append([]mix{published}, others...)
}

// pourable reports whether the design still fits the molds of a batch, and the
// workshop has that many.
func (p *Problem) pourable(d *Design, b *Batch) bool {
	sum := 0
	for _, use := range b.Molds {
		i := p.moldIndex(use.MoldID)
		fits := slices.ContainsFunc(d.Fits, func(f Fit) bool {
			return f.MoldID == use.MoldID && f.attainable(use.Units, use.Pieces)
		})
		if i < 0 || p.Molds[i].Count < use.Units || !fits {
			return false
		}
		sum += use.Pieces
	}
	return sum == b.Pieces && sum > 0
}

// source is the pieces of a lot, ready at a given minute.
func (pl *planner) source(l *lot, ready solve.Time) *source {
	s := &source{key: l.key, designID: l.design.ID, ready: ready}
	if l.batch != nil {
		s.shares = l.batch.For
	}
	if len(l.mixes) > 0 {
		s.left = l.mixes[0].sound
	} else {
		s.left = l.batch.Sound
	}
	return s
}

func (pl *planner) stock() []*source {
	var out []*source
	for _, s := range pl.problem.Stock {
		out = append(out, &source{
			key: s.ID, stock: true, designID: s.DesignID, ready: -solve.Never, left: s.Pieces, shares: s.For,
		})
	}
	return out
}

// expected is when a batch would be ready as published, or else after its cure
// from now.
func (pl *planner) expected(b *Batch) solve.Time {
	switch {
	case !b.Wrap.To.IsZero():
		return max(pl.tl.now, pl.tl.ceil(b.Wrap.To))
	case b.State == Curing:
		return pl.tl.dayStart(later(pl.tl.day(b.Cut.From).AddDays(pl.designs[b.DesignID].CureTarget), b.CureUntil))
	}
	return pl.tl.dayStart(pl.tl.today.AddDays(pl.designs[b.DesignID].CureTarget + 1))
}

// dropUnneeded leaves out published batches, the last first, without which no
// deadline that was covered lacks pieces. A pinned batch stays.
func (pl *planner) dropUnneeded(b *book, planned []*lot, open []*claim) []*lot {
	byLast := slices.Clone(planned)
	slices.SortStableFunc(byLast, func(x, y *lot) int {
		return cmp.Or(cmp.Compare(pl.expected(y.batch), pl.expected(x.batch)), cmp.Compare(y.key, x.key))
	})
	for _, l := range byLast {
		if l.pinned {
			continue
		}
		without := slices.DeleteFunc(slices.Clone(planned), func(x *lot) bool { return x == l })
		if pl.covers(l.design, planned, without, open) {
			planned = without
			b.dropped = append(b.dropped, l.key)
		}
	}
	return planned
}

// covers reports whether the lots left still cover every deadline as far as all
// of them do.
func (pl *planner) covers(d *Design, all, left []*lot, open []*claim) bool {
	demand, total := 0, pl.readyBy(d, left, solve.Never)
	for _, c := range open {
		if c.line.DesignID == d.ID {
			demand += c.line.Pieces
		}
	}
	if total < demand {
		return false
	}
	demand = 0
	for _, c := range open {
		if c.line.DesignID != d.ID {
			continue
		}
		demand += c.line.Pieces
		by := pl.tl.dayStart(c.deadline.AddDays(1))
		if pl.readyBy(d, left, by) < min(demand, pl.readyBy(d, all, by)) {
			return false
		}
	}
	return true
}

// readyBy counts the sound pieces of a design that stock, running batches and
// the given lots have by a time.
func (pl *planner) readyBy(d *Design, lots []*lot, by solve.Time) int {
	sum := 0
	for _, s := range pl.problem.Stock {
		if s.DesignID == d.ID {
			sum += s.Pieces
		}
	}
	for i := range pl.problem.Batches {
		if b := &pl.problem.Batches[i]; b.DesignID == d.ID && b.State != Planned && pl.expected(b) <= by {
			sum += b.Sound
		}
	}
	for _, l := range lots {
		if l.design == d && pl.expected(l.batch) <= by {
			sum += l.mixes[0].sound
		}
	}
	return sum
}

// newLots cuts what no source covers into new batches, design by design.
func (pl *planner) newLots(b *book, open []*claim, po policy) []*lot {
	var out []*lot
	for i := range pl.problem.Designs {
		d := &pl.problem.Designs[i]
		var lacking []*claim
		need := 0
		for _, c := range open {
			if c.line.DesignID == d.ID && c.lacking > 0 {
				lacking = append(lacking, c)
				need += c.lacking
			}
		}
		if need == 0 {
			continue
		}
		sizer := pl.sizer(d, po)
		if why := pl.unplannable(d, sizer); why != "" {
			b.problems = append(b.problems, pl.refusals(lacking, why)...)
			continue
		}
		out = append(out, sizer.cutLots(lacking, need, po, len(out))...)
	}
	return out
}

// sizer cuts lots of a design; without the molds to avoid, unless that leaves
// none.
func (pl *planner) sizer(d *Design, po policy) *lotsizer {
	if len(po.avoid) == 0 {
		return pl.sizers[d.ID]
	}
	other := *d
	other.Fits = slices.DeleteFunc(slices.Clone(d.Fits), func(f Fit) bool { return slices.Contains(po.avoid, f.MoldID) })
	if sizer := newLotsizer(pl.problem, &other, pl.tl); sizer.mostOfAll() > 0 {
		sizer.design = d
		return sizer
	}
	return pl.sizers[d.ID]
}

// cutLots fills lots with claims in order of their deadlines.
func (ls *lotsizer) cutLots(lacking []*claim, need int, po policy, made int) []*lot {
	units := mostUnits * len(ls.design.Fits)
	if po.singles {
		units = 1
	}
	var out []*lot
	for _, size := range ls.sizes(need, units) {
		l := &lot{key: newKey(made + len(out)), design: ls.design, mixes: ls.mixes(size)}
		for size > 0 && len(lacking) > 0 {
			c := lacking[0]
			n := min(size, c.lacking)
			size -= n
			c.lacking -= n
			l.serve([]*claim{c})
			if c.lacking == 0 {
				lacking = lacking[1:]
			}
		}
		out = append(out, l)
	}
	return out
}

// unplannable says why no batch of a design can be planned, "" when one can.
func (pl *planner) unplannable(d *Design, sizer *lotsizer) string {
	switch {
	case d.Blocked != "":
		return d.Name + " may not be scheduled: " + d.Blocked
	case sizer.mostOfAll() <= 0:
		return pl.noBatch(d)
	}
	return ""
}

func (pl *planner) refusals(lacking []*claim, why string) []Reason {
	var out []Reason
	for _, c := range lacking {
		out = append(out, Reason{Kind: HoldHours, OrderID: c.order.ID, To: c.deadline, Text: c.order.Name + " lacks pieces. " + why + "."})
	}
	return out
}

// noBatch says why no batch of a design fits into the workshop.
func (pl *planner) noBatch(d *Design) string {
	if len(pl.sizers[d.ID].sets) == 0 {
		return d.Name + " fits no mold the workshop has; give it a mold"
	}
	for _, step := range [...]Step{StepMake, StepCut, StepWrap} {
		if pl.tl.widest[step] == 0 {
			return "There are no hours in which to " + string(step) + " " + d.Name
		}
	}
	return "No batch of " + d.Name + " fits: even the smallest is too long for the longest window, or too large for the rack"
}
