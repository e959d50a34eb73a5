package orders

import (
	"context"
	"fmt"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// LateArrival is something on order that should have come by now. The plan counts on
// it as if it came today.
type LateArrival struct {
	PurchaseID   string     `json:"purchase_id"`
	IngredientID string     `json:"ingredient_id"`
	Ingredient   string     `json:"ingredient"`
	Quantity     calc.Mass  `json:"quantity_mg"` // 0 when it was not said
	ArrivesOn    civil.Date `json:"arrives_on"`  // before today
}

// LateArrivals is what is on order and was to arrive before today, first to arrive
// first.
func LateArrivals(ctx context.Context, tx Tx, today civil.Date) ([]LateArrival, error) {
	all, err := allOf(ctx, tx.Purchases(), ListQuery{})
	if err != nil {
		return nil, fmt.Errorf("late arrivals: %w", err)
	}
	out, ids := []LateArrival{}, []string(nil)
	for _, p := range all {
		if p.ArrivesOn.Before(today) {
			out = append(out, LateArrival{PurchaseID: p.ID, IngredientID: p.IngredientID, Quantity: p.Quantity, ArrivesOn: p.ArrivesOn})
			ids = append(ids, p.IngredientID)
		}
	}
	if len(out) == 0 {
		return out, nil
	}
	named, err := tx.Ingredients().Several(ctx, ids)
	if err != nil {
		return nil, fmt.Errorf("late arrivals: %w", err)
	}
	for i := range out {
		ing, _ := find(named, out[i].IngredientID, func(i Ingredient) string { return i.ID })
		out[i].Ingredient = ing.Name
	}
	return out, nil
}
