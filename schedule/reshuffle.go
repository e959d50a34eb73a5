package schedule

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"ripeline/schedule/civil"
)

// Reshuffle lists ways out when the book no longer bears out the published
// plan: a batch failed and is gone, or has fewer sound pieces, an order was
// taken, changed or cancelled. Each proposal is a complete plan; no two have the
// same title; the best by the objective comes first. Batches.For and Stock.For
// say who was to get what.
func Reshuffle(ctx context.Context, p *Problem) ([]Proposal, error) {
	pl, err := newPlanner(p)
	if err != nil {
		return nil, err
	}
	r := &reshuffle{planner: pl, seen: map[string]bool{}, was: pl.ready}
	if err := r.gather(ctx); err != nil {
		return nil, err
	}
	return r.choose(), nil
}

// reshuffle gathers proposals.
type reshuffle struct {
	planner *planner
	seen    map[string]bool       // plans by what they say
	was     map[string]civil.Date // when orders would have been ready
	out     []*candidate
}

// gather plans the changed book in every way that may make a difference, and
// last searches for a better one, as Solve would, where no bound proves that there
// is none. A plan that was found before is left out.
func (r *reshuffle) gather(ctx context.Context) error {
	first, err := r.try(ctx, policy{}, policy{spare: true})
	if err != nil {
		return err
	}
	plain, again := first[0], first[1]
	ways := []policy{
		{told: true},
		{pool: true},
		{ripe: true},
		{ripe: true, pool: true},
		{singles: true},
		{fresh: true},
	}
	for _, mold := range newMolds(plain.plan, again.plan) {
		avoid := []string{mold}
		ways = append(ways, policy{avoid: avoid}, policy{pool: true, avoid: avoid}, policy{spare: true, avoid: avoid})
	}
	ways = append(ways, r.planner.recuts(plain.plan)...)
	if _, err := r.try(ctx, ways...); err != nil {
		return err
	}
	if r.planner.bounded(ctx, plain.plan); plain.plan.settled() {
		return nil
	}
	best, err := r.planner.better(ctx, plain, r.planner.problem.reshuffleBudget(), true)
	if err != nil {
		return err
	}
	r.propose(best, policy{})
	return nil
}

// reshufflePlacements is how many batches the search for a way out places, about,
// under each policy.
const reshufflePlacements = 4000

func (p *Problem) reshuffleBudget() int {
	return max(1, min(p.budget(), reshufflePlacements/(1+len(p.Orders)+len(p.Batches))))
}

// try proposes a plan for each policy.
func (r *reshuffle) try(ctx context.Context, policies ...policy) ([]*draft, error) {
	for i := range policies {
		policies[i].budget, policies[i].quick = 1, true
	}
	var out []*draft
	err := r.planner.plans(ctx, policies, func(d *draft, po policy) (enough bool) {
		r.propose(d, po)
		out = append(out, d)
		return false
	})
	return out, err
}

// newMolds is the kinds of mold the new batches of plans use.
func newMolds(plans ...*Plan) []string {
	var out []string
	for _, plan := range plans {
		for _, b := range plan.Batches {
			for _, use := range b.Molds {
				if b.New && !slices.Contains(out, use.MoldID) {
					out = append(out, use.MoldID)
				}
			}
		}
	}
	return out
}

// propose adds a plan unless it was there before.
func (r *reshuffle) propose(d *draft, po policy) {
	plan := d.plan
	text := said(plan)
	if r.seen[text] {
		return
	}
	r.seen[text] = true
	diff := diffPublished(r.planner.problem, plan, r.was)
	c := r.consequences(plan, diff, po)
	r.out = append(r.out, &candidate{
		Proposal: Proposal{Kind: c.kind(), Costs: c.costs(), Plan: plan, Diff: diff, SafeToPublish: r.planner.problem.safe(diff)},
		draft:    d, consequences: c, price: c.price(), found: len(r.out),
	})
}

// said is all a plan decides.
func said(plan *Plan) string {
	var s strings.Builder
	for _, b := range plan.Batches {
		fmt.Fprintf(&s, "%s %v %v %v %v;", b.Key, b.Molds, b.Make.From, b.Cut.From, b.WrapParts)
	}
	fmt.Fprint(&s, plan.Allocations)
	return s.String()
}

// safe reports whether a difference moves nothing promised and nothing inside
// the firm window, and makes nobody later than before.
func (p *Problem) safe(d Diff) bool {
	for _, m := range d.Moves {
		if m.Firm {
			return false
		}
	}
	for _, c := range d.Late {
		if c.NewLate > c.OldLate || c.NewReady.IsZero() || c.Promised && c.NewReady.After(c.OldReady) {
			return false
		}
	}
	for _, b := range p.Batches {
		if slices.Contains(d.Dropped, b.ID) && slices.ContainsFunc(b.ahead(), func(i Interval) bool { return p.firm(i.From) }) {
			return false
		}
	}
	return true
}

// ahead is the published times of a planned batch.
func (b *Batch) ahead() []Interval { return []Interval{b.Trial, b.Make, b.Cut, b.Wrap} }
