package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

// Making implements orders.Tx.
func (t *tx) Making(ctx context.Context, batchID string) (orders.Making, error) {
	var m orders.Making
	err := t.one(ctx, `SELECT made FROM batch_makings WHERE workshop_id = $1 AND batch_id = $2`,
		[]any{t.workshop, batchID}, &document{of: &m})
	if err != nil {
		return orders.Making{}, fmt.Errorf("read what batch %s was poured from: %w", batchID, err)
	}
	return m, nil
}

// SetMaking implements orders.Tx.
func (t *tx) SetMaking(ctx context.Context, batchID string, m orders.Making) error {
	made, err := (&document{of: m}).Value()
	if err == nil {
		_, err = t.exec(ctx, `INSERT INTO batch_makings (workshop_id, batch_id, made) VALUES ($1, $2, $3)
			ON CONFLICT (workshop_id, batch_id) DO UPDATE SET made = EXCLUDED.made`, t.workshop, batchID, made)
	}
	if err != nil {
		return fmt.Errorf("keep what batch %s is poured from: %w", batchID, err)
	}
	return nil
}

func tickColumns(k *orders.Tick) []column {
	return []column{
		{"item", &k.Item},
		{"at", (*instant)(&k.At)},
		{"person", &k.Person},
		{"reading", &k.Reading},
		{"said", &k.Text},
		{"mass_mg", &k.Mass},
	}
}

// Ticks implements orders.Tx.
func (t *tx) Ticks(ctx context.Context, batchID string) ([]orders.Tick, error) {
	var zero orders.Tick
	scan := func(row pgx.CollectableRow) (orders.Tick, error) {
		var k orders.Tick
		err := row.Scan(targets(tickColumns(&k))...)
		return k, err
	}
	all, err := rows(ctx, t.conn, scan, "SELECT "+names(tickColumns(&zero))+
		" FROM batch_ticks WHERE workshop_id = $1 AND batch_id = $2 ORDER BY at, item", t.workshop, batchID)
	if err != nil {
		return nil, fmt.Errorf("read the ticks of batch %s: %w", batchID, err)
	}
	return all, nil
}

// SetTick implements orders.Tx.
func (t *tx) SetTick(ctx context.Context, batchID string, k orders.Tick) error {
	columns := tickColumns(&k)
	given, err := args([]any{t.workshop, batchID}, columns)
	if err == nil {
		_, err = t.exec(ctx, "INSERT INTO batch_ticks (workshop_id, batch_id, "+names(columns)+") VALUES ($1, $2, "+placeholders(3, columns)+
			") ON CONFLICT (workshop_id, batch_id, item) DO UPDATE SET "+assignments(4, columns[1:]), given...)
	}
	if err != nil {
		return fmt.Errorf("tick %s of batch %s: %w", k.Item, batchID, err)
	}
	return nil
}

// ClearTick implements orders.Tx.
func (t *tx) ClearTick(ctx context.Context, batchID, item string) error {
	_, err := t.exec(ctx, `DELETE FROM batch_ticks WHERE workshop_id = $1 AND batch_id = $2 AND item = $3`, t.workshop, batchID, item)
	if err != nil {
		return fmt.Errorf("take back the tick %s of batch %s: %w", item, batchID, err)
	}
	return nil
}
