package schedule

import (
	"context"
	"fmt"
	"slices"

	"ripeline/schedule/civil"
)

// otherwise answers when there is no place beside the standing plan: with what
// would have to change, each re-planned in full, or with a no and its reasons.
func (a *ask) otherwise(ctx context.Context) (*Answer, error) {
	ans := &Answer{Verdict: No, OrderID: a.order.ID, Deadline: a.order.deadline()}
	bound, proof := a.bound(ctx)
	if err := ctx.Err(); err != nil {
		return nil, err // the bound was not finished
	}
	ans.Bound, ans.Proved = bound, bound.After(ans.Deadline)
	if err := a.offers(ctx, ans); err != nil {
		return nil, err
	}
	a.settle(ans)
	if ans.Proved {
		ans.Reasons = proof
	} else {
		ans.Reasons = append(ans.Reasons, a.reasons(ans)...)
	}
	ans.Proved = ans.Proved && ans.Verdict == No
	return ans, nil
}

// closest is the plan that was tried and has the enquiry ready first, of those
// that cost nobody else anything; the one beside the standing plan is such.
func (a *ask) closest() *draft {
	best := a.tried[0]
	for _, d := range a.tried[1:] {
		if a.keeps(d) && a.sooner(d.plan, best.plan) {
			best = d
		}
	}
	return best
}

// sooner reports whether the enquiry is ready earlier in one plan than in another.
func (a *ask) sooner(plan, than *Plan) bool {
	x, y := plan.outcome(a.order.ID).Ready, than.outcome(a.order.ID).Ready
	return !x.IsZero() && (y.IsZero() || x.Before(y))
}

// settle fills the answer from the alternative that keeps date and pieces, if
// there is one, and else from the best that was found.
func (a *ask) settle(ans *Answer) {
	best := a.closest()
	a.finish(best)
	ans.Plan = best.plan
	for _, alt := range ans.Alternatives {
		if alt.Kind != AltLaterDate && alt.Kind != AltFewer {
			ans.Verdict, ans.Plan = YesIf, alt.Plan
			break
		}
	}
	out := ans.Plan.outcome(a.order.ID)
	ans.Ready, ans.RemakeBy = out.Ready, out.RemakeBy
	ans.Keys = a.keys(ans.Plan)
	ans.Stages = a.stages(ans.Plan, ans.Keys)
	if ans.Verdict == YesIf && ans.Earliest.IsZero() {
		ans.Earliest = out.Ready.AddDays(a.order.HandOver)
	}
}

// offer is ways out of one kind, the best first, and the first date that works
// where it was looked for.
type offer struct {
	ways     []Alternative
	earliest civil.Date
}

// offers tries first what keeps the date and the pieces, then a later date and
// fewer pieces, several kinds at once. Where the hours there are are proved to be
// too late, only more of them can help to keep the date.
func (a *ask) offers(ctx context.Context, ans *Answer) error {
	kinds := []func(*ask, context.Context) (offer, error){(*ask).laterDate, (*ask).extraWindow, (*ask).fewer}
	if !ans.Proved {
		if alt := a.minimumCure(); alt != nil {
			ans.Alternatives = append(ans.Alternatives, *alt)
		}
		kinds = append(kinds, (*ask).moveBatch)
	}
	found := make([]offer, len(kinds))
	soonest := a.ready()
	try := func(i int) (offer, error) { return kinds[i](a.own(soonest), ctx) }
	err := inTurn(len(kinds), try, func(i int, o offer) bool {
		found[i] = o
		return false
	})
	later, extra, fewer := found[0], found[1], found[2]
	for _, o := range append(found[3:], extra, later, fewer) {
		ans.Alternatives = append(ans.Alternatives, o.ways...)
	}
	ans.Earliest = later.earliest
	return err
}

// own is the question for use beside it: it looks at nothing that changes.
func (a *ask) own(ready []civil.Date) *ask {
	own, pl := *a, *a.planner
	pl.sizers = pl.ownSizers()
	own.planner, own.tried, own.dates = &pl, nil, ready
	return &own
}

func offered(alt *Alternative) (offer, error) {
	if alt == nil {
		return offer{}, nil
	}
	return offer{ways: []Alternative{*alt}}, nil
}

// minimumCure offers to wrap near the minimum cure, moving nothing.
func (a *ask) minimumCure() *Alternative {
	for _, d := range a.tried {
		if !a.keeps(d) || !a.inTime(d.plan) {
			continue
		}
		out := d.plan.outcome(a.order.ID)
		return a.alternative(AltMinimumCure, d, fmt.Sprintf("Wrap %s before the wished-for cure, but not before the minimum: ready on %s.",
			count(out.CureLess, "day"), on(out.Ready)))
	}
	return nil
}

func (a *ask) alternative(kind AlternativeKind, d *draft, text string) *Alternative {
	a.finish(d)
	return &Alternative{Kind: kind, Text: text, Ready: d.plan.outcome(a.order.ID).Ready, Plan: d.plan}
}

// moveBatch offers to move published batches outside the firm window. It takes a
// plan that moves no more than the standing one, too: that may have had to move
// some, and for the enquiry they move otherwise.
func (a *ask) moveBatch(ctx context.Context) (offer, error) {
	policies := []policy{{}, {fresh: true, pool: true}}
	for i := range policies {
		policies[i].budget, policies[i].quick = max(a.budget, a.planner.problem.askBudget()), true
	}
	var out *Alternative
	err := a.planner.plans(ctx, policies, func(d *draft, _ policy) (enough bool) {
		if a.inTime(d.plan) && a.unharmed(d.plan) {
			out = a.moved(d)
		}
		return out != nil
	})
	if err != nil {
		return offer{}, err
	}
	return offered(out)
}

// moved offers a plan in which published batches move, and says which, and for
// whom that shortens the cure; nil when none moves.
func (a *ask) moved(d *draft) *Alternative {
	var keys, moved []string
	for _, m := range DiffPublished(a.planner.problem, d.plan).Moves {
		if !slices.Contains(keys, m.BatchKey) {
			keys = append(keys, m.BatchKey)
			moved = append(moved, a.planner.problem.calledBatch(d.plan.batch(m.BatchKey)))
		}
	}
	if len(moved) == 0 {
		return nil
	}
	text := fmt.Sprintf("Move %s that %s already planned (%s): ready on %s, and no accepted order becomes late",
		count(len(moved), "batch"), areOrIs(len(moved)), together(moved), on(d.plan.outcome(a.order.ID).Ready))
	for i := range d.plan.Orders {
		now := &d.plan.Orders[i]
		if now.OrderID != a.order.ID && now.CureLess > a.before.outcome(now.OrderID).CureLess {
			text += fmt.Sprintf(", but %s is wrapped %s before its wished-for cure", a.planner.problem.name(now.OrderID), count(now.CureLess, "day"))
		}
	}
	return a.alternative(AltMoveBatch, d, text+".")
}

func areOrIs(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// replan plans a changed problem beside the standing plan; nil when the enquiry
// is not in time there, costs others something, or does not meet one more
// condition.
func (a *ask) replan(pl *planner, also func(*Plan) bool) *draft {
	policies := []policy{{}, {singles: true}, {hurried: true}, {singles: true, hurried: true}, {pool: true}, {pool: true, singles: true}}
	if also != nil {
		policies = policies[:2] // what is hurried is not ripe
	}
	for _, po := range policies {
		po.last, po.quick = a.order.ID, true
		if d := pl.beside(a.stands, po); a.works(d, also) {
			return d
		}
	}
	return nil
}

// works reports whether a plan has the enquiry in time, costs others nothing, and
// meets one more condition.
func (a *ask) works(d *draft, also func(*Plan) bool) bool {
	return a.inTime(d.plan) && a.keeps(d) && (also == nil || also(d.plan))
}

// with plans the enquiry changed.
func (a *ask) with(change func(*Order)) *planner {
	p := *a.planner.problem
	p.Orders = slices.Clone(p.Orders)
	o := &p.Orders[len(p.Orders)-1]
	o.Lines = slices.Clone(o.Lines)
	change(o)
	return a.planner.of(&p)
}

// ready lists days on which the enquiry was found to be ready when it costs
// nobody anything, the first of them first: with the plans that were tried, and
// beside the standing plan whatever its date, cured for the minimum.
func (a *ask) ready() []civil.Date {
	var out []civil.Date
	add := func(plan *Plan) {
		if o := plan.outcome(a.order.ID); o.Short == 0 && !slices.Contains(out, o.Ready) {
			out = append(out, o.Ready)
		}
	}
	for _, d := range a.tried {
		if a.keeps(d) {
			add(d.plan)
		}
	}
	pl := a.with(func(o *Order) { o.NeededBy = a.planner.tl.today.AddDays(o.HandOver) })
	for _, singles := range []bool{false, true} {
		add(pl.beside(a.stands, policy{last: a.order.ID, singles: singles, hurried: true, quick: true}).plan)
	}
	slices.SortFunc(out, civil.Date.Compare)
	return out
}

// soonest offers the first date that works.
func (a *ask) soonest() *Alternative {
	for _, day := range a.dates {
		if alt := a.dated(day); alt != nil {
			return alt
		}
	}
	return nil
}

// laterDate offers the earliest date that works, and one at which the
// wished-for cure is kept as well.
func (a *ask) laterDate(context.Context) (offer, error) {
	soonest := a.soonest()
	if soonest == nil {
		return offer{}, nil
	}
	out := offer{earliest: soonest.NeededBy}
	if soonest.NeededBy.After(a.order.NeededBy) {
		out.ways = append(out.ways, *soonest)
	}
	if a.ripe(soonest.Plan) {
		return out, nil
	}
	far := a.dated(a.order.deadline().AddDays(horizonSlack))
	if far == nil {
		return out, nil
	}
	if ripe := a.dated(far.Ready); ripe != nil && ripe.NeededBy.After(a.order.NeededBy) {
		out.ways = append(out.ways, *ripe)
	}
	return out, nil
}

// dated offers the date on which all can be handed over that is wrapped by a day.
func (a *ask) dated(ready civil.Date) *Alternative {
	if ready.IsZero() {
		return nil
	}
	needed := ready.AddDays(a.order.HandOver)
	pl := a.with(func(o *Order) { o.NeededBy = needed })
	d := a.replan(pl, nil)
	if d == nil {
		return nil
	}
	out := d.plan.outcome(a.order.ID)
	text := fmt.Sprintf("Promise %s instead", on(needed))
	if out.CureLess > 0 {
		text += fmt.Sprintf(", wrapped %s before the wished-for cure", count(out.CureLess, "day"))
	}
	alt := a.alternative(AltLaterDate, d, text+".")
	alt.NeededBy = needed
	return alt
}

// fewer offers the most pieces that are ready in time, when the enquiry has one
// line.
func (a *ask) fewer(context.Context) (offer, error) {
	if len(a.order.Lines) != 1 {
		return offer{}, nil
	}
	var best *draft
	low, high := 0, a.order.Lines[0].Pieces
	for low+1 < high {
		middle := (low + high) / 2
		if d := a.replan(a.with(func(o *Order) { o.Lines[0].Pieces = middle }), a.ripe); d != nil {
			best, low = d, middle
		} else {
			high = middle
		}
	}
	if best == nil {
		return offer{}, nil
	}
	alt := a.alternative(AltFewer, best, fmt.Sprintf("Take %s instead of %d: ready on %s.",
		count(low, "piece"), a.order.Lines[0].Pieces, on(best.plan.outcome(a.order.ID).Ready)))
	alt.Pieces = low
	return offered(alt)
}
