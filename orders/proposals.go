package orders

import (
	"context"
	"fmt"

	"ripeline/schedule"
)

// Replan plans the book again from now.
func (b *Book) Replan(ctx context.Context, a Actor) (PlanChange, error) {
	if err := a.may(Owner, true); err != nil {
		return PlanChange{}, err
	}
	return write(ctx, b, a, func(tx Tx) (PlanChange, error) {
		if err := b.journal(ctx, tx, a, "plan.replan", "", "Planned again."); err != nil {
			return PlanChange{}, err
		}
		return b.replan(ctx, tx, a, "Planned again.")
	})
}

// Proposals returns the open proposals, best first.
func (b *Book) Proposals(ctx context.Context, a Actor) ([]Proposal, error) {
	return read(ctx, b, a, func(tx Tx) ([]Proposal, error) { return tx.Proposals(ctx, ProposalOpen, maxProposals) })
}

// TakeProposal publishes a proposal's plan; ErrConflict when the book has
// changed since it was made.
func (b *Book) TakeProposal(ctx context.Context, a Actor, id string) (PlanChange, error) {
	if err := a.may(Owner, true); err != nil {
		return PlanChange{}, err
	}
	return write(ctx, b, a, func(tx Tx) (PlanChange, error) {
		p, err := tx.Proposal(ctx, id)
		if err != nil {
			return PlanChange{}, err
		}
		if err := b.takeable(ctx, tx, p); err != nil {
			return PlanChange{}, err
		}
		text := fmt.Sprintf("Took the proposal %q. %s", p.Title, p.Why)
		if err := b.journal(ctx, tx, a, "plan.take", p.ID, text); err != nil {
			return PlanChange{}, err
		}
		r, err := b.newRound(ctx, tx, a, cause{why: shortened(text), taken: true})
		if err != nil {
			return PlanChange{}, err
		}
		d := r.snap.draft(p.Plan)
		if r.tooLate(d) {
			return PlanChange{}, &Conflict{"Some of this proposal's work should have begun by now, so it can not be taken any more. Plan again for a new one."}
		}
		if err := tx.SetProposal(ctx, p.ID, ProposalTaken); err != nil {
			return PlanChange{}, err
		}
		return r.publish(ctx, d, p.Diff)
	})
}

// takeable is nil while p is open and the book is as it was when p was made.
func (b *Book) takeable(ctx context.Context, tx Tx, p Proposal) error {
	w, err := tx.Workshop(ctx)
	switch {
	case err != nil:
		return err
	case p.Status != ProposalOpen:
		return &Conflict{fmt.Sprintf("This proposal was %s and can not be taken any more. Look at the open ones.", p.Status)}
	case p.BookRevision != w.BookRevision || p.BaseRevision != w.PlanRevision || p.Plan == nil:
		return &Conflict{"The book has changed since this proposal was made, so it no longer fits. Plan again and choose anew."}
	}
	return nil
}

// tooLate reports whether the draft puts work before now that is not there
// already.
func (r *round) tooLate(d draft) bool {
	past := func(state BatchState, steps ...schedule.Interval) bool {
		first := map[BatchState]int{BatchPlanned: 0, BatchPoured: 1, BatchCuring: 2}[state]
		return steps[first].From.Before(r.now)
	}
	for _, b := range d.moved {
		if past(b.State, b.Make, b.Cut, b.Wrap) {
			return true
		}
	}
	for _, pb := range d.fresh {
		if past(BatchPlanned, pb.Make, pb.Cut, pb.Wrap) {
			return true
		}
	}
	return false
}

// DismissProposals ends the open proposals; the published plan stands.
func (b *Book) DismissProposals(ctx context.Context, a Actor) error {
	if err := a.may(Owner, true); err != nil {
		return err
	}
	_, err := write(ctx, b, a, func(tx Tx) (struct{}, error) {
		if err := tx.EndProposals(ctx, ProposalDismissed, ""); err != nil {
			return struct{}{}, err
		}
		return struct{}{}, b.journal(ctx, tx, a, "plan.dismiss", "", "Dismissed the open proposals; the published plan stands.")
	})
	return err
}
