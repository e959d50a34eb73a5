package remind

import (
	"context"
	"time"

	"ripeline/orders"
)

// kept is how long a reminder that came to an end is kept to be looked up. It must
// be longer than reminders are stored ahead or folded, else they would come twice.
const kept = 90 * 24 * time.Hour

// pruneMost bounds how many are deleted in one look, so that a first one after years
// does not hold up what is due.
const pruneMost = 1000

// prune deletes reminders that ended long ago.
func (s *Service) prune(ctx context.Context) error {
	return s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
		n, err := tx.PruneDeliveries(ctx, s.now().Add(-kept), pruneMost)
		if n > 0 {
			s.cfg.Log.InfoContext(ctx, "reminders: old ones deleted", "count", n)
		}
		return err
	})
}
