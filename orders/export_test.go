package orders

import (
	"context"

	"ripeline/schedule"
)

// Problem is the workshop's book as the planner would take it now.
func (b *Book) Problem(ctx context.Context, a Actor) (*schedule.Problem, error) {
	return read(ctx, b, a, func(tx Tx) (*schedule.Problem, error) {
		snap, err := tx.Snapshot(ctx)
		if err != nil {
			return nil, err
		}
		return snap.problem(b.now())
	})
}
