package orders

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// cause is why the book is planned again.
type cause struct {
	why   string
	fact  string // batch to which something just happened: its own later steps follow without a yes
	early bool   // and it happened on a day before the planned one
	lost  bool   // pieces were lost, which calls for ways out
	taken bool   // the maker said yes to it
}

// own is the batch whose later steps follow from the fact, "" when none do.
func (c cause) own() string {
	if c.lost {
		return ""
	}
	return c.fact
}

// replan raises the book's revision, plans the changed book, and either
// publishes the new plan (nothing promised and nothing inside the firm window
// moves) or leaves it as proposals.
func (b *Book) replan(ctx context.Context, tx Tx, a Actor, why string) (PlanChange, error) {
	return b.replanFor(ctx, tx, a, cause{why: why})
}

// round is one planning of the book: what it read and what it found.
type round struct {
	book  *Book
	tx    Tx
	actor Actor
	cause cause

	revision int // of the book
	now      time.Time
	snap     *Snapshot
	planned  []Batch // as it was before this round
	problem  *schedule.Problem
	last     PlanRevision // published; zero before the first
	open     []Proposal

	newPlanned bool     // new orders have their places, beside a change that waits
	added      []string // the batches poured for them
}

func (b *Book) replanFor(ctx context.Context, tx Tx, a Actor, c cause) (PlanChange, error) {
	r, err := b.newRound(ctx, tx, a, c)
	if err != nil {
		return PlanChange{}, err
	}
	plan, err := r.solve(ctx)
	if err != nil {
		return PlanChange{}, err
	}
	d, diff := r.differs(plan)
	if r.waits(d, diff) {
		switch added, err := r.planNew(ctx, plan); {
		case err != nil:
			return PlanChange{}, err
		case added:
			if plan, err = r.solve(ctx); err != nil {
				return PlanChange{}, err
			}
			d, diff = r.differs(plan)
		}
	}
	switch {
	case r.stays(d, diff):
		return r.keep(ctx, d)
	case r.calls(d, diff):
		return r.offer(ctx, d, diff)
	case r.safe(d, diff):
		return r.publish(ctx, d, diff)
	}
	return r.propose(ctx, d, []schedule.Proposal{r.replanProposal(d, diff)})
}

func (r *round) solve(ctx context.Context) (*schedule.Plan, error) {
	plan, err := schedule.Solve(ctx, r.unbound())
	if err != nil {
		return nil, fmt.Errorf("plan workshop %s: %w", r.actor.WorkshopID, err)
	}
	return plan, nil
}

// differs is what a plan would change.
func (r *round) differs(plan *schedule.Plan) (draft, schedule.Diff) {
	d, diff := r.snap.draft(plan), schedule.DiffPublished(r.problem, plan)
	diff.Dropped = idsOf(d.dropped)
	return d, diff
}

// stays reports whether what is published may stay as it is.
func (r *round) stays(d draft, diff schedule.Diff) bool {
	return !d.changes() && (len(r.open) == 0 || !r.breaks(diff))
}

// calls reports whether the change calls for ways out to choose from.
func (r *round) calls(d draft, diff schedule.Diff) bool {
	return (r.cause.lost || r.undecided()) && !d.onlyMoves(r.cause.fact) || len(r.slow(d)) > 0 && r.breaks(diff)
}

// waits reports whether the change is not published without a yes.
func (r *round) waits(d draft, diff schedule.Diff) bool {
	return !r.stays(d, diff) && (r.calls(d, diff) || !r.safe(d, diff))
}

// unbound is the problem without the wrap that was planned for a batch before
// its pour or cut turned out to be earlier: it is no reason to wait.
func (r *round) unbound() *schedule.Problem {
	if !r.cause.early {
		return r.problem
	}
	p := *r.problem
	p.Batches = slices.Clone(p.Batches)
	for i := range p.Batches {
		if b := &p.Batches[i]; b.ID == r.cause.fact && !b.Pinned {
			b.Wrap = schedule.Interval{}
		}
	}
	return &p
}

func (b *Book) newRound(ctx context.Context, tx Tx, a Actor, c cause) (*round, error) {
	r := &round{book: b, tx: tx, actor: a, cause: c, now: b.now()}
	var err error
	if r.revision, err = tx.TouchBook(ctx); err != nil {
		return nil, err
	}
	if r.snap, err = tx.Snapshot(ctx); err != nil {
		return nil, err
	}
	r.planned = slices.Clone(r.snap.Batches)
	if err := r.balance(ctx); err != nil {
		return nil, err
	}
	if r.problem, err = r.snap.problem(r.now); err != nil {
		return nil, err
	}
	if r.last, err = published(ctx, tx, r.snap.Workshop); err != nil {
		return nil, err
	}
	r.open, err = tx.Proposals(ctx, ProposalOpen, maxProposals)
	return r, err
}

// balance takes back the pieces that are no longer there to give.
func (r *round) balance(ctx context.Context) error {
	fair := r.snap.balanced()
	if slices.Equal(fair, given(r.snap.Allocations)) {
		return nil
	}
	r.snap.Allocations = fair
	if err := r.tx.SetAllocations(ctx, fair); err != nil {
		return fmt.Errorf("take back lost pieces: %w", err)
	}
	return nil
}

// published is the published revision, the zero one before the first of a book.
// Numbers keep counting when the book is cleared, so the last may be gone.
func published(ctx context.Context, tx Tx, w Workshop) (PlanRevision, error) {
	rev, err := tx.Revision(ctx, w.PlanRevision)
	if errors.Is(err, ErrNotFound) {
		return PlanRevision{}, nil
	}
	return rev, err
}

// undecided reports whether a loss still waits for the maker's choice.
func (r *round) undecided() bool {
	return slices.ContainsFunc(r.open, func(p Proposal) bool { return p.Kind != schedule.ProposeReplan })
}

// safe reports whether a plan may publish itself: nothing inside the firm
// window moves or is dropped, other than what a fact moved, no customer gets
// soap later than they were told, and no batch is put off for its weighings.
func (r *round) safe(d draft, diff schedule.Diff) bool {
	if len(r.slow(d)) > 0 {
		return false
	}
	for _, m := range diff.Moves {
		if m.Firm && m.BatchKey != r.cause.fact {
			return false
		}
	}
	for _, id := range diff.Dropped {
		b, _ := find(r.snap.Batches, id, func(b Batch) string { return b.ID })
		if r.firm(b.Make.From) && !r.blocked(b.DesignID) {
			return false
		}
	}
	return !r.breaks(diff)
}

// slow is the curing batches that the draft moves because their weighings say
// that they are not ready when they are to be wrapped. A fit is no fact, so the maker
// is asked.
func (r *round) slow(d draft) []Batch {
	var out []Batch
	for _, b := range r.snap.Batches {
		moved := slices.ContainsFunc(d.moved, func(m Batch) bool { return m.ID == b.ID })
		wrap := civil.Of(b.Wrap.From.In(r.problem.Zone))
		if moved && b.State == BatchCuring && !b.CureUntil.IsZero() && wrap.Before(b.CureUntil) {
			out = append(out, b)
		}
	}
	return out
}

// breaks reports whether a plan breaks what any customer was told. What may not
// be poured leaves the plan without asking, whatever was told.
func (r *round) breaks(diff schedule.Diff) bool {
	return slices.ContainsFunc(r.snap.Orders, func(o Order) bool {
		return o.broken(diff) && !slices.ContainsFunc(o.Lines, func(l OrderLine) bool { return r.blocked(l.DesignID) })
	})
}

// blocked reports whether a design may not be scheduled.
func (r *round) blocked(designID string) bool {
	d, _ := find(r.problem.Designs, designID, func(d schedule.Design) string { return d.ID })
	return d.Blocked != ""
}

// firm reports whether published work at a time moves only with a yes. What
// should have begun already has to move anyway.
func (r *round) firm(at time.Time) bool {
	local := r.now.In(r.problem.Zone)
	return !at.Before(r.now) && at.Before(local.AddDate(0, 0, r.problem.Firm))
}

// broken reports whether a plan makes an order ready later than its customer
// was told, and later than is published.
func (o Order) broken(diff schedule.Diff) bool {
	c, ok := find(diff.Late, o.ID, func(c schedule.OrderChange) string { return c.OrderID })
	if !ok || o.Told.IsZero() {
		return false
	}
	if c.NewReady.IsZero() {
		return true
	}
	return c.NewReady.After(o.Told) && (c.OldReady.IsZero() || c.NewReady.After(c.OldReady))
}

// keep leaves the published plan as it is; only what it means may have changed.
func (r *round) keep(ctx context.Context, d draft) (PlanChange, error) {
	if !r.sameOutcomes(r.before(), r.outcomes(d.plan)) || !slices.Equal(r.last.Problems, d.plan.Problems) {
		return r.publish(ctx, d, schedule.Diff{})
	}
	if err := r.tx.EndProposals(ctx, ProposalSuperseded, ""); err != nil {
		return PlanChange{}, err
	}
	if err := r.followFacts(ctx, d); err != nil {
		return PlanChange{}, err
	}
	number := r.snap.Workshop.PlanRevision
	return PlanChange{Revision: number, Proposals: []Proposal{}}, r.syncTasks(ctx, d.plan, r.last.Outcomes, number)
}

// offer proposes the ways out of a loss, best first.
func (r *round) offer(ctx context.Context, d draft, diff schedule.Diff) (PlanChange, error) {
	ways, err := schedule.Reshuffle(ctx, r.problem)
	if err != nil {
		return PlanChange{}, fmt.Errorf("reshuffle workshop %s: %w", r.actor.WorkshopID, err)
	}
	if len(ways) == 0 {
		ways = []schedule.Proposal{r.replanProposal(d, diff)}
	}
	return r.propose(ctx, d, ways)
}
