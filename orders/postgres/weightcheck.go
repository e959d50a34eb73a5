package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/calc"
	"ripeline/orders"
)

func weightColumns(k *orders.KeptWeights) []column {
	return []column{
		{"number", &k.Number},
		{"at", (*instant)(&k.At)},
		{"person", &k.Person},
		{"declared_mg", &k.Declared},
	}
}

// WeightChecks implements orders.Tx.
func (t *tx) WeightChecks(ctx context.Context, batchID string, limit int) ([]orders.KeptWeights, error) {
	var zero orders.KeptWeights
	scan := func(row pgx.CollectableRow) (orders.KeptWeights, error) {
		var k orders.KeptWeights
		var weights []int64
		err := row.Scan(append(targets(weightColumns(&k)), &weights)...)
		for _, w := range weights {
			k.Weights = append(k.Weights, calc.Mass(w))
		}
		return k, err
	}
	all, err := rows(ctx, t.conn, scan, "SELECT "+names(weightColumns(&zero))+
		", weights_mg FROM batch_weight_checks WHERE workshop_id = $1 AND batch_id = $2 ORDER BY number DESC LIMIT $3", t.workshop, batchID, limit)
	if err != nil {
		return nil, fmt.Errorf("read the weight checks of batch %s: %w", batchID, err)
	}
	return all, nil
}

// AddWeightCheck implements orders.Tx.
func (t *tx) AddWeightCheck(ctx context.Context, batchID string, k orders.KeptWeights) error {
	weights := make([]int64, len(k.Weights))
	for i, w := range k.Weights {
		weights[i] = int64(w)
	}
	columns := weightColumns(&k)
	given, err := args([]any{t.workshop, batchID, weights}, columns)
	if err == nil {
		_, err = t.exec(ctx, "INSERT INTO batch_weight_checks (workshop_id, batch_id, weights_mg, "+names(columns)+") VALUES ($1, $2, $3, "+placeholders(4, columns)+")", given...)
	}
	if err != nil {
		return fmt.Errorf("keep a weight check of batch %s: %w", batchID, err)
	}
	return nil
}
