package demo

import (
	"context"
	"fmt"

	"ripeline/calc"
	"ripeline/orders"
)

const pct = calc.Percent

// goods adds ingredients, recipes and five designs.
func (s *season) goods(ctx context.Context) error {
	if err := s.stockUp(ctx); err != nil {
		return err
	}
	if err := s.certify(ctx); err != nil {
		return err
	}
	hard, err := s.recipe(ctx, orders.Recipe{
		Name: "Everyday bar", Superfat: 5 * pct, LyePurity: 98 * pct, LyeConcentration: 33 * pct,
		CutMin: 18, CutMax: 48, CureMin: 28, CureTarget: 42,
		MakeFixed: 70, MakePer: 45, CutFixed: 15, CutPer: 20, WrapFixed: 10, WrapPer: 60,
	}, map[string]calc.PPM{"Olive oil": 50 * pct, "Coconut oil": 30 * pct, "Palm oil": 20 * pct})
	if err != nil {
		return err
	}
	soft, err := s.recipe(ctx, orders.Recipe{
		Name: "Mostly olive", Superfat: 4 * pct, LyePurity: 98 * pct, LyeConcentration: 36 * pct,
		CutMin: 36, CutMax: 84, CureMin: 35, CureTarget: 49,
		MakeFixed: 60, MakePer: 40, CutFixed: 15, CutPer: 20, WrapFixed: 10, WrapPer: 60,
	}, map[string]calc.PPM{"Olive oil": 80 * pct, "Coconut oil": 20 * pct})
	if err != nil {
		return err
	}
	lavenderBar, err := s.scented(ctx, hard, "Everyday bar, lavender", lavender, 3*pct, "Thickens within five minutes: pour at once. Browns a little by the third day.")
	if err != nil {
		return err
	}
	myrtleBar, err := s.scented(ctx, hard, "Everyday bar, bog myrtle", myrtle, 2*pct, "Behaves. Green at first, grey once cured.")
	if err != nil {
		return err
	}
	bar := orders.CutPlan{Thickness: 25 * mm, TrimEnds: 10 * mm, PiecesPerSlice: 1, Spacing: 10 * mm}
	half := orders.CutPlan{Thickness: 25 * mm, TrimEnds: 10 * mm, PiecesPerSlice: 2, Spacing: 8 * mm, DressingClear: 4 * mm}
	tile := orders.CutPlan{TrimEnds: 5 * mm, Rows: 5, Columns: 7, Spacing: 8 * mm}
	shell := orders.CutPlan{PiecesPerSlice: 1, Spacing: 8 * mm}
	for _, d := range []orders.Design{
		{Name: "Oat and tide", LotCode: "OAT", RecipeID: hard, Cut: bar, MoldIDs: s.in("Long loaf", "Short loaf"), Colours: pots("plain", 70, "oat swirl", 30), Dressing: "A line of rolled oats", Spoil: 4 * pct},
		{Name: "Sea lavender halves", LotCode: "LAV", RecipeID: lavenderBar, Cut: half, MoldIDs: s.in("Long loaf"), Colours: pots("violet", 60, "white", 40), Dressing: "Dried lavender, clear of the cuts", Spoil: 6 * pct},
		{Name: "Slate tile", LotCode: "SLA", RecipeID: myrtleBar, Cut: tile, MoldIDs: s.in("Slab tray"), Colours: pots("slate", 100), Spoil: 3 * pct},
		{Name: "Quay shell", LotCode: "SHL", RecipeID: hard, Cut: shell, MoldIDs: s.in("Shell tray"), Colours: pots("shell pink", 100), Spoil: 5 * pct},
		{Name: "Old grove", LotCode: "OLD", RecipeID: soft, Cut: bar, MoldIDs: s.in("Long loaf"), Spoil: 3 * pct},
	} {
		d.Packaging = 38
		made, err := s.book.Designs.Create(ctx, s.actor, d)
		if err != nil {
			return fmt.Errorf("design %s: %w", d.Name, err)
		}
		s.designs[d.LotCode] = made.ID
	}
	return nil
}

func (s *season) in(molds ...string) []string {
	var ids []string
	for _, name := range molds {
		ids = append(ids, s.molds[name])
	}
	return ids
}

func pots(nameAndShare ...any) []orders.Colour {
	var out []orders.Colour
	for i := 0; i < len(nameAndShare); i += 2 {
		out = append(out, orders.Colour{Name: nameAndShare[i].(string), Share: calc.PPM(nameAndShare[i+1].(int)) * pct})
	}
	return out
}

// recipe adds r with these oils, in the order of a fixed list.
func (s *season) recipe(ctx context.Context, r orders.Recipe, oils map[string]calc.PPM) (string, error) {
	for _, name := range []string{"Olive oil", "Coconut oil", "Palm oil"} {
		if share, ok := oils[name]; ok {
			r.Parts = append(r.Parts, orders.RecipePart{IngredientID: s.ingredients[name], Share: share})
		}
	}
	made, err := s.book.Recipes.Create(ctx, s.actor, r)
	if err != nil {
		return "", fmt.Errorf("recipe %s: %w", r.Name, err)
	}
	return made.ID, nil
}
