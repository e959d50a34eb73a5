package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

var stockKind = kind[orders.Stock]{
	table: "stocks", noun: "stock entry",
	meta: func(s *orders.Stock) *orders.Meta { return &s.Meta },
	columns: func(s *orders.Stock) []column {
		return []column{
			{"design_id", (*ref)(&s.DesignID)},
			{"batch_id", (*optionalRef)(&s.BatchID)},
			{"pieces", &s.Pieces},
			{"note", &s.Note},
		}
	},
	listing: listing{keys: by("created_at", "timestamptz"), parent: "batch_id::text", text: "note"},
}

func allocationColumns(a *orders.Allocation) []column {
	return []column{
		{"batch_id", (*optionalRef)(&a.BatchID)},
		{"stock_id", (*optionalRef)(&a.StockID)},
		{"order_id", (*ref)(&a.OrderID)},
		{"line_id", (*ref)(&a.LineID)},
		{"pieces", &a.Pieces},
	}
}

func scanAllocation(row pgx.CollectableRow) (orders.Allocation, error) {
	var a orders.Allocation
	err := row.Scan(targets(allocationColumns(&a))...)
	return a, err
}

var selectAllocations = "SELECT " + names(allocationColumns(new(orders.Allocation))) + ` FROM allocations
	WHERE workshop_id = $1 AND order_id IN
		(SELECT id FROM orders WHERE workshop_id = $1 AND status IN ('enquiry', 'accepted'))
	ORDER BY line_id, coalesce(batch_id, stock_id)`

// Allocations implements orders.Tx.
func (t *tx) Allocations(ctx context.Context) ([]orders.Allocation, error) {
	all, err := rows(ctx, t.conn, scanAllocation, selectAllocations, t.workshop)
	if err != nil {
		return nil, fmt.Errorf("read allocations: %w", err)
	}
	return all, nil
}

// SetAllocations implements orders.Tx. What went to orders that were handed
// over stays, as their record.
func (t *tx) SetAllocations(ctx context.Context, all []orders.Allocation) error {
	var b pgx.Batch
	b.Queue(`DELETE FROM allocations WHERE workshop_id = $1 AND order_id IN
		(SELECT id FROM orders WHERE workshop_id = $1 AND status <> 'handed_over')`, t.workshop)
	for i := range all {
		columns := allocationColumns(&all[i])
		if err := checkRefs(fmt.Sprintf("allocations[%d].", i), columns); err != nil {
			return err
		}
		given, err := args([]any{t.workshop}, columns)
		if err != nil {
			return err
		}
		b.Queue("INSERT INTO allocations (workshop_id, "+names(columns)+") VALUES ($1, "+placeholders(2, columns)+")", given...)
	}
	if err := t.send(ctx, &b); err != nil {
		return fmt.Errorf("store allocations: %w", err)
	}
	return nil
}
