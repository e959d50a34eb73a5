package postgres_test

import (
	"errors"
	"reflect"
	"testing"

	"ripeline/orders"
)

func TestMakingComesBackAsKept(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	other := newWorld(t, s, "reef")
	w.Ingredient.Ends = nil // what was on the shelf is not kept with it
	read(t, s, w.ID, func(tx orders.Tx) error {
		got, err := tx.Making(t.Context(), w.Batch.ID)
		if err != nil || !reflect.DeepEqual(got, w.making()) {
			t.Errorf("kept:\n got %+v, %v\nwant %+v", got, err, w.making())
		}
		if _, err := tx.Making(t.Context(), other.Batch.ID); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("another workshop's: %v, want not found", err)
		}
		return nil
	})
	changed := w.making()
	changed.Recipe.Name = "Another"
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.SetMaking(t.Context(), w.Batch.ID, changed) })
	read(t, s, w.ID, func(tx orders.Tx) error {
		if got, err := tx.Making(t.Context(), w.Batch.ID); err != nil || got.Recipe.Name != "Another" {
			t.Errorf("kept anew: %+v, %v", got.Recipe, err)
		}
		return nil
	})
}

func TestTicksComeBackAsNoted(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	ctx := t.Context()
	later := orders.Tick{Item: "water", At: noon(3, 2), Person: "Ilo"}
	write(t, s, w.ID, func(tx orders.Tx) error {
		if err := tx.SetTick(ctx, w.Batch.ID, sampleTick("oil:1")); err != nil {
			return err
		}
		return tx.SetTick(ctx, w.Batch.ID, later)
	})
	wants := func(want []orders.Tick) {
		t.Helper()
		read(t, s, w.ID, func(tx orders.Tx) error {
			got, err := tx.Ticks(ctx, w.Batch.ID)
			if err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("ticks %+v, %v, want %+v", got, err, want)
			}
			return nil
		})
	}
	wants([]orders.Tick{sampleTick("oil:1"), later})
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.ClearTick(ctx, w.Batch.ID, "oil:1") })
	wants([]orders.Tick{later})
}

func TestWeightChecksComeBackAsKept(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	write(t, s, w.ID, func(tx orders.Tx) error { return tx.AddWeightCheck(t.Context(), w.Batch.ID, sampleWeights(2)) })
	read(t, s, w.ID, func(tx orders.Tx) error {
		for limit, want := range map[int][]orders.KeptWeights{1: {sampleWeights(2)}, 9: {sampleWeights(2), sampleWeights(1)}} {
			got, err := tx.WeightChecks(t.Context(), w.Batch.ID, limit)
			if err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("the newest %d are %+v, %v, want %+v", limit, got, err, want)
			}
		}
		return nil
	})
}
