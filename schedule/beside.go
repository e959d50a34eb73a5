package schedule

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"ripeline/schedule/solve"
)

// aside is one more order planned next to a plan of all others, in which nothing
// moves: what is there stays there, and the order gets pieces that are free and
// new batches where there is room. No piece changes hands either, unless those of
// the order's designs are shared out anew.
type aside struct {
	planner *planner
	stands  *draft
	order   *Order
	policy  policy
	lots    []*lot   // those that stand, then the new ones
	fresh   []*lot   // the new ones
	free    []source // what the order, or whoever takes part, can get of stock and of the lots that stand
}

// beside plans the order named last next to a plan of all others.
func (pl *planner) beside(stands *draft, po policy) *draft {
	a := &aside{planner: pl, stands: stands, order: pl.problem.order(po.last), policy: po, lots: slices.Clone(stands.model.lots)}
	whole := a.interferes()
	b := &book{dropped: stands.book.dropped, problems: slices.Clip(stands.book.problems)}
	if whole {
		b.shelf = stands.shares()
		a.copyLots(b.shelf)
	}
	open := a.open(po)
	a.takeFree(open, po)
	a.fresh = pl.newLots(b, open, po)
	a.lots = append(a.lots, a.fresh...)
	m := a.model(po)
	d := &draft{book: b, model: m, schedule: stands.schedule.Extend(m.core)}
	m.settle(a.fresh, d.schedule)
	if whole {
		po.last = ""
		d.plan = pl.read(d, po)
	} else {
		d.plan, d.aside = a.part(d), a
	}
	return d
}

// interferes reports whether the order may change what a plan says of others: new
// batches are numbered anew, a trial goes with the first batch of its design, and
// what an order lacks may come from any batch of its design.
func (a *aside) interferes() bool {
	for _, l := range a.order.Lines {
		if a.planner.designs[l.DesignID].NeedsTrial {
			return true
		}
	}
	return slices.ContainsFunc(a.stands.plan.Orders, func(o OrderOutcome) bool { return o.Short > 0 }) ||
		slices.ContainsFunc(a.lots, func(l *lot) bool { return l.batch == nil })
}

// shares is who gets what of each source in a plan.
func (d *draft) shares() map[string][]Share {
	out := map[string][]Share{}
	for _, a := range d.plan.Allocations {
		key := a.BatchKey + a.StockID
		out[key] = append(out[key], Share{LineID: a.LineID, Pieces: a.Pieces})
	}
	return out
}

// copyLots copies the lots that stand, and notes for whom each is.
func (a *aside) copyLots(given map[string][]Share) {
	for i, l := range a.lots {
		next := *l
		next.shares = given[l.key]
		a.lots[i] = &next
	}
}

// open is what the order asks for; with all that others ask for of the same
// designs where that is shared out anew.
func (a *aside) open(po policy) []*claim {
	if po.pool {
		po.last = ""
		return a.planner.claimsOn(po, func(designID string) bool {
			return slices.ContainsFunc(a.order.Lines, func(l Line) bool { return l.DesignID == designID })
		})
	}
	out := make([]*claim, len(a.order.Lines))
	for i := range a.order.Lines {
		l := &a.order.Lines[i]
		out[i] = &claim{order: a.order, line: l, deadline: a.order.deadline(), lacking: l.Pieces}
	}
	policy{}.sort(out)
	return out
}

// takeFree gives the claims what nobody gets of stock and of the lots that stand;
// all of it when it is shared out anew.
func (a *aside) takeFree(open []*claim, po policy) {
	asks := func(designID string) bool {
		return slices.ContainsFunc(open, func(c *claim) bool { return c.line.DesignID == designID })
	}
	var sources []*source
	for _, s := range a.planner.problem.Stock {
		if asks(s.DesignID) {
			sources = append(sources, &source{key: s.ID, stock: true, designID: s.DesignID, ready: -solve.Never, left: s.Pieces})
		}
	}
	at := map[string]int{}
	for i, l := range a.lots {
		if place := a.stands.schedule.Jobs[l.job]; place != nil && asks(l.design.ID) {
			at[l.key] = i
			sources = append(sources, &source{key: l.key, designID: l.design.ID, ready: place.End(), left: l.sound(place)})
		}
	}
	if !po.pool {
		a.takeGiven(sources)
	}
	a.free = make([]source, len(sources))
	for i, s := range sources {
		a.free[i] = *s
	}
	newAllotment(open, sources).share(false)
	for _, s := range sources {
		if i, ok := at[s.key]; ok && len(s.served) > 0 {
			next := *a.lots[i]
			next.served = slices.Clip(next.served)
			next.serve(s.served)
			a.lots[i] = &next
		}
	}
}

// takeGiven takes out of the sources what somebody gets in the plan that stands.
func (a *aside) takeGiven(sources []*source) {
	byKey := make(map[string]*source, len(sources))
	for _, s := range sources {
		byKey[s.key] = s
	}
	for _, g := range a.stands.plan.Allocations {
		if s := byKey[cmp.Or(g.BatchKey, g.StockID)]; s != nil {
			s.left -= g.Pieces
		}
	}
}

// sound is the sound pieces of a lot where it was placed.
func (l *lot) sound(place *solve.Placement) int {
	if l.running() {
		return l.batch.Sound
	}
	return l.mixes[place.Mode].sound
}

// model is that of the plan that stands, with the new lots and the order's goal.
func (a *aside) model(po policy) *model {
	m := *a.stands.model
	m.problem, m.tl, m.sizers, m.policy, m.lots = a.planner.problem, a.planner.tl, a.planner.sizers, po, a.lots
	m.trials, m.supplies = maps.Clone(m.trials), m.supplies.clone()
	core := *m.core
	core.Jobs, core.Goals = slices.Clip(core.Jobs), slices.Clip(core.Goals)
	core.Calendars = m.tl.calendars()
	m.core = &core
	slices.SortStableFunc(a.fresh, m.compare)
	m.addJobs(a.fresh)
	goal := m.goal(a.order)
	for _, l := range a.lots {
		if slices.ContainsFunc(l.served, func(c *claim) bool { return c.order == a.order }) {
			goal.Jobs = append(goal.Jobs, l.job)
		}
	}
	m.core.Goals = append(m.core.Goals, goal)
	return &m
}

// part is what a plan says of the order, and of those that take part in sharing
// pieces anew: its new batches, who gets what, and what that means for them.
func (a *aside) part(d *draft) *Plan {
	d.model.rename(d.schedule)
	plan, batches := &Plan{}, a.stands.index
	made := make(map[string]*PlanBatch, len(a.fresh))
	sources := slices.Clone(a.free)
	for _, l := range a.fresh {
		place := d.schedule.Jobs[l.job]
		if place == nil {
			plan.Problems = append(plan.Problems, a.planner.homeless(l)...)
			continue
		}
		b := d.model.batch(l, place, d.schedule)
		plan.Batches = append(plan.Batches, b)
		made[b.Key] = &b
		sources = append(sources, source{key: b.Key, designID: b.DesignID, ready: place.End(), left: b.Sound})
	}
	find := func(key string) *PlanBatch { return cmp.Or(made[key], batches[key]) }
	a.share(plan, sources, find)
	for _, g := range plan.Allocations {
		if b := batches[g.BatchKey]; b != nil && plan.batch(g.BatchKey) == nil {
			plan.Batches = append(plan.Batches, *b)
		}
	}
	return plan
}

// share gives whoever takes part pieces of the sources.
func (a *aside) share(plan *Plan, sources []source, find func(key string) *PlanBatch) {
	pl := a.planner
	claims := a.open(a.policy)
	s := sharing{orders: ordersOf(claims), claims: a.open}
	others := a.others(s.orders, claims)
	s.again = func(plan *Plan, po policy) {
		own := slices.Clone(sources)
		pointers := make([]*source, len(own))
		for i := range own {
			pointers[i] = &own[i]
		}
		given := newAllotment(a.open(po), pointers)
		given.share(false)
		plan.Allocations = byLine(append(given.given, others...))
		plan.Orders = make([]OrderOutcome, len(s.orders))
		for i, o := range s.orders {
			plan.Orders[i] = pl.outcome(o, plan, find)
		}
	}
	s.again(plan, a.policy)
	if a.policy.pool {
		po := a.policy
		po.last = ""
		s.rescue(plan, po)
	}
	plan.Objective.Changes = a.stands.plan.Objective.Changes
	for i, o := range s.orders {
		before := a.stands.plan.outcome(o.ID)
		plan.Objective.Changes += o.brokenWord(&plan.Orders[i], pl.ready) - o.brokenWord(before, pl.ready)
	}
}

// ordersOf lists whose claims they are, by id.
func ordersOf(claims []*claim) []*Order {
	out := make([]*Order, len(claims))
	for i, c := range claims {
		out[i] = c.order
	}
	slices.SortFunc(out, func(x, y *Order) int { return cmp.Compare(x.ID, y.ID) })
	return slices.Compact(out)
}

// others is what the orders have in the plan that stands for lines that claim
// nothing here.
func (a *aside) others(orders []*Order, claims []*claim) []Allocation {
	var out []Allocation
	for _, o := range orders {
		for i := range o.Lines {
			if o != a.order && !slices.ContainsFunc(claims, func(c *claim) bool { return c.line == &o.Lines[i] }) {
				out = append(out, a.stands.plan.given(o.Lines[i].ID)...)
			}
		}
	}
	return out
}

// whole is the plan that stands with what a draft says of the order, and of those
// that take part, put in.
func (a *aside) whole(d *draft) *Plan {
	part, plan := d.plan, *a.stands.plan
	plan.Problems = slices.Concat(plan.Problems, d.book.problems[len(a.stands.book.problems):], part.Problems)
	plan.Batches = append(make([]PlanBatch, 0, len(plan.Batches)+len(a.fresh)), plan.Batches...)
	for _, b := range part.Batches {
		if b.New {
			plan.Batches = append(plan.Batches, b)
		}
	}
	slices.SortStableFunc(plan.Batches, func(x, y PlanBatch) int {
		return cmp.Or(x.Make.From.Compare(y.Make.From), cmp.Compare(x.Key, y.Key))
	})
	a.put(&plan, part)
	if a.policy.pool {
		plan.Objective = rate(a.planner.problem, &plan, a.planner.ready)
	} else {
		plan.Objective = a.objective(&plan, part.Allocations)
	}
	plan.Proved = plan.meetsBound()
	return &plan
}

// put replaces what a plan says of the orders of a part of it.
func (a *aside) put(plan, part *Plan) {
	lines := map[string]bool{}
	plan.Orders = slices.Clone(plan.Orders)
	for _, out := range part.Orders {
		if at, found := plan.find(out.OrderID); found {
			plan.Orders[at] = out
		} else {
			plan.Orders = slices.Insert(plan.Orders, at, out)
		}
		for _, l := range a.planner.problem.order(out.OrderID).Lines {
			lines[l.ID] = true
		}
	}
	given := make([]Allocation, 0, len(plan.Allocations)+len(part.Allocations))
	next := part.Allocations
	for _, g := range plan.Allocations {
		for len(next) > 0 && next[0].LineID < g.LineID {
			given, next = append(given, next[0]), next[1:]
		}
		if !lines[g.LineID] {
			given = append(given, g)
		}
	}
	plan.Allocations = append(given, next...)
}

// fill makes a plan whole that so far tells of one order alone.
func (d *draft) fill() {
	if d.aside != nil {
		d.plan, d.aside = d.aside.whole(d), nil
	}
}

// objective is that of the plan that stands, and what the order adds to it.
func (a *aside) objective(plan *Plan, given []Allocation) Objective {
	o, out := a.stands.plan.Objective, plan.outcome(a.order.ID)
	if out.Missed() {
		o.Late += a.order.Weight
	}
	o.Tardiness += a.order.Weight * out.LateDays
	if out.Short > 0 {
		o.Tardiness += a.order.Weight * unmadeDays
	}
	if slices.ContainsFunc(given, func(g Allocation) bool { return g.BatchKey != "" }) {
		o.NoRemake++
	}
	for i := range plan.Batches {
		if b := &plan.Batches[i]; b.New {
			o.CureShort += b.cureLess(a.planner.problem.Zone)
			o.FinishHours += max(0, int(b.Wrap.To.Sub(a.planner.problem.Now)/time.Hour))
			o.Batches++
			o.Surplus += b.Sound
		}
	}
	for _, g := range given {
		if b := plan.batch(g.BatchKey); b != nil && b.State == Planned {
			o.Surplus -= g.Pieces
		}
	}
	return o
}
