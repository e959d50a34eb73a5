package demo

import (
	"context"
	"fmt"

	"ripeline/calc"
	"ripeline/orders"
)

const (
	lavender = "Lavender and salt air blend"
	myrtle   = "Bog myrtle oil"
)

// certify says what the fragrances may do, one of them still without its
// certificate, and what everything costs.
func (s *season) certify(ctx context.Context) error {
	made, err := s.book.Ingredients.Create(ctx, s.actor, orders.Ingredient{
		Name: myrtle, LabelName: "Myrica Gale Oil", Kind: orders.KindFragrance, LeadDays: 12, OnHand: 400 * calc.Gram,
		Fragrance: orders.Fragrance{Behaviour: orders.Steady},
	})
	if err != nil {
		return err
	}
	s.ingredients[myrtle] = made.ID
	for _, p := range []struct {
		name  string
		price calc.Money
	}{
		{"Olive oil", 6_10}, {"Coconut oil", 3_90}, {"Palm oil", 3_95}, {"Sodium hydroxide", 4_10}, {"Rolled oats", 3_80}, {myrtle, 210_00}, {lavender, 97_80},
	} {
		i, err := s.book.Ingredients.Get(ctx, s.actor, s.ingredients[p.name])
		if err != nil {
			return err
		}
		if i.Price = p.price; p.name == lavender {
			i.Fragrance = s.certificate()
		}
		if _, err := s.book.Ingredients.Change(ctx, s.actor, i); err != nil {
			return fmt.Errorf("price of %s: %w", p.name, err)
		}
	}
	return s.settings(ctx)
}

func (s *season) certificate() orders.Fragrance {
	return orders.Fragrance{
		Limit: calc.LimitMax, Max: 5*pct + pct/5, Reference: "LSA certificate, third issue", Dated: s.day(-200), Behaviour: orders.Thickens,
		Vanillin: true, VanillinShare: pct / 2,
		Allergens: []orders.Allergen{{Name: "Linalool", Share: 24 * pct}, {Name: "Coumarin", Share: pct}, {Name: "Citral", Share: pct / 5}},
	}
}

// settings is what the workshop says for its labels and costs.
func (s *season) settings(ctx context.Context) error {
	w, err := s.book.Workshop(ctx, s.actor)
	if err != nil {
		return err
	}
	w.HourlyRate, w.Markup, w.BestBefore, w.LabelBoth = 17_00, 40*pct, 18, true
	w.Responsible = "Ines of the Quay\nOystercatcher Quay 3, by the ferry steps"
	_, err = s.book.ChangeWorkshop(ctx, s.actor, w)
	return err
}

// scented adds a recipe like base with a fragrance, tried and judged.
func (s *season) scented(ctx context.Context, base, name, fragrance string, share calc.PPM, judged string) (string, error) {
	r, err := s.book.Recipes.Get(ctx, s.actor, base)
	if err != nil {
		return "", err
	}
	r.Name = name
	r.Parts = append(r.Parts, orders.RecipePart{IngredientID: s.ingredients[fragrance], Share: share})
	if r, err = s.book.Recipes.Create(ctx, s.actor, r); err != nil {
		return "", fmt.Errorf("recipe %s: %w", name, err)
	}
	_, err = s.book.Trials.Create(ctx, s.actor, orders.Trial{RecipeID: r.ID, Verdict: orders.Fit, Notes: judged})
	return r.ID, err
}
