package schedule

import (
	"cmp"
	"context"
	"slices"
	"time"

	"ripeline/schedule/civil"
)

// Promise says whether an enquiry can be ready by its date, without making an
// accepted order late or later. It first looks for a place beside the standing
// plan, which takes about as long as reading that plan, and searches only when
// there is none. The enquiry takes the place of an order of the same id.
func Promise(ctx context.Context, p *Problem, enquiry Order) (*Answer, error) {
	ask, err := newAsk(ctx, p, enquiry)
	if err != nil {
		return nil, err
	}
	if found, err := ask.plainly(ctx); err != nil || found != nil {
		return ask.yes(found), err
	}
	return ask.otherwise(ctx)
}

// plainly finds a plan that is a plain yes; nil when there is none.
func (a *ask) plainly(ctx context.Context) (*draft, error) {
	if found := a.standing(); found != nil {
		return found, nil
	}
	return a.together(ctx)
}

// askBudget bounds the search of each plan a promise compares, where the standing
// plan has late orders that a search may help. A large book gets fewer schedules,
// so that about askPlacements batches are placed for each plan: somebody waits
// for the answer, and what is published was searched for already.
const (
	askBudget     = 20
	askPlacements = 400
)

func (p *Problem) askBudget() int {
	return max(1, min(p.budget(), askBudget, askPlacements/(1+len(p.Orders)+len(p.Batches))))
}

// ask is one question in progress.
type ask struct {
	planner *planner // of the problem with the enquiry accepted
	order   *Order
	stands  *draft // the plan without the enquiry
	before  *Plan  // what it says
	budget  int    // 1 while the standing plan is in time as it is
	tried   []*draft
	dates   []civil.Date // on which the enquiry was found to be ready, the first of them first
}

func newAsk(ctx context.Context, p *Problem, enquiry Order) (*ask, error) {
	without := *p
	with := without
	enquiry.Accepted = true
	enquiry.Weight, enquiry.Told = max(1, enquiry.Weight), civil.Date{} // nobody was told anything yet
	with.Orders = make([]Order, 0, len(p.Orders)+1)
	for _, o := range p.Orders {
		if o.ID != enquiry.ID {
			with.Orders = append(with.Orders, o)
		}
	}
	without.Orders = slices.Clip(with.Orders)
	with.Orders = append(with.Orders, enquiry)
	pl, err := newPlanner(&with)
	if err != nil {
		return nil, err
	}
	a := &ask{planner: pl, order: &with.Orders[len(with.Orders)-1], budget: 1}
	if a.stands, a.budget, err = pl.of(&without).standing(ctx); err != nil {
		return nil, err
	}
	a.before = a.stands.plan
	a.stands.index = a.before.byKey()
	return a, nil
}

// standing is the plan as it stands, and the budget of a search beside it: 1 while
// it is in time as it is, or was searched for when it was published.
func (pl *planner) standing(ctx context.Context) (*draft, int, error) {
	d, err := pl.plan(ctx, policy{budget: 1, quick: true})
	if err != nil {
		return nil, 0, err
	}
	budget := pl.problem.askBudget()
	if pl.bounded(ctx, d.plan); d.plan.Proved || budget == 1 && !d.plan.drawsUp() {
		return d, 1, nil
	}
	d, err = pl.better(ctx, d, budget, true)
	return d, budget, err
}

// drawsUp reports whether a plan has batches that were not published, so that
// nobody has searched for a better one yet.
func (plan *Plan) drawsUp() bool {
	return slices.ContainsFunc(plan.Batches, func(b PlanBatch) bool { return b.New })
}

// of is the planner of a problem that has the same hours, molds and designs, and
// no later dates than the timeline has room for.
func (pl *planner) of(p *Problem) *planner {
	other := *pl
	other.problem = p
	return &other
}

// standing looks for a place beside the standing plan, in which nothing else
// moves: first with pieces that nobody gets, then with those of all orders for
// the same designs shared out anew, the earlier dates first.
func (a *ask) standing() *draft {
	if found := a.beside(policy{}, policy{singles: true}); found != nil {
		return found
	}
	if !a.inTime(a.closest().plan) {
		if found := a.beside(policy{hurried: true}, policy{hurried: true, singles: true}); found != nil {
			return found
		}
	}
	return a.beside(policy{pool: true}, policy{pool: true, singles: true})
}

// together plans the enquiry with all that is not published yet and so may give
// way to it; nil when everything is published, or that is no plain yes.
func (a *ask) together(ctx context.Context) (*draft, error) {
	if !a.before.drawsUp() {
		return nil, nil //nolint:nilnil // no place is an answer, not an error
	}
	policies := []policy{{}, {pool: true}}
	for i := range policies {
		policies[i].budget, policies[i].quick = a.budget, true
	}
	var out *draft
	err := a.planner.plans(ctx, policies, func(d *draft, _ policy) (enough bool) {
		if a.fits(d) {
			out = d
		}
		return out != nil
	})
	return out, err
}

// beside plans under some policies, and gives the first plan that is a plain yes.
func (a *ask) beside(policies ...policy) *draft {
	for _, po := range policies {
		po.last, po.quick = a.order.ID, true
		if d := a.planner.beside(a.stands, po); a.fits(d) {
			return d
		}
	}
	return nil
}

// fits remembers a plan, and reports whether it is a plain yes.
func (a *ask) fits(d *draft) bool {
	a.tried = append(a.tried, d)
	return a.keeps(d) && a.inTime(d.plan) && a.ripe(d.plan)
}

// keeps reports whether a plan leaves everybody and everything else as well off.
func (a *ask) keeps(d *draft) bool { return a.unharmed(d.plan) && a.unmoved(d.plan) }

func (plan *Plan) outcome(orderID string) *OrderOutcome {
	i, found := plan.find(orderID)
	if !found {
		return &OrderOutcome{OrderID: orderID, Short: 1}
	}
	return &plan.Orders[i]
}

// find is the place of an order among the outcomes.
func (plan *Plan) find(orderID string) (int, bool) {
	return slices.BinarySearchFunc(plan.Orders, orderID, func(o OrderOutcome, id string) int { return cmp.Compare(o.OrderID, id) })
}

func (a *ask) inTime(plan *Plan) bool { return !plan.outcome(a.order.ID).Missed() }

// unharmed reports whether no accepted order is later, or shorter of pieces,
// than without the enquiry.
func (a *ask) unharmed(plan *Plan) bool {
	for i := range plan.Orders {
		now := &plan.Orders[i]
		if now.OrderID == a.order.ID {
			continue
		}
		before := a.before.outcome(now.OrderID)
		if now.LateDays > before.LateDays && before.Short == 0 || now.Short > before.Short {
			return false
		}
	}
	return true
}

// unmoved reports whether the enquiry moves nothing published.
func (a *ask) unmoved(plan *Plan) bool {
	return plan.Objective.Changes <= a.before.Objective.Changes
}

// ripe reports whether the wished-for cure of the enquiry's batches gives way by
// no more than cureYield of what lies between it and the minimum.
func (a *ask) ripe(plan *Plan) bool {
	for _, key := range a.keys(plan) {
		b := plan.batch(key)
		d := a.planner.designs[b.DesignID]
		if b.cureLess(a.planner.tl.zone)*cureYield.of > (d.CureTarget-d.CureMin)*cureYield.part {
			return false
		}
	}
	return true
}

// cureYield is the share of the spare cure, between the minimum and the wish,
// that a plain yes may use up; beyond it the answer is "yes, if" it is wrapped
// near the minimum.
var cureYield = struct{ part, of int }{2, 3}

// keys is the batches the enquiry takes pieces from, by make.
func (a *ask) keys(plan *Plan) []string {
	var out []string
	for i := range a.order.Lines {
		for _, g := range plan.given(a.order.Lines[i].ID) {
			if g.BatchKey != "" && !slices.Contains(out, g.BatchKey) {
				out = append(out, g.BatchKey)
			}
		}
	}
	slices.SortFunc(out, func(x, y string) int { return plan.batch(x).Make.From.Compare(plan.batch(y).Make.From) })
	return out
}

// yes answers with a plan that holds the enquiry; nil without one.
func (a *ask) yes(d *draft) *Answer {
	if d == nil {
		return nil
	}
	a.finish(d)
	out := d.plan.outcome(a.order.ID)
	ans := &Answer{
		Verdict: Yes, OrderID: a.order.ID, Ready: out.Ready, Deadline: out.Deadline,
		Plan: d.plan, Keys: a.keys(d.plan), RemakeBy: out.RemakeBy,
	}
	ans.LastSafePour = a.lastSafePour(d, ans.Keys)
	ans.Stages = a.stages(d.plan, ans.Keys)
	return ans
}

// finish fills in what a plan says of the enquiry beyond its times: why the steps
// of its batches are where they are, and its remake margin.
func (a *ask) finish(d *draft) {
	d.fill()
	keys := a.keys(d.plan)
	d.explainSome(func(key string) bool { return slices.Contains(keys, key) })
	batches := make([]*PlanBatch, len(keys))
	for i, key := range keys {
		batches[i] = d.plan.batch(key)
	}
	out := d.plan.outcome(a.order.ID)
	known := !out.RemakeBy.IsZero()
	d.remakeBy(out, batches, d.remakes())
	if !known && !out.RemakeBy.IsZero() {
		d.plan.Objective.NoRemake--
	}
}

// lastSafePour is the last day on which the last batch of the enquiry could be
// poured, the others standing, and the enquiry still be in time after the
// minimum cure.
func (a *ask) lastSafePour(d *draft, keys []string) civil.Date {
	var latest civil.Date
	for _, l := range d.model.lots {
		if !slices.Contains(keys, l.key) || l.running() || d.schedule.Jobs[l.job] == nil {
			continue
		}
		b := d.plan.batch(l.key)
		if !latest.IsZero() && b.Key != keys[len(keys)-1] {
			continue
		}
		jobs, ok := d.model.without(l, d.schedule).remake(b.DesignID, b.Sound, a.order.deadline())
		if !ok {
			continue
		}
		if at, ok := d.schedule.Without(l.job).Latest(jobs...); ok {
			latest = d.model.tl.day(d.model.tl.at(at))
		}
	}
	return latest
}

// stages is the time between now and the date, told by the enquiry's last batch.
func (a *ask) stages(plan *Plan, keys []string) []Stage {
	tl := a.planner.tl
	if plan.outcome(a.order.ID).Short > 0 {
		return nil // there is no last batch that the others wait for
	}
	if len(keys) == 0 {
		return []Stage{{Kind: "spare", From: tl.today, To: a.order.deadline(), Text: "The pieces are on the shelf."}}
	}
	b := plan.batch(keys[len(keys)-1])
	d := a.planner.designs[b.DesignID]
	var out []Stage
	add := func(kind string, from, to civil.Date, text string) {
		if !to.Before(from) {
			out = append(out, Stage{Kind: kind, From: from, To: to, Text: text})
		}
	}
	pour, cut, wrap := tl.day(b.Make.From), tl.day(b.Cut.From), tl.day(b.Wrap.From)
	start := tl.today
	if day := plan.supplied(b, d, tl); b.State == Planned && day.After(start) && !pour.Before(day) {
		add("supplies", start, day.AddDays(-1), "Until its supplies are there.")
		start = day
	}
	add("wait", start, pour.AddDays(-1), "Until it can be poured.")
	add("pour", pour, pour, "Poured.")
	add("mold", pour.AddDays(1), cut.AddDays(-1), "In the mold.")
	ripe := earlier(b.CureMin, wrap)
	add("cure", cut, ripe.AddDays(-1), "Cut, and cured for the minimum.")
	add("target", ripe, wrap.AddDays(-1), "Cured towards the wished-for days.")
	done := tl.lastDay(b.Wrap.To)
	add("wrap", wrap, done, "Wrapped.")
	add("spare", done.AddDays(1), a.order.deadline(), "To spare.")
	add("hand-over", a.order.deadline().AddDays(1), a.order.NeededBy, "For handing over or posting.")
	return out
}

// on writes a day for a person.
func on(d civil.Date) string {
	return time.Date(d.Year, d.Month, d.Day, 12, 0, 0, 0, time.UTC).Format("Mon 2 Jan 2006")
}
