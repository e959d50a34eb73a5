package orders

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ripeline/calc"
)

// Making is what a batch is made from. A poured batch keeps its own, as it was
// at the pour, so that its sheet stays true when the recipe changes.
type Making struct {
	Recipe      Recipe       `json:"recipe"`
	Design      Design       `json:"design"`
	Ingredients []Ingredient `json:"ingredients"`
	Molds       []Mold       `json:"molds"` // one for each of the batch's mold uses
}

// making is a batch with the records that say how it is made.
type making struct {
	Making
	batch   Batch
	zone    *time.Location
	oils    []LabelLot // that went into it, where they are asked for
	kept    bool       // as it was at the pour
	changed bool       // it would be made otherwise by now
	// lost is the share that its weighings say it loses in the cure, where that is
	// more than its recipe counted on; its recipe then counts on that.
	lost calc.PPM
}

func makingOf(ctx context.Context, tx Tx, batchID string) (making, error) {
	b, err := tx.Batches().Get(ctx, batchID)
	if err != nil {
		return making{}, err
	}
	w, err := tx.Workshop(ctx)
	if err != nil {
		return making{}, err
	}
	zone, err := w.location()
	if err != nil {
		return making{}, err
	}
	now, err := makingNow(ctx, tx, b)
	if err != nil || b.PouredAt.IsZero() {
		return making{Making: now, batch: b, zone: zone}, err
	}
	kept, err := tx.Making(ctx, b.ID)
	if errors.Is(err, ErrNotFound) { // poured before it was kept
		return making{Making: now, batch: b, zone: zone}, nil
	}
	return making{Making: kept, batch: b, zone: zone, kept: true, changed: kept.differs(now)}, err
}

// makingNow is what the batch would be made from by the records as they are.
func makingNow(ctx context.Context, tx Tx, b Batch) (Making, error) {
	var m Making
	var err error
	if m.Design, err = tx.Designs().Get(ctx, b.DesignID); err != nil {
		return Making{}, err
	}
	if m.Recipe, err = tx.Recipes().Get(ctx, m.Design.RecipeID); err != nil {
		return Making{}, err
	}
	if m.Ingredients, err = ingredientsOf(ctx, tx, m.Recipe); err != nil {
		return Making{}, err
	}
	for _, use := range b.Molds {
		mold, err := tx.Molds().Get(ctx, use.MoldID)
		if err != nil {
			return Making{}, err
		}
		m.Molds = append(m.Molds, mold)
	}
	return m, nil
}

func ingredientsOf(ctx context.Context, tx Tx, r Recipe) ([]Ingredient, error) {
	ids := make([]string, len(r.Parts))
	for i, part := range r.Parts {
		ids[i] = part.IngredientID
	}
	found, err := tx.Ingredients().Several(ctx, ids)
	if err != nil {
		return nil, err
	}
	var out []Ingredient
	for _, id := range ids {
		ing, ok := find(found, id, func(i Ingredient) string { return i.ID })
		if !ok { // or it is written otherwise than it is stored
			if ing, err = tx.Ingredients().Get(ctx, id); err != nil {
				return nil, err
			}
		}
		out = append(out, ing)
	}
	return out, nil
}

// differs reports whether weights or cuts may come out otherwise from n.
func (m Making) differs(n Making) bool {
	return m.Recipe.ID != n.Recipe.ID || m.Recipe.Version != n.Recipe.Version || m.Design.Version != n.Design.Version ||
		!slices.EqualFunc(m.Ingredients, n.Ingredients, func(a, b Ingredient) bool {
			return a.ID == b.ID && a.svRange() == b.svRange() && a.density() == b.density() && a.Kind == b.Kind
		}) ||
		!slices.EqualFunc(m.Molds, n.Molds, func(a, b Mold) bool { return a.calcMold() == b.calcMold() })
}

// keepMaking keeps what the batch was poured from.
func keepMaking(ctx context.Context, tx Tx, x Batch) error {
	m, err := makingNow(ctx, tx, x)
	if err != nil {
		return fmt.Errorf("keep what %s was poured from: %w", x.Lot, err)
	}
	return tx.SetMaking(ctx, x.ID, m)
}
