package orders

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"ripeline/calc"
)

// usualCureLoss is the most weight that soap usually loses in the cure (8 to
// 15 %, common practice). The larger the loss, the more of the bar is fragrance.
const usualCureLoss = 15 * calc.Percent

// loss is the share of its weight that the recipe's soap loses in the cure.
func (r Recipe) loss() calc.PPM { return cmp.Or(r.CureLoss, usualCureLoss) }

// RecipeFragrance is how the fragrances of a recipe stand to their certificates
// on the cured bar, what a label names of them, and whether they need a trial.
type RecipeFragrance struct {
	Trouble   string          `json:"trouble,omitempty"` // why the recipe can not be worked out
	Loss      calc.PPM        `json:"cure_loss_ppm"`
	Parts     []FragrancePart `json:"parts"`
	Cured     calc.PPM        `json:"cured_ppm"`           // all of them together, of the cured bar; rounded up
	MaxUse    calc.PPM        `json:"largest_safe_ppm"`    // of the cured bar, for this blend; rounded down
	Limited   bool            `json:"limited"`             // some certificate sets a limit
	Safe      bool            `json:"safe"`                // it may be poured
	Refusal   string          `json:"refusal,omitempty"`   // why it may not
	Missing   []string        `json:"without_certificate"` // fragrances: may be poured, not sold
	Browns    []string        `json:"browns"`              // fragrances that hold vanillin
	Allergens []AllergenOnBar `json:"allergens"`           // all of them, the most first
	Trial     TrialNeed       `json:"trial"`
}

// FragrancePart is one fragrance of a recipe.
type FragrancePart struct {
	IngredientID string         `json:"ingredient_id"`
	Name         string         `json:"name"`
	Limit        calc.LimitKind `json:"limit"`
	Max          calc.PPM       `json:"max_ppm"`
	Share        calc.PPM       `json:"share_ppm"` // of the mass of all oils
	Cured        calc.PPM       `json:"cured_ppm"` // of the cured bar, rounded up
	// Most is the largest safe share of the oils with the fragrances in these
	// proportions; rounded down. Nil where the fragrance has no limit.
	Most *calc.PPM `json:"largest_safe_share_ppm"`
}

// AllergenOnBar is an allergen and its share of the cured bar.
type AllergenOnBar struct {
	Name  string   `json:"name"`
	Share calc.PPM `json:"share_ppm"` // rounded up
	Named bool     `json:"named"`     // above 0.01 %: the label names it
}

// RecipeFragrance tells how a recipe's fragrances stand to their certificates.
func (b *Book) RecipeFragrance(ctx context.Context, a Actor, recipeID string) (RecipeFragrance, error) {
	return read(ctx, b, a, func(tx Tx) (RecipeFragrance, error) {
		r, err := tx.Recipes().Get(ctx, recipeID)
		if err != nil {
			return RecipeFragrance{}, err
		}
		ingredients, err := ingredientsOf(ctx, tx, r)
		if err != nil {
			return RecipeFragrance{}, err
		}
		trials, err := trialsOfRecipe(ctx, tx, r.ID)
		return FragranceOf(r, ingredients, trials), err
	})
}

// trialsOfRecipe is all trials of a recipe.
func trialsOfRecipe(ctx context.Context, tx Tx, recipeID string) ([]Trial, error) {
	return allOf(ctx, tx.Trials(), ListQuery{Parent: recipeID})
}

// allOf is every record of a list, page by page.
func allOf[T any](ctx context.Context, t Table[T], q ListQuery) ([]T, error) {
	var out []T
	for q.Limit = 200; ; {
		page, err := t.List(ctx, q)
		if err != nil {
			return nil, err
		}
		out = append(out, page.Items...)
		if q.Cursor = page.Next; q.Cursor == "" {
			return out, nil
		}
	}
}

// FragranceOf is RecipeFragrance of a recipe made of these ingredients, with
// the trials there were.
func FragranceOf(r Recipe, ingredients []Ingredient, trials []Trial) RecipeFragrance {
	out := RecipeFragrance{Loss: r.loss(), Safe: true, MaxUse: calc.Whole, Trial: r.trialNeed(ingredients, trials, false)}
	for _, i := range fragrancesOf(r, ingredients) {
		if i.calcOil().Limit.Kind == calc.NoCertificate {
			out.Missing = append(out.Missing, i.Name)
		}
		if i.Fragrance.Vanillin {
			out.Browns = append(out.Browns, i.Name)
		}
	}
	m, err := mixtureOf(r, ingredients)
	if err != nil {
		out.Trouble = err.Error()
		return out
	}
	if err := out.weigh(m); err != nil {
		out.Trouble = inWords(err, nil).Error()
	}
	return out
}

// blend is the fragrances of a mixture and how their use stands.
type blend struct {
	needs []need
	doses []calc.FragranceDose
	use   calc.FragranceUse
}

// blended holds the fragrances of m against their certificates.
func (m mixture) blended() (blend, error) {
	var b blend
	for _, n := range m.needs {
		if n.ingredient.Kind == KindFragrance && n.mass > 0 {
			b.needs = append(b.needs, n)
			b.doses = append(b.doses, calc.FragranceDose{FragranceOil: n.ingredient.calcOil(), Mass: n.mass})
		}
	}
	var err error
	b.use, err = calc.UseOf(b.doses, m.whole.Mass, m.recipe.loss())
	return b, err
}

// weigh fills in what follows from one kilogram of oils, in which a share of
// the oils in parts per million is as many milligrams.
func (f *RecipeFragrance) weigh(m mixture) error {
	b, err := m.blended()
	if err != nil {
		return err
	}
	f.Cured, f.MaxUse, f.Limited, f.Safe = b.use.Cured, b.use.MaxUse, b.use.Limited, b.use.Safe
	for i, n := range b.needs {
		one, err := calc.UseOf(b.doses[i:i+1], m.whole.Mass, f.Loss)
		if err != nil {
			return err
		}
		part := FragrancePart{
			IngredientID: n.ingredient.ID, Name: n.ingredient.Name, Limit: b.doses[i].Limit.Kind, Max: b.doses[i].Limit.Max,
			Share: n.share, Cured: one.Cured,
		}
		if most := b.use.Most[i]; most >= 0 {
			share := calc.ShareOf(most, m.oilMass())
			part.Most = &share
		}
		f.Parts = append(f.Parts, part)
	}
	f.Refusal = f.refusal()
	found, err := calc.AllergensIn(b.doses, m.whole.Mass, f.Loss)
	for _, a := range found {
		f.Allergens = append(f.Allergens, AllergenOnBar{a.Name, a.Share, a.Named()})
	}
	return err
}

// refusal says why the blend may not be poured, and what is the most that may.
func (f *RecipeFragrance) refusal() string {
	var out []string
	for _, p := range f.Parts {
		if p.Limit == calc.NotPermitted {
			out = append(out, p.Name+" is not permitted in soap bars by its certificate, so its largest safe share is 0 %: leave it out")
		}
	}
	if len(out) == 0 && !f.Safe {
		out = append(out, f.over()+"; use at most "+f.mostInWords())
	}
	return strings.Join(out, "; ")
}

// over says by how much a blend is over its limit.
func (f *RecipeFragrance) over() string {
	what := "the fragrances together make"
	if len(f.Parts) == 1 {
		what = f.Parts[0].Name + " makes"
	}
	return fmt.Sprintf("%s %s %% of the cured bar, and the largest safe share is %s %%",
		what, f.Cured.Percent(2), floored(f.MaxUse))
}

func (f *RecipeFragrance) mostInWords() string {
	var most []string
	for _, p := range f.Parts {
		if p.Most != nil {
			most = append(most, fmt.Sprintf("%s of %s", p.Most, p.Name))
		}
	}
	return strings.Join(most, " and ") + ", as a share of the oils"
}

// floored writes a largest share, rounded down to two decimals of a percent so
// that it never says more than is safe.
func floored(p calc.PPM) string {
	const step = calc.Percent / 100
	return (p / step * step).Percent(2)
}

// unsafeBlend says why a recipe may not be poured by its certificates, "" when
// it may. A recipe that can not be worked out is told of elsewhere.
func (s *Snapshot) unsafeBlend(r Recipe) string {
	return FragranceOf(r, s.Ingredients, nil).Refusal
}

// checkSafeRecipe refuses a recipe that may not be poured, for a design.
func checkSafeRecipe(ctx context.Context, tx Tx, c *Check, r Recipe) error {
	ingredients, err := ingredientsOf(ctx, tx, r)
	if err != nil {
		return err
	}
	if why := FragranceOf(r, ingredients, nil).Refusal; why != "" {
		c.Add("recipe_id", fmt.Sprintf("may not be poured, for %s; change %s or choose another", why, r.Name))
	}
	return nil
}

// checkBlend refuses a recipe whose fragrances are over their limits, at each
// of them, with the largest share that is safe.
func checkBlend(c *Check, r Recipe, ingredients []Ingredient) {
	f := FragranceOf(r, ingredients, nil)
	if f.Safe {
		return
	}
	at := make(map[string]int)
	for i, p := range r.Parts {
		at[p.IngredientID] = i
	}
	for _, p := range f.Parts {
		field := fmt.Sprintf("parts[%d].", at[p.IngredientID])
		switch {
		case p.Limit == calc.NotPermitted:
			c.Add(field+"ingredient_id", "is not permitted in soap bars by its certificate, so its largest safe share is 0 %; leave it out")
		case p.Most != nil && p.Share > *p.Most:
			c.Add(field+"share_ppm", fmt.Sprintf("is too much: %s. Use at most %s of the oils here", f.over(), p.Most))
		}
	}
}
