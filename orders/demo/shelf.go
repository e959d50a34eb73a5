package demo

import (
	"context"
	"fmt"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// delivery is a lot of the demo: its days count from the season's start.
type delivery struct {
	ingredient, code string
	grams            calc.Mass
	price            calc.Money // in cents
	received, good   int        // days before the start, and after it; good 0 for no expiry
}

// stockUp adds a few ingredients to the starting ones and puts lots on the shelf.
func (s *season) stockUp(ctx context.Context) error {
	page, err := s.book.Ingredients.List(ctx, s.actor, orders.ListQuery{Limit: 100})
	if err != nil {
		return err
	}
	for _, ing := range page.Items {
		ing.LeadDays = 5
		if _, err := s.book.Ingredients.Change(ctx, s.actor, ing); err != nil {
			return err
		}
		s.ingredients[ing.Name] = ing.ID
	}
	for _, ing := range []orders.Ingredient{
		{Name: "Lavender and salt air blend", LabelName: "Parfum", Kind: orders.KindFragrance, LeadDays: 8},
		{Name: "Rolled oats", LabelName: "Avena Sativa Kernel", Kind: orders.KindBotanical, LeadDays: 2},
	} {
		made, err := s.book.Ingredients.Create(ctx, s.actor, ing)
		if err != nil {
			return err
		}
		s.ingredients[ing.Name] = made.ID
	}
	return s.shelve(ctx)
}

// shelve receives the lots: of the olive oil two, one of which runs out on the
// way, and oats that go off during the season.
func (s *season) shelve(ctx context.Context) error {
	start := civil.Of(s.clock.In(s.loc))
	for _, d := range []delivery{
		{"Olive oil", "QO-2607-A", 5_000, 31_50, 60, 120},
		{"Olive oil", "QO-2609-C", 25_000, 149_00, 9, 420},
		{"Coconut oil", "CN 118/4", 7_000, 28_00, 40, 500},
		{"Palm oil", "P-77031", 5_200, 20_50, 40, 300},
		{"Sunflower oil", "SF-0419", 5_000, 14_50, 40, 200},
		{"Shea butter, unrefined", "SHEA 9", 2_000, 26_00, 40, 300},
		{"Cocoa butter", "CB-552", 2_000, 33_00, 40, 500},
		{"Sodium hydroxide", "NH 40-6612", 10_000, 41_00, 40, 700},
		{"Lavender and salt air blend", "LSA-31", 900, 88_00, 20, 250},
		{"Rolled oats", "", 500, 1_90, 20, 25},
	} {
		lot := orders.Lot{
			IngredientID: s.ingredients[d.ingredient], Code: d.code, ReceivedOn: start.AddDays(-d.received),
			ExpiresOn: start.AddDays(d.good), Received: d.grams * calc.Gram, Price: d.price,
		}
		if _, err := s.book.Lots.Create(ctx, s.actor, lot); err != nil {
			return fmt.Errorf("lot of %s: %w", d.ingredient, err)
		}
	}
	return nil
}

// reorder puts on order, at the season's end, what was noticed in time; what
// was not is for the visitor to see.
func (s *season) reorder(ctx context.Context) error {
	_, err := s.book.Purchases.Create(ctx, s.actor, orders.Purchase{
		IngredientID: s.ingredients["Coconut oil"], Quantity: 25_000 * calc.Gram, ArrivesOn: s.day(2), Price: 94_00, Note: "Comes with the ferry",
	})
	return err
}
