package pages

import (
	"fmt"
	"slices"
	"strings"

	"ripeline/calc"
	"ripeline/orders"
)

// ingredientPage adds to the inputs of an ingredient what only some kinds have
// and the price; a new one, whose kind is still open, has them all.
func ingredientPage(f *form, s *shelf, i orders.Ingredient) []fieldGroup {
	groups := ingredientFields(f, s, i)
	last := len(groups) - 1
	scent := fragranceGroups(f, i)
	for g := range scent {
		scent[g].Fold, scent[g].Summary = i.Kind != orders.KindFragrance, "only for fragrances"
	}
	return slices.Concat(groups[:last], scent, []fieldGroup{priceGroup(f, i), groups[last]})
}

func priceGroup(f *form, i orders.Ingredient) fieldGroup {
	g := fieldGroup{Title: "Price and soap name", Fields: []field{
		f.moneyInput("price_minor_per_kg", "Price of a kilogram", i.Price).hint("For costs and quotes. Empty when you do not know it."),
		f.textInput("soap_name", "Name on the label once it is soap", i.SoapName).hint("Only for oils, such as Sodium Olivate. With potash lye a label writes Potassium in its place."),
	}}
	if i.ID != "" && i.Kind != orders.KindOil && i.SoapName == "" {
		g.Title, g.Fields = "Price", g.Fields[:1]
	}
	return g
}

func limitChoices() []option {
	return []option{
		{Value: string(calc.NoCertificate), Label: "No certificate on file"},
		{Value: string(calc.LimitMax), Label: "A largest share"},
		{Value: string(calc.NoLimit), Label: "No limit"},
		{Value: string(calc.NotPermitted), Label: "Not permitted"},
	}
}

func behaviourChoices() []option {
	return []option{
		{Value: string(orders.BehaviourUnknown), Label: "Not known"},
		{Value: string(orders.Steady), Label: "Steady"},
		{Value: string(orders.Thickens), Label: "Thickens it"},
	}
}

// fragranceGroups is the certificate; none for an ingredient that is no
// fragrance.
func fragranceGroups(f *form, i orders.Ingredient) []fieldGroup {
	if i.ID != "" && i.Kind != orders.KindFragrance && f.text("kind") != string(orders.KindFragrance) {
		return nil
	}
	x := i.Fragrance
	rows := allergenRows(f, x.Allergens)
	allergens := f.group("fragrance.allergens", "Allergens of the fragrance")
	allergens.Rows = rows
	allergens.Hint = "As shares of the fragrance, from its allergen sheet. A label names those above 0.01 % of the finished bar."
	return []fieldGroup{
		{
			Title: "Certificate of the fragrance",
			Hint:  "Only for fragrances. Take the limit for rinse-off body and hand products (bar soap), as a share of the finished product. Without a certificate soap may be planned, but it is flagged as not for sale.",
			Fields: []field{
				f.selectInput("fragrance.limit", "In bar soap it allows", string(x.Limit), limitChoices()),
				f.quantityInput("fragrance.max_ppm", "Largest share of the finished bar", blankPercent(x.Max), "%"),
				f.textInput("fragrance.reference", "Number or title of the certificate", x.Reference),
				f.dayInput("fragrance.dated", "Dated", x.Dated),
			},
		},
		{
			Title: "What it does to the soap",
			Hint:  "Anything but steady asks for a trial before the first real pour of a recipe with it; so does vanillin.",
			Fields: []field{
				f.selectInput("fragrance.behaviour", "To the batter", string(x.Behaviour), behaviourChoices()),
				f.tickInput("fragrance.vanillin", "Holds vanillin: it browns, so keep white parts free of it", x.Vanillin),
				f.quantityInput("fragrance.vanillin_ppm", "Vanillin in it", blankPercent(x.VanillinShare), "%").hint("Empty when only known to be there."),
			},
		},
		allergens,
	}
}

func blankPercent(p calc.PPM) string {
	if p == 0 {
		return ""
	}
	return percentValue(p)
}

func allergenRows(f *form, list []orders.Allergen) [][]field {
	filled := len(list)
	if f.sent {
		filled = f.compact("fragrance.allergens", mostRows, "name", "share_ppm")
	}
	var rows [][]field
	for i := range filled + spareRows {
		var a orders.Allergen
		if i < len(list) {
			a = list[i]
		}
		rows = append(rows, []field{
			f.textInput(rowName("fragrance.allergens", i, "name"), "Substance", a.Name),
			f.quantityInput(rowName("fragrance.allergens", i, "share_ppm"), "Share", blankPercent(a.Share), "%"),
		})
	}
	return rows
}

// readIngredientPage reads what ingredientPage draws; inputs that were not
// drawn leave what is stored.
func readIngredientPage(f *form, s *shelf, i *orders.Ingredient) {
	readIngredient(f, s, i)
	i.Price = f.money("price_minor_per_kg")
	if f.values.Has("soap_name") {
		i.SoapName = f.text("soap_name")
	}
	switch {
	case f.values.Has("fragrance.limit"):
		i.Fragrance = readFragrance(f)
	case i.Kind != orders.KindFragrance:
		i.Fragrance = orders.Fragrance{}
	}
}

func readFragrance(f *form) orders.Fragrance {
	x := orders.Fragrance{
		Limit: calc.LimitKind(f.text("fragrance.limit")), Max: f.percent("fragrance.max_ppm"),
		Reference: f.text("fragrance.reference"), Dated: f.day("fragrance.dated"),
		Behaviour: orders.Behaviour(f.text("fragrance.behaviour")),
		Vanillin:  f.ticked("fragrance.vanillin"), VanillinShare: f.percent("fragrance.vanillin_ppm"), Allergens: []orders.Allergen{},
	}
	for i := range f.compact("fragrance.allergens", mostRows, "name", "share_ppm") {
		x.Allergens = append(x.Allergens, orders.Allergen{
			Name: f.text(rowName("fragrance.allergens", i, "name")), Share: f.percent(rowName("fragrance.allergens", i, "share_ppm")),
		})
	}
	return x
}

// noteCard is what the book has to say of a record beside its own fields.
type noteCard struct {
	ID, Title string
	Warn      []string
	Rows      []fact
	Lines     []string
	Links     []linkView
}

// recipeFragrance tells how a recipe's fragrances stand; nil when it has none
// and asks for no trial.
func recipeFragrance(v *visit, r orders.Recipe) (*noteCard, error) {
	x, err := v.Book.RecipeFragrance(v.ctx(), v.actor, r.ID)
	if err != nil {
		return nil, err
	}
	card := &noteCard{ID: "fragrance", Title: "Fragrance and trial"}
	if len(x.Parts)+len(x.Trial.Why)+len(x.Missing) == 0 {
		return nil, nil //nolint:nilnil // there is nothing to say
	}
	if x.Refusal != "" {
		card.Warn = append(card.Warn, "It may not be poured: "+x.Refusal+".")
	}
	for _, name := range x.Missing {
		card.Warn = append(card.Warn, name+" has no certificate on file. It can be planned and poured; the soap is not for sale.")
	}
	if len(x.Parts) > 0 {
		card.Rows = fragranceRows(x)
		card.Lines = append(card.Lines, fmt.Sprintf("Counted on the cured bar, after the largest loss of %s. For a blend the sum of each share over its own limit must not exceed 1: two fragrances may hold the same substance.", x.Loss))
	}
	card.Lines = append(card.Lines, allergenLines(x)...)
	for _, name := range x.Browns {
		card.Lines = append(card.Lines, name+" holds vanillin and browns the soap: keep white parts free of it.")
	}
	card.addTrial(v, x.Trial, r.ID)
	return card, nil
}

func fragranceRows(x orders.RecipeFragrance) []fact {
	var rows []fact
	for _, p := range x.Parts {
		rows = append(rows, fact{p.Name, fmt.Sprintf("%s of the cured bar%s%s", p.Cured, limitText(p), mostText(p, len(x.Parts) > 1))})
	}
	if !x.Limited {
		return rows
	}
	most := "not known before every fragrance has its certificate"
	if x.MaxUse != nil {
		most = fmt.Sprintf("%s for the whole blend, its proportions kept", *x.MaxUse)
	}
	together := fmt.Sprintf("%s of the cured bar; the largest safe share is %s", x.Cured, most)
	if x.MostShare > 0 {
		together += fmt.Sprintf(" (%s of the oils)", x.MostShare)
	}
	if len(x.Parts) > 1 {
		rows = append(rows, fact{"Together", together})
	}
	return rows
}

func limitText(p orders.FragrancePart) string {
	switch p.Limit {
	case calc.LimitMax:
		return fmt.Sprintf(", its own limit %s", p.Max)
	case calc.NotPermitted:
		return ", not permitted"
	case calc.NoLimit:
		return ", no limit"
	}
	return ", no certificate"
}

// mostText says how much of a limited fragrance is safe, beside others and alone.
func mostText(p orders.FragrancePart, blend bool) string {
	switch {
	case p.Limit != calc.LimitMax || p.Most == nil:
		return ""
	case !blend:
		return fmt.Sprintf("; at most %s of the oils", *p.Most)
	case p.Alone == nil:
		return fmt.Sprintf("; at most %s of the oils when all change together", *p.Most)
	}
	return fmt.Sprintf("; at most %s of the oils when all change together, at most %s with the others left as they are", *p.Most, *p.Alone)
}

func allergenLines(x orders.RecipeFragrance) []string {
	var named, unnamed []string
	for _, a := range x.Allergens {
		text := fmt.Sprintf("%s (%s %%)", a.Name, a.Share.Percent(4))
		if a.Named {
			named = append(named, text)
		} else {
			unnamed = append(unnamed, text)
		}
	}
	var out []string
	if len(named) > 0 {
		out = append(out, "Allergens that a label names: "+join(named)+".")
	}
	if len(unnamed) > 0 {
		out = append(out, "Allergens at or below 0.01 %: "+join(unnamed)+".")
	}
	return out
}

// addTrial says whether a trial is needed, and how the last one was judged.
func (c *noteCard) addTrial(v *visit, t orders.TrialNeed, recipeID string) {
	if t.Needed {
		c.Lines = append(c.Lines, "A trial is needed before the next real pour. "+strings.Join(t.Why, " "))
	}
	if t.Last != nil {
		c.Lines = append(c.Lines, fmt.Sprintf("Last trial, %s: %s.", v.words.day(t.Last.JudgedOn), lower(verdictName(t.Last.Verdict))))
	}
	if v.may(orders.Owner) {
		c.Links = append(c.Links, linkView{Href: "/trials/new?" + query("recipe_id", recipeID), Title: "Record a trial"})
	}
}
