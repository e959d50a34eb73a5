package pages

import (
	"slices"

	"ripeline/orders"
)

func trials() recordKind[orders.Trial] {
	return recordKind[orders.Trial]{
		path: "/trials", one: "trial", many: "Trials",
		intro:   "Small pours, judged the next day, before a fragrance goes into a whole loaf. A trial counts for the recipe with the fragrances it has when the trial is recorded; the latest holds.",
		empty:   "No trial yet. Record one when you have poured and judged it.",
		records: func(b *orders.Book) orders.Records[orders.Trial] { return b.Trials },
		meta:    func(t *orders.Trial) *orders.Meta { return &t.Meta },
		blank: func(v *visit) orders.Trial {
			return orders.Trial{RecipeID: v.r.URL.Query().Get("recipe_id"), Verdict: orders.Verdict(v.r.URL.Query().Get("verdict")), JudgedOn: v.today()}
		},
		row: trialRow, fields: trialFields,
		read: func(f *form, _ *shelf, t *orders.Trial) {
			t.RecipeID, t.Verdict, t.JudgedOn, t.Notes = f.text("recipe_id"), orders.Verdict(f.text("verdict")), f.day("judged_on"), f.text("notes")
		},
	}
}

func verdictName(v orders.Verdict) string {
	switch v {
	case orders.Fit:
		return "Fit to pour"
	case orders.Unfit:
		return "Unfit"
	case orders.Again:
		return "To be tried again"
	}
	return string(v)
}

func trialRow(v *visit, s *shelf, t orders.Trial) recordRow {
	var names []string
	for _, i := range s.ingredients {
		if slices.Contains(t.FragranceIDs, i.ID) {
			names = append(names, i.Name)
		}
	}
	with := "Without fragrance"
	if len(names) > 0 {
		with = "With " + join(names)
	}
	return recordRow{
		Title: s.recipeName(t.RecipeID) + ", " + v.words.day(t.JudgedOn), Badge: lower(verdictName(t.Verdict)),
		Lines: nonEmpty(with, t.Notes),
	}
}

func trialFields(f *form, s *shelf, t orders.Trial) []fieldGroup {
	recipe := f.selectInput("recipe_id", "Recipe", t.RecipeID, s.recipeChoices(t.RecipeID)).must()
	if t.ID != "" {
		recipe.Options = []option{{Value: t.RecipeID, Label: s.recipeName(t.RecipeID), Chosen: true}}
	}
	return []fieldGroup{{Fields: []field{
		recipe,
		f.selectInput("verdict", "Verdict", string(t.Verdict), []option{
			{Value: "", Label: "Choose a verdict"},
			{Value: string(orders.Fit), Label: verdictName(orders.Fit)},
			{Value: string(orders.Unfit), Label: "Unfit: it is not to be poured like this"},
			{Value: string(orders.Again), Label: "To be tried again: it told nothing"},
		}).must(),
		f.dayInput("judged_on", "Judged on", t.JudgedOn).must(),
		f.input("area", "notes", "What you saw", t.Notes).hint("How fast it thickened, how it smelled and what colour it took. When it is unfit, the plan gives this as the reason."),
	}}}
}
