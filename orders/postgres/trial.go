package postgres

import "ripeline/orders"

// How trials are stored: the latest first, with the fragrances they were of.
var trialKind = kind[orders.Trial]{
	table: "trials", noun: "trial",
	meta: func(r *orders.Trial) *orders.Meta { return &r.Meta },
	columns: func(r *orders.Trial) []column {
		return []column{
			{"recipe_id", (*ref)(&r.RecipeID)},
			{"judged_on", &r.JudgedOn},
			{"verdict", &r.Verdict},
			{"notes", &r.Notes},
		}
	},
	parts: []part[orders.Trial]{rowsOf[orders.Trial, string]{
		table: "trial_fragrances", parent: "trial_id", field: "fragrance_ids",
		of:      func(r *orders.Trial) *[]string { return &r.FragranceIDs },
		columns: func(id *string) []column { return []column{{"ingredient_id", (*ref)(id)}} },
	}},
	listing: listing{keys: by("judged_on", "date"), newest: true, status: "verdict", parent: "recipe_id::text", text: "notes"},
}
