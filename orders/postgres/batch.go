package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
	"ripeline/schedule"
)

var batchKind = kind[orders.Batch]{
	table: "batches", noun: "batch",
	meta:    func(b *orders.Batch) *orders.Meta { return &b.Meta },
	columns: batchColumns,
	parts: []part[orders.Batch]{
		rowsOf[orders.Batch, schedule.MoldUse]{
			table: "batch_molds", parent: "batch_id", field: "molds",
			of: func(b *orders.Batch) *[]schedule.MoldUse { return &b.Molds },
			columns: func(u *schedule.MoldUse) []column {
				return []column{{"mold_id", (*ref)(&u.MoldID)}, {"units", &u.Units}, {"pieces", &u.Pieces}}
			},
		},
		rowsOf[orders.Batch, orders.Loss]{
			table: "batch_losses", parent: "batch_id", field: "losses",
			of: func(b *orders.Batch) *[]orders.Loss { return &b.Losses },
			columns: func(l *orders.Loss) []column {
				return []column{{"at", (*instant)(&l.At)}, {"step", &l.Step}, {"pieces", &l.Pieces}, {"reason", &l.Reason}}
			},
		},
		rowsOf[orders.Batch, orders.Weighing]{
			table: "batch_weighings", parent: "batch_id", field: "weighings",
			of: func(b *orders.Batch) *[]orders.Weighing { return &b.Weighings },
			columns: func(w *orders.Weighing) []column {
				return []column{{"at", (*instant)(&w.At)}, {"pieces", &w.Pieces}, {"mass_mg", &w.Mass}, {"mark", &w.Mark}}
			},
		},
		rowsOf[orders.Batch, orders.LotUse]{
			table: "batch_uses", parent: "batch_id", field: "lots_used",
			of: func(b *orders.Batch) *[]orders.LotUse { return &b.Uses },
			columns: func(u *orders.LotUse) []column {
				return []column{{"ingredient_id", (*ref)(&u.IngredientID)}, {"lot_id", (*optionalRef)(&u.LotID)}, {"used_mg", &u.Mass}}
			},
		},
	},
	// A batch that has no time yet comes last.
	listing: listing{
		keys:   by("coalesce(make_start, 'infinity')", "timestamptz"),
		status: "state", parent: "design_id::text", text: "lot", from: "coalesce(ended_at, wrapped_at)::date",
	},
}

func batchColumns(b *orders.Batch) []column {
	return []column{
		{"lot", &b.Lot},
		{"design_id", (*ref)(&b.DesignID)},
		{"state", &b.State},
		{"pieces", &b.Pieces},
		{"sound", &b.Sound},
		{"pinned", &b.Pinned},
		{"make_start", (*instant)(&b.Make.From)},
		{"make_end", (*instant)(&b.Make.To)},
		{"cut_start", (*instant)(&b.Cut.From)},
		{"cut_end", (*instant)(&b.Cut.To)},
		{"wrap_start", (*instant)(&b.Wrap.From)},
		{"wrap_end", (*instant)(&b.Wrap.To)},
		{"wrap_parts", list(&b.WrapParts)},
		{"cut_window_from", (*instant)(&b.CutFrom)},
		{"cut_window_to", (*instant)(&b.CutTo)},
		{"cure_min", &b.CureMin},
		{"cure_target", &b.CureTarget},
		{"cure_until", &b.CureUntil},
		{"holds", list(&b.Holds)},
		{"poured_at", (*instant)(&b.PouredAt)},
		{"cut_at", (*instant)(&b.CutAt)},
		{"wrapped_at", (*instant)(&b.WrappedAt)},
		{"ended_at", (*instant)(&b.EndedAt)},
		{"failed_step", &b.FailedStep},
		{"fail_reason", &b.FailReason},
		{"notes", &b.Notes},
	}
}

// NextLot implements orders.Tx. A number is never given twice.
func (t *tx) NextLot(ctx context.Context, prefix string) (int, error) {
	var n int
	err := t.one(ctx, `INSERT INTO lot_counters AS c (workshop_id, prefix, last)
		SELECT $1, $2, 1 + coalesce(max(substr(lot, char_length($2) + 1)::bigint), 0)
		FROM batches
		WHERE workshop_id = $1 AND starts_with(lot, $2) AND substr(lot, char_length($2) + 1) ~ '^[0-9]{1,9}$'
		ON CONFLICT (workshop_id, prefix) DO UPDATE SET last = greatest(c.last + 1, EXCLUDED.last)
		RETURNING last`, []any{t.workshop, prefix}, &n)
	if err != nil {
		return 0, fmt.Errorf("next lot of %q: %w", prefix, err)
	}
	return n, nil
}

// BatchLots implements orders.Tx.
func (t *tx) BatchLots(ctx context.Context, ids []string) (map[string]string, error) {
	if len(ids) == 0 {
		return map[string]string{}, nil
	}
	type named struct{ id, lot string }
	found, err := rows(ctx, t.conn, func(row pgx.CollectableRow) (named, error) {
		var n named
		err := row.Scan((*ref)(&n.id), &n.lot)
		return n, err
	}, "SELECT id, lot FROM batches WHERE workshop_id = $1 AND id = ANY($2::uuid[])", t.workshop, ids)
	if err != nil {
		return nil, fmt.Errorf("read the lots of %d batches: %w", len(ids), err)
	}
	out := make(map[string]string, len(found))
	for _, n := range found {
		out[n.id] = n.lot
	}
	return out, nil
}
