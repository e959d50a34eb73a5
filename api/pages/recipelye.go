package pages

import (
	"fmt"
	"strconv"
	"strings"

	"ripeline/calc"
	"ripeline/orders"
)

// The inputs of the water: one for each way to reckon it, of which one is
// filled in.
const (
	inputConcentration = "lye_concentration_ppm"
	inputRatio         = "water_ratio"
	inputWaterOfOils   = "water_of_oils"
)

// lyeFields are what every recipe needs to say of its lye.
func lyeFields(f *form, r orders.Recipe) fieldGroup {
	if f.text(inputWaterOfOils) != "" {
		f.readdress("water_ppm", inputWaterOfOils)
	}
	f.readdress("water_ppm", inputRatio)
	concentration, ratio, ofOils := "", "", ""
	switch r.WaterBasis {
	case calc.WaterByRatio:
		ratio = trimZeros(strconv.FormatFloat(float64(r.Water)/float64(calc.Whole), 'f', 6, 64))
	case calc.WaterByOils:
		ofOils = percentValue(r.Water)
	default:
		concentration = percentValue(r.LyeConcentration)
	}
	return fieldGroup{Title: "Lye", Hint: "The lye and its water are worked out from the oils. Water goes by the one way of the three that you fill in; above 40 % the solution dissolves badly, above 50 % it is refused.", Fields: []field{
		f.quantityInput("superfat_ppm", "Superfat", percentValue(r.Superfat), "%").must().hint("The share that stays oil.").half(),
		f.quantityInput("lye_purity_ppm", "Purity of the lye", percentValue(r.LyePurity), "%").must().hint("On its certificate.").half(),
		f.quantityInput(inputConcentration, "Strength of the solution", concentration, "%").hint("Lye in its solution, by weight."),
		f.quantityInput(inputRatio, "or water to one part of lye", ratio, ": 1").half(),
		f.quantityInput(inputWaterOfOils, "or water, share of the oils", ofOils, "%").half(),
	}}
}

// readWater reads the way of reckoning the water that was filled in.
func readWater(f *form, r *orders.Recipe) {
	filled := 0
	for _, name := range []string{inputConcentration, inputRatio, inputWaterOfOils} {
		if f.text(name) != "" {
			filled++
		}
	}
	if filled != 1 {
		f.fail(inputConcentration, "is one of three ways to say how much water; fill in one of them and leave the others empty")
	}
	r.LyeConcentration, r.Water, r.WaterBasis = 0, 0, calc.WaterByConcentration
	switch {
	case f.text(inputRatio) != "":
		r.WaterBasis, r.Water = calc.WaterByRatio, f.ratio(inputRatio)
	case f.text(inputWaterOfOils) != "":
		r.WaterBasis, r.Water = calc.WaterByOils, f.percent(inputWaterOfOils)
	default:
		r.LyeConcentration = f.percent(inputConcentration)
	}
}

// ratio is how many parts there are to one: "2", "2:1" or "2,5".
func (f *form) ratio(name string) calc.PPM {
	text := strings.TrimSpace(strings.TrimSuffix(strings.ReplaceAll(f.text(name), " ", ""), ":1"))
	if text == "" || strings.ContainsAny(text, ":%") {
		f.fail(name, "must be parts of water to one of lye, such as 2 or 2.2")
		return 0
	}
	p, err := calc.ParsePercent(name, text)
	f.note(err)
	return p * 100
}

// readdress moves messages to the input that stands for a field; one that is
// already taken keeps them.
func (f *form) readdress(field, input string) {
	for i := range f.errs {
		if f.errs[i].Field == field {
			f.errs[i].Field = input
		}
	}
}

// potashFields are for potash and mixed lye.
func potashFields(f *form, r orders.Recipe) fieldGroup {
	g := fieldGroup{
		Fold: true, Title: "Potash lye", Summary: "none",
		Hint: "For soft or liquid soap. The rest of the oils is saponified by sodium hydroxide.",
		Fields: []field{
			f.quantityInput("koh_share_ppm", "Share of the oils it saponifies", percentOrBlank(r.KOHShare), "%").hint("Empty for none, 100 for potash alone.").half(),
			f.quantityInput("koh_purity_ppm", "Purity of the potash", percentOrBlank(r.KOHPurity), "%").hint("Often near 90 %, from memory; the certificate decides.").half(),
		},
	}
	if r.KOHShare > 0 {
		g.Summary = r.KOHShare.String() + " of the oils"
	}
	return g
}

// readyFields are for lye and oils that are kept ready-mixed.
func readyFields(f *form, s *shelf, r orders.Recipe, rows int) fieldGroup {
	g := f.group("ready", "Kept ready-mixed")
	g.Fold, g.Summary = true, "nothing"
	g.Hint = "Lye dissolved ahead, or oils melted together ahead. The batch sheet then says what to weigh of them on the day, and this page how to make them up."
	g.Fields = []field{
		f.quantityInput("lye_stock_ppm", "Lye stock, lye in the solution", percentOrBlank(r.LyeStock), "%").hint("Empty when lye is dissolved fresh. Must be at least as strong as the recipe asks."),
	}
	kept := nonEmpty(stockText(r.LyeStock))
	for i := range rows {
		var part orders.RecipePart
		if i < len(r.Parts) {
			part = r.Parts[i]
		}
		if part.Blended {
			kept = append(kept, lower(s.ingredientName(part.IngredientID)))
		}
		ing, known := s.ingredient(part.IngredientID)
		if known && ing.Kind == orders.KindOil {
			g.Fields = append(g.Fields, f.tickInput(rowName("parts", i, "blended"), ing.Name+" comes out of the blend", part.Blended))
		}
	}
	if len(r.Parts) == 0 {
		g.Hint += " Save the recipe once to choose its ready-mixed oils."
	}
	if len(kept) > 0 {
		g.Summary = join(kept)
	}
	return g
}

func stockText(p calc.PPM) string {
	if p == 0 {
		return ""
	}
	return "lye at " + p.String()
}

func percentOrBlank(p calc.PPM) string {
	if p == 0 {
		return ""
	}
	return percentValue(p)
}

// waterText says how a recipe's water is reckoned.
func waterText(r orders.Recipe) string {
	switch r.WaterBasis {
	case calc.WaterByRatio:
		return fmt.Sprintf("water %s : 1", trimZeros(strconv.FormatFloat(float64(r.Water)/float64(calc.Whole), 'f', 3, 64)))
	case calc.WaterByOils:
		return fmt.Sprintf("water %s of the oils", r.Water)
	}
	return "lye at " + r.LyeConcentration.String()
}
