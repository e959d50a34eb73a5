package postgres

import (
	"ripeline/calc"
	"ripeline/orders"
)

// How what is mixed is stored: ingredients, recipes, designs.

var ingredientKind = kind[orders.Ingredient]{
	table: "ingredients", noun: "ingredient",
	meta: func(r *orders.Ingredient) *orders.Meta { return &r.Meta },
	columns: func(r *orders.Ingredient) []column {
		return []column{
			{"name", &r.Name},
			{"label_name", &r.LabelName},
			{"kind", &r.Kind},
			{"sv_low", &r.SVLow},
			{"sv_high", &r.SVHigh},
			{"sv_used", &r.SVUsed},
			{"sv_source", &r.SVSource},
			{"wax_ester", &r.WaxEster},
			{"alkali", &r.Alkali},
			{"density_g_per_ml", &r.Density},
			{"lead_days", &r.LeadDays},
			{"soap_name", &r.SoapName},
			{"price_minor_per_kg", &r.Price},
			{"fragrance_limit", &orElse[calc.LimitKind]{&r.Fragrance.Limit, calc.NoCertificate}},
			{"fragrance_max_ppm", &r.Fragrance.Max},
			{"fragrance_reference", &r.Fragrance.Reference},
			{"fragrance_dated", &r.Fragrance.Dated},
			{"fragrance_behaviour", &orElse[orders.Behaviour]{&r.Fragrance.Behaviour, orders.BehaviourUnknown}},
			{"fragrance_vanillin", &r.Fragrance.Vanillin},
			{"fragrance_vanillin_ppm", &r.Fragrance.VanillinShare},
			{"fragrance_allergens", list(&r.Fragrance.Allergens)},
			{"retired", &r.Retired},
		}
	},
	parts:   []part[orders.Ingredient]{shelved{}},
	listing: listing{keys: byName(), status: "kind", text: "name", live: "NOT retired"},
}

var recipeKind = kind[orders.Recipe]{
	table: "recipes", noun: "recipe",
	meta: func(r *orders.Recipe) *orders.Meta { return &r.Meta },
	columns: func(r *orders.Recipe) []column {
		return []column{
			{"name", &r.Name},
			{"superfat_ppm", &r.Superfat},
			{"lye_purity_ppm", &r.LyePurity},
			{"lye_concentration_ppm", &r.LyeConcentration},
			{"koh_share_ppm", &r.KOHShare},
			{"koh_purity_ppm", &r.KOHPurity},
			{"water_basis", &r.WaterBasis},
			{"water_ppm", &r.Water},
			{"lye_stock_ppm", &r.LyeStock},
			{"mix_temp_mc", &r.MixTemp},
			{"cut_min", &r.CutMin},
			{"cut_max", &r.CutMax},
			{"cut_in_days", &r.CutInDays},
			{"cure_min_days", &r.CureMin},
			{"cure_target_days", &r.CureTarget},
			{"cure_loss_ppm", &r.CureLoss},
			{"needs_trial", &r.NeedsTrial},
			{"trial_minutes", &r.TrialMinutes},
			{"make_minutes", &r.MakeFixed},
			{"cut_minutes", &r.CutFixed},
			{"wrap_minutes", &r.WrapFixed},
			{"make_seconds_per_piece", &r.MakePer},
			{"cut_seconds_per_piece", &r.CutPer},
			{"wrap_seconds_per_piece", &r.WrapPer},
			{"notes", &r.Notes},
			{"retired", &r.Retired},
		}
	},
	parts: []part[orders.Recipe]{rowsOf[orders.Recipe, orders.RecipePart]{
		table: "recipe_parts", parent: "recipe_id", field: "parts",
		of: func(r *orders.Recipe) *[]orders.RecipePart { return &r.Parts },
		columns: func(p *orders.RecipePart) []column {
			return []column{{"ingredient_id", (*ref)(&p.IngredientID)}, {"share_ppm", &p.Share}, {"blended", &p.Blended}}
		},
	}},
	listing: listing{keys: byName(), text: "name", live: "NOT retired"},
}

var designKind = kind[orders.Design]{
	table: "designs", noun: "design",
	meta: func(d *orders.Design) *orders.Meta { return &d.Meta },
	columns: func(d *orders.Design) []column {
		return []column{
			{"name", &d.Name},
			{"lot_code", &d.LotCode},
			{"recipe_id", (*ref)(&d.RecipeID)},
			{"cut_thickness_um", &d.Cut.Thickness},
			{"cut_trim_ends_um", &d.Cut.TrimEnds},
			{"cut_pieces_per_slice", &d.Cut.PiecesPerSlice},
			{"cut_rows", &d.Cut.Rows},
			{"cut_columns", &d.Cut.Columns},
			{"cut_spacing_um", &d.Cut.Spacing},
			{"cut_dressing_clear_um", &d.Cut.DressingClear},
			{"colours", list(&d.Colours)},
			{"dressing", &d.Dressing},
			{"spoil_ppm", &d.Spoil},
			{"packaging_minor", &d.Packaging},
			{"trial_passed", &d.TrialOK},
			{"retired", &d.Retired},
		}
	},
	parts: []part[orders.Design]{rowsOf[orders.Design, string]{
		table: "design_molds", parent: "design_id", field: "mold_ids",
		of:      func(d *orders.Design) *[]string { return &d.MoldIDs },
		columns: func(id *string) []column { return []column{{"mold_id", (*ref)(id)}} },
	}},
	listing: listing{keys: byName(), parent: "recipe_id::text", text: "name", live: "NOT retired"},
}
