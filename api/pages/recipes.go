package pages

import (
	"fmt"

	"ripeline/calc"
	"ripeline/orders"
)

// Rows offered beyond those filled, and the most that are read.
const (
	spareRows = 3
	mostRows  = 100
)

func recipes() recordKind[orders.Recipe] {
	return recordKind[orders.Recipe]{
		path: "/recipes", one: "recipe", many: "Recipes",
		intro:   "What is mixed, how long each step takes, when it can be cut and how long it cures.",
		empty:   "No recipe yet. Add your oils under Ingredients, then write your first recipe.",
		keep:    "A recipe that a design uses can not be removed. Tick “no longer used” instead.",
		records: func(b *orders.Book) orders.Records[orders.Recipe] { return b.Recipes },
		meta:    func(r *orders.Recipe) *orders.Meta { return &r.Meta },
		blank: func(*visit) orders.Recipe { // common practice, for the maker to change
			return orders.Recipe{
				Superfat: 5 * calc.Percent, LyePurity: 99 * calc.Percent, LyeConcentration: 33 * calc.Percent,
				CutMin: 18, CutMax: 48, CureMin: 28, CureTarget: 42, CureLoss: 15 * calc.Percent, TrialMinutes: 45,
				MakeFixed: 120, CutFixed: 20, WrapFixed: 15, CutPer: 10, WrapPer: 60,
			}
		},
		row: recipeRow, fields: recipeFields, read: readRecipe, aside: recipeAside, also: recipeFragrance,
	}
}

func recipeRow(_ *visit, _ *shelf, r orders.Recipe) recordRow {
	unit := "h"
	if r.CutInDays {
		unit = "days"
	}
	row := recordRow{Title: r.Name, Lines: []string{
		fmt.Sprintf("Cut %d–%d %s after the pour, cure %d days, better %d", r.CutMin, r.CutMax, unit, r.CureMin, r.CureTarget),
		fmt.Sprintf("%s superfat, %s", r.Superfat, waterText(r)),
	}}
	if r.Retired {
		row.Faint, row.Badge = true, "no longer used"
	}
	return row
}

func recipeFields(f *form, s *shelf, r orders.Recipe) []fieldGroup {
	unit := "hours"
	if r.CutInDays {
		unit = "days"
	}
	rows := partRows(f, s, r.Parts)
	ready := readyFields(f, s, r, len(rows)-spareRows) // before the group of its rows, whose messages it would else take
	parts := f.group("parts", "Parts")
	parts.Rows = rows
	parts.Hint = "Each as a share of the weight of all oils. The oils must add up to 100 %; fragrance and the rest come on top. Leave a row empty to drop it."
	return []fieldGroup{
		{Fields: []field{f.textInput("name", "Name", r.Name).must()}},
		parts,
		lyeFields(f, r),
		potashFields(f, r),
		ready,
		{Title: "When it can be cut", Hint: "Counted from the end of the pour. A pour is only planned when this holds a working hour.", Fields: []field{
			f.wholeInput("cut_min", "Earliest", r.CutMin).half(),
			f.wholeInput("cut_max", "Latest", r.CutMax).half(),
			f.selectInput("cut_unit", "Counted in", unit, []option{{Value: "hours", Label: "Hours"}, {Value: "days", Label: "Whole days"}}),
		}},
		{Title: "Cure", Hint: "The shortest cure is never broken. The wished one is kept wherever the dates allow.", Fields: []field{
			f.wholeInput("cure_min_days", "Shortest", r.CureMin).must().behind("days").half(),
			f.wholeInput("cure_target_days", "Wished", r.CureTarget).must().behind("days").half(),
			f.quantityInput("cure_loss_ppm", "Weight lost in the cure, at most", percentValue(r.CureLoss), "%").hint("8 to 15 % is common practice. Fragrance limits and net weights go by the cured bar."),
		}},
		timeFields(f, r),
		{Fold: true, Title: "Trial", Summary: trialText(r), Fields: []field{
			f.tickInput("needs_trial", "Needs a trial pour, judged the next day, before the first real one", r.NeedsTrial),
			f.wholeInput("trial_minutes", "Minutes for the trial", r.TrialMinutes),
		}},
		{Title: "On the day", Fields: []field{
			f.quantityInput("mix_temp_mc", "Oils and lye solution when combined", f.words.tempValue(r.MixTemp), f.words.tempUnit()).hint("Empty when you do not mind. The densities of your ingredients hold at this temperature."),
		}},
		{Fields: []field{f.input("area", "notes", "Notes", r.Notes), f.tickInput("retired", "No longer used", r.Retired)}},
	}
}

func timeFields(f *form, r orders.Recipe) fieldGroup {
	summary := fmt.Sprintf("pour %d, cut %d, wrap %d minutes and more per piece", r.MakeFixed, r.CutFixed, r.WrapFixed)
	return fieldGroup{Fold: true, Title: "Time at the bench", Summary: summary, Hint: "Minutes for a batch, and seconds more for each piece.", Rows: [][]field{
		{
			f.wholeInput("make_minutes", "Pour, minutes", r.MakeFixed),
			f.wholeInput("make_seconds_per_piece", "and per piece, seconds", r.MakePer),
		},
		{
			f.wholeInput("cut_minutes", "Cut, minutes", r.CutFixed),
			f.wholeInput("cut_seconds_per_piece", "and per piece, seconds", r.CutPer),
		},
		{
			f.wholeInput("wrap_minutes", "Wrap, minutes", r.WrapFixed),
			f.wholeInput("wrap_seconds_per_piece", "and per piece, seconds", r.WrapPer),
		},
	}}
}

func partRows(f *form, s *shelf, parts []orders.RecipePart) [][]field {
	filled := len(parts)
	if f.sent {
		filled = f.compact("parts", mostRows, "ingredient_id", "share_ppm")
	}
	var rows [][]field
	for i := range filled + spareRows {
		var p orders.RecipePart
		share := ""
		if i < len(parts) {
			p = parts[i]
			share = percentValue(p.Share)
		}
		rows = append(rows, []field{
			f.selectInput(rowName("parts", i, "ingredient_id"), "Ingredient", p.IngredientID, s.ingredientChoices(p.IngredientID)),
			f.quantityInput(rowName("parts", i, "share_ppm"), "Share", share, "%"),
		})
	}
	return rows
}

func readRecipe(f *form, _ *shelf, r *orders.Recipe) {
	r.Name, r.Notes, r.Retired = f.text("name"), f.text("notes"), f.ticked("retired")
	r.Parts = []orders.RecipePart{}
	for i := range f.compact("parts", mostRows, "ingredient_id", "share_ppm") {
		r.Parts = append(r.Parts, orders.RecipePart{
			IngredientID: f.text(rowName("parts", i, "ingredient_id")),
			Share:        f.percent(rowName("parts", i, "share_ppm")),
			Blended:      f.ticked(rowName("parts", i, "blended")),
		})
	}
	r.Superfat, r.LyePurity = f.percent("superfat_ppm"), f.percent("lye_purity_ppm")
	r.KOHShare, r.KOHPurity, r.LyeStock = f.percent("koh_share_ppm"), f.percent("koh_purity_ppm"), f.percent("lye_stock_ppm")
	r.MixTemp = f.temperature("mix_temp_mc")
	readWater(f, r)
	r.CutMin, r.CutMax, r.CutInDays = f.whole("cut_min", 0), f.whole("cut_max", 0), f.text("cut_unit") == "days"
	r.CureMin, r.CureTarget = f.whole("cure_min_days", 0), f.whole("cure_target_days", 0)
	r.CureLoss = f.percent("cure_loss_ppm")
	r.MakeFixed, r.MakePer = f.whole("make_minutes", 0), f.whole("make_seconds_per_piece", 0)
	r.CutFixed, r.CutPer = f.whole("cut_minutes", 0), f.whole("cut_seconds_per_piece", 0)
	r.WrapFixed, r.WrapPer = f.whole("wrap_minutes", 0), f.whole("wrap_seconds_per_piece", 0)
	r.NeedsTrial, r.TrialMinutes = f.ticked("needs_trial"), f.whole("trial_minutes", 0)
}

func trialText(r orders.Recipe) string {
	if r.NeedsTrial {
		return "needed before the first real pour"
	}
	return "not needed"
}
