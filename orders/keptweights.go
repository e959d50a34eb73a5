package orders

import (
	"context"
	"fmt"
	"time"

	"ripeline/calc"
)

// Limits of the weight checks that are kept of one batch.
const (
	maxWeightChecks = 200
	maxKeptWeights  = 1000
)

// KeptWeights is weighed pieces of a batch as they were held against their label.
type KeptWeights struct {
	Number   int         `json:"number"` // from 1, by time
	At       time.Time   `json:"at"`
	Person   string      `json:"by"`
	Declared calc.Mass   `json:"declared_mg"`
	Weights  []calc.Mass `json:"weights_mg"`
}

// KeptCheck is a kept weight check, with how its pieces stood to the label.
type KeptCheck struct {
	KeptWeights
	Check WeightCheck `json:"check"`
}

// WeightChecks lists the newest weight checks kept of a batch.
func (b *Book) WeightChecks(ctx context.Context, a Actor, batchID string) ([]KeptCheck, error) {
	return read(ctx, b, a, func(tx Tx) ([]KeptCheck, error) {
		if _, err := tx.Batches().Get(ctx, batchID); err != nil {
			return nil, err
		}
		kept, err := tx.WeightChecks(ctx, batchID, maxWeightChecks)
		if err != nil {
			return nil, err
		}
		out := make([]KeptCheck, len(kept))
		for i, k := range kept {
			out[i].KeptWeights = k
			if out[i].Check, err = (WeightQuestion{k.Declared, k.Weights}).check(); err != nil {
				return nil, fmt.Errorf("weight check %d of batch %s: %w", k.Number, batchID, err)
			}
		}
		return out, nil
	})
}

// KeepWeights holds weighed pieces of a batch that was cut against their label, and
// keeps them with the batch. Helpers may call it.
func (b *Book) KeepWeights(ctx context.Context, a Actor, batchID string, in WeightQuestion) (KeptCheck, error) {
	if err := a.may(Helper, true); err != nil {
		return KeptCheck{}, err
	}
	found, err := b.CheckWeights(ctx, a, batchID, in)
	if err != nil {
		return KeptCheck{}, err
	}
	var c Check
	c.Want(len(in.Weights) <= maxKeptWeights, "weights_mg", fmt.Sprintf("has more than %d pieces; keep them as several checks", maxKeptWeights))
	if err := c.Err(); err != nil {
		return KeptCheck{}, err
	}
	return write(ctx, b, a, func(tx Tx) (KeptCheck, error) {
		x, err := tx.Batches().Get(ctx, batchID)
		if err != nil {
			return KeptCheck{}, err
		}
		if x.CutAt.IsZero() {
			return KeptCheck{}, x.refuse("checked for weight", "Its pieces are weighed once they are cut.")
		}
		last, err := tx.WeightChecks(ctx, x.ID, 1)
		if err != nil {
			return KeptCheck{}, err
		}
		k := KeptWeights{Number: 1, At: b.now(), Person: a.Name, Declared: found.Declared, Weights: in.Weights}
		if len(last) > 0 {
			k.Number = last[0].Number + 1
		}
		if k.Number > maxWeightChecks {
			return KeptCheck{}, &Conflict{fmt.Sprintf("%s has %d weight checks, and no batch can have more.", x.Lot, maxWeightChecks)}
		}
		if err := tx.AddWeightCheck(ctx, x.ID, k); err != nil {
			return KeptCheck{}, err
		}
		text := fmt.Sprintf("Held %s of %s against their label.", pieces(len(k.Weights)), x.Lot)
		return KeptCheck{k, found}, b.journal(ctx, tx, a, "batch.weight-check", x.ID, text)
	})
}
