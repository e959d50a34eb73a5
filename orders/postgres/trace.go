package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

// selectTrace is a row for each traced batch, with what it took and who holds
// its pieces as documents. Pieces are given of the batch itself, or of the stock
// it became. It is asked with lots, batches and an order; what is not asked for
// is empty.
const selectTrace = `WITH picked AS MATERIALIZED (
		SELECT batch_id FROM batch_uses WHERE workshop_id = $1 AND lot_id = ANY($2::uuid[])
		UNION SELECT unnest($3::uuid[])
		UNION SELECT coalesce(a.batch_id, s.batch_id)
			FROM allocations a LEFT JOIN stocks s ON s.workshop_id = a.workshop_id AND s.id = a.stock_id
			WHERE a.workshop_id = $1 AND a.order_id = $4::uuid
	)
	SELECT b.id::text, b.lot, b.design_id::text, d.name, b.state, b.poured_at, b.pieces, b.sound,
		(SELECT coalesce(sum(s.pieces), 0)::bigint FROM stocks s WHERE s.workshop_id = $1 AND s.batch_id = b.id),
		lines.held, lines.handed_over, used.rows, lines.rows
	FROM picked
	JOIN batches b ON b.workshop_id = $1 AND b.id = picked.batch_id
	JOIN designs d ON d.workshop_id = $1 AND d.id = b.design_id
	CROSS JOIN LATERAL (
		SELECT coalesce(json_agg(json_build_object('ingredient_id', u.ingredient_id, 'ingredient', i.name, 'lot_id', u.lot_id,
			'code', l.code, 'received_on', l.received_on, 'expires_on', l.expires_on, 'used_mg', u.used_mg) ORDER BY u.position), '[]') AS rows
		FROM batch_uses u
		JOIN ingredients i ON i.workshop_id = $1 AND i.id = u.ingredient_id
		LEFT JOIN ingredient_lots l ON l.workshop_id = $1 AND l.id = u.lot_id
		WHERE u.workshop_id = $1 AND u.batch_id = b.id AND (cardinality($2::uuid[]) = 0 OR u.lot_id = ANY($2::uuid[]))
	) used
	CROSS JOIN LATERAL (
		SELECT coalesce(json_agg(json_build_object('order_id', o.id, 'number', o.number, 'title', o.title, 'status', o.status,
			'needed_by', o.needed_by, 'ended_at', o.ended_at, 'left_on', o.left_on, 'customer_id', c.id, 'customer', c.name, 'email', c.email, 'phone', c.phone,
			'line_id', n.id, 'pieces', g.pieces, 'keepsakes', n.keepsakes) ORDER BY o.needed_by, o.number, n.position)
				FILTER (WHERE $4::uuid IS NULL OR o.id = $4::uuid), '[]') AS rows,
			coalesce(sum(g.pieces), 0)::bigint AS held,
			coalesce(sum(g.pieces) FILTER (WHERE o.status = 'handed_over'), 0)::bigint AS handed_over
		FROM (
			SELECT order_id, line_id, pieces FROM allocations WHERE workshop_id = $1 AND batch_id = b.id
			UNION ALL
			SELECT a.order_id, a.line_id, a.pieces
			FROM stocks s JOIN allocations a ON a.workshop_id = $1 AND a.stock_id = s.id
			WHERE s.workshop_id = $1 AND s.batch_id = b.id
		) g
		JOIN order_lines n ON n.workshop_id = $1 AND n.order_id = g.order_id AND n.id = g.line_id
		JOIN orders o ON o.workshop_id = $1 AND o.id = g.order_id
		JOIN customers c ON c.workshop_id = $1 AND c.id = o.customer_id
	) lines
	ORDER BY b.poured_at NULLS LAST, b.lot`

// Trace implements orders.Tx, in one query.
func (t *tx) Trace(ctx context.Context, of orders.TraceOf) ([]orders.TracedBatch, error) {
	ids := [2][]string{{}, {}}
	for i, given := range [][]string{of.LotIDs, of.BatchIDs} {
		for _, id := range given {
			if id, ok := canonicalID(id); ok {
				ids[i] = append(ids[i], id)
			}
		}
	}
	found, err := rows(ctx, t.conn, scanTraced, selectTrace, t.workshop, ids[0], ids[1], (*optionalRef)(&of.OrderID))
	if err != nil {
		return nil, fmt.Errorf("trace: %w", err)
	}
	return found, nil
}

func scanTraced(row pgx.CollectableRow) (orders.TracedBatch, error) {
	var b orders.TracedBatch
	err := row.Scan(&b.BatchID, &b.Lot, &b.DesignID, &b.Design, &b.State, (*instant)(&b.PouredAt), &b.Pieces, &b.Sound, &b.OnShelf,
		&b.Held, &b.Gone, &document{&b.Uses}, &document{&b.Lines})
	for i := range b.Lines {
		b.Lines[i].EndedAt = b.Lines[i].EndedAt.UTC()
	}
	return b, err
}
