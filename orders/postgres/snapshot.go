package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

// Snapshot implements orders.Tx, in two round trips: the records, then the
// rows that belong to them. Closed days and extra windows come whole: they are
// few, and which of them are past is for who has the clock.
func (t *tx) Snapshot(ctx context.Context) (*orders.Snapshot, error) {
	var s orders.Snapshot
	var b pgx.Batch
	w := t.workshop
	queueWorkshop(&b, w, &s.Workshop)
	closedKind.queueWhere(&b, w, "true", &s.Closed)
	extraKind.queueWhere(&b, w, "true", &s.Extras)
	moldKind.queueWhere(&b, w, "true", &s.Molds)
	moldOutKind.queueWhere(&b, w, "true", &s.MoldOuts)
	rackKind.queueWhere(&b, w, "true", &s.Racks)
	ingredientKind.queueWhere(&b, w, "true", &s.Ingredients)
	lotKind.queueWhere(&b, w, "left_mg > 0", &s.Lots)
	purchaseKind.queueWhere(&b, w, "lot_id IS NULL", &s.Purchases)
	recipeKind.queueWhere(&b, w, "true", &s.Recipes)
	designKind.queueWhere(&b, w, "true", &s.Designs)
	trialKind.queueWhere(&b, w, "true", &s.Trials)
	orderKind.queueWhere(&b, w, "status IN ('enquiry', 'accepted')", &s.Orders)
	batchKind.queueWhere(&b, w, "state IN ('planned', 'poured', 'curing')", &s.Batches)
	stockKind.queueWhere(&b, w, "pieces > 0", &s.Stocks)
	queueRows(&b, selectAllocations, w, scanAllocation, &s.Allocations)
	queueRows(&b, selectTasks("status = 'open'"), w, scanTask, &s.Tasks)
	queueRows(&b, selectFailures, w, pgx.RowToStructByPos[orders.FailureCount], &s.Failures)
	if err := t.send(ctx, &b); err != nil {
		return nil, fmt.Errorf("read the book: %w", err)
	}

	var parts pgx.Batch
	ingredientKind.queueParts(&parts, w, s.Ingredients)
	recipeKind.queueParts(&parts, w, s.Recipes)
	designKind.queueParts(&parts, w, s.Designs)
	trialKind.queueParts(&parts, w, s.Trials)
	orderKind.queueParts(&parts, w, s.Orders)
	batchKind.queueParts(&parts, w, s.Batches)
	if err := t.send(ctx, &parts); err != nil {
		return nil, fmt.Errorf("read the book: %w", err)
	}
	return &s, nil
}

// selectFailures counts what became of ended batches, by design.
const selectFailures = `SELECT design_id::text, count(*), count(*) FILTER (WHERE state = 'failed'),
		count(*) FILTER (WHERE state = 'failed' AND failed_step <> 'cure'), sum(pieces)::bigint,
		sum(CASE state WHEN 'failed' THEN pieces ELSE pieces - sound END)::bigint
	FROM batches WHERE workshop_id = $1 AND state IN ('wrapped', 'failed')
	GROUP BY design_id ORDER BY design_id`

// queueRows collects what a query on the workshop gives.
func queueRows[T any](b *pgx.Batch, sql, workshop string, scan pgx.RowToFunc[T], into *[]T) {
	b.Queue(sql, workshop).Query(func(found pgx.Rows) error {
		var err error
		*into, err = pgx.CollectRows(found, scan)
		return err
	})
}
