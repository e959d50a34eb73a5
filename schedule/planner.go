package schedule

import (
	"context"
	"fmt"
	"maps"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// DefaultBudget is how many schedules the search builds at most when the problem
// names no budget. A large book gets fewer, so that about defaultPlacements
// batches are placed in all.
const (
	DefaultBudget     = 200
	defaultPlacements = 20_000
)

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
	pool    bool            // give pieces by due date alone, and not first to whom they are allocated now
	singles bool            // batches of one mold, and not of as many as a session can pour
	fresh   bool            // published times are no reason to stay, except in the firm window
	ripe    bool            // new batches cure for as long as is wished, even if that is late
	spare   bool            // leave alone what nobody was to get of stock and running batches, and drop nothing published
	told    bool            // be ready by when customers were told, where their pieces are gone
	avoid   []string        // molds that new batches do not use
	recut   bool            // published batches whose molds are out when they were to be poured are cut into new ones
	hurried bool            // new batches cure for the minimum
	last    string          // the order that may only take what the others leave, "" for none
	yield   map[string]bool // orders that are served after the others
	quick   bool            // leave the remake margins out
	budget  int
}

// planner plans one problem under several policies.
type planner struct {
	problem *Problem
	tl      *timeline
	designs map[string]*Design
	sizers  map[string]*lotsizer
	ready   map[string]civil.Date // when orders are ready as published
}

func newPlanner(p *Problem) (*planner, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	tl := newTimeline(p)
	pl := &planner{problem: p, tl: tl, designs: map[string]*Design{}, sizers: map[string]*lotsizer{}, ready: p.publishedReady()}
	for i := range p.Designs {
		d := &p.Designs[i]
		pl.designs[d.ID] = d
		pl.sizers[d.ID] = newLotsizer(p, d, tl)
	}
	return pl, nil
}

// withWindows is the planner of the same problem with more windows to work in.
func (pl *planner) withWindows(more []ExtraWindow) *planner {
	p := *pl.problem
	p.Extra = append(slices.Clip(p.Extra), more...)
	next := *pl
	next.problem, next.tl = &p, pl.tl.withWindows(&p, more)
	if !maps.Equal(next.tl.widest, pl.tl.widest) { // a batch may be larger then
		next.sizers = make(map[string]*lotsizer, len(p.Designs))
		for i := range p.Designs {
			next.sizers[p.Designs[i].ID] = newLotsizer(&p, &p.Designs[i], next.tl)
		}
	}
	return &next
}

// budget is how many schedules the search may build.
func (p *Problem) budget() int {
	if p.Budget > 0 {
		return p.Budget
	}
	return max(1, min(DefaultBudget, defaultPlacements/(1+len(p.Orders)+len(p.Batches))))
}

// best plans under the plain policy and, where that leaves an order late that a
// bound does not prove to be late in any plan, under the others; the first of
// equals is kept.
func (pl *planner) best(ctx context.Context) (*Plan, error) {
	best, err := pl.plan(ctx, policy{budget: 1})
	if err != nil {
		return nil, err
	}
	if pl.bounded(ctx, best.plan); best.plan.settled() {
		return best.plan, nil
	}
	if best, err = pl.better(ctx, best, pl.problem.budget(), false); err != nil {
		return nil, err
	}
	if best, err = pl.inserted(ctx, best); err != nil {
		return nil, err
	}
	return best.plan, nil
}

// settled reports whether a search has nothing to gain that matters.
func (plan *Plan) settled() bool {
	return plan.Proved && plan.Objective.Changes == 0 && plan.Objective.CureShort == 0
}

// better searches under each policy for a better plan, until one is proved.
func (pl *planner) better(ctx context.Context, best *draft, budget int, quick bool) (*draft, error) {
	policies := []policy{{}, {pool: true}, {singles: true}, {pool: true, singles: true}}
	policies = append(policies, pl.recuts(best.plan)...)
	for i := range policies {
		policies[i].budget, policies[i].quick = budget, quick
	}
	err := pl.plans(ctx, policies, func(found *draft, po policy) (enough bool) {
		if po.beats(found.plan.Objective, best.plan.Objective) {
			best = found
			pl.bounded(ctx, best.plan)
		}
		return best.plan.Proved
	})
	return best, err
}

// plans plans under each policy, as many at once as there are processors, and
// shows the plans one by one, in the order of the policies, until see has seen
// enough. How many are planned at once changes nothing in any of them.
func (pl *planner) plans(ctx context.Context, policies []policy, see func(*draft, policy) (enough bool)) error {
	plan := func(i int) (*draft, error) {
		own := *pl
		own.sizers = pl.ownSizers()
		return own.plan(ctx, policies[i])
	}
	return inTurn(len(policies), plan, func(i int, d *draft) bool { return see(d, policies[i]) })
}

// inTurn does n things, as many at once as there are processors, and shows what
// comes of them one by one until see has seen enough. The error is that of the
// first that fails before then: what was only begun early can not fail the rest.
func inTurn[T any](n int, do func(int) (T, error), see func(int, T) (enough bool)) error {
	width := runtime.GOMAXPROCS(0)
	found, failed := make([]T, n), make([]error, n)
	for from := 0; from < n; from += width {
		to := min(n, from+width)
		var group sync.WaitGroup
		for i := from; i < to; i++ {
			group.Go(func() {
				defer caught(&failed[i])
				found[i], failed[i] = do(i)
			})
		}
		group.Wait()
		for i := from; i < to; i++ {
			if failed[i] != nil {
				return failed[i]
			}
			if see(i, found[i]) {
				return nil
			}
		}
	}
	return nil
}

// caught makes an error of a panic, which on a goroutine of its own would end the
// process: whoever asked can not recover from it there.
func caught(err *error) {
	if v := recover(); v != nil {
		*err = fmt.Errorf("panic while planning: %v\n%s", v, debug.Stack())
	}
}

// ownSizers copies the planner's with what they remember, for use beside it.
func (pl *planner) ownSizers() map[string]*lotsizer {
	out := make(map[string]*lotsizer, len(pl.sizers))
	for id, ls := range pl.sizers {
		own := *ls
		own.known, own.whole = maps.Clone(ls.known), maps.Clone(ls.whole)
		out[id] = &own
	}
	return out
}

// draft is a finished plan with the state it was made in, to ask it more.
type draft struct {
	plan     *Plan
	book     *book
	model    *model
	schedule *solve.Schedule
	made     []*lot                // by place in the plan's batches
	index    map[string]*PlanBatch // the plan's batches by key, where orders are planned beside it
	aside    *aside                // where what stands is still to be put into the plan, see fill
}

// plan makes lots, places them, and gives their pieces to the orders.
func (pl *planner) plan(ctx context.Context, po policy) (*draft, error) {
	return pl.place(ctx, pl.book(po), po)
}

// place finds times for the lots of a book, and gives their pieces to the orders.
func (pl *planner) place(ctx context.Context, b *book, po policy) (*draft, error) {
	m := newModel(pl.problem, pl.tl, b.lots, po, pl.ready)
	m.core.Budget, m.sizers = po.budget, pl.sizers
	if po.fresh {
		m.forgetBases()
	}
	s, err := solve.Solve(ctx, m.core)
	if err != nil {
		return nil, err
	}
	m.settle(m.lots, s)
	d := &draft{book: b, model: m, schedule: s}
	d.plan = pl.read(d, po)
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
