package orders

import (
	"cmp"
	"context"
	"fmt"
	"slices"
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
	Cured     calc.PPM        `json:"cured_ppm"`                  // all of them together, of the cured bar; rounded up
	MaxUse    *calc.PPM       `json:"largest_safe_ppm,omitempty"` // of the cured bar, for all in these proportions; rounded down, absent where Safe is and 100 % where none is limited
	MostShare calc.PPM        `json:"largest_safe_share_ppm"`     // of the oils, for all in these proportions; rounded down, 0 where nothing is limited
	Limited   bool            `json:"limited"`                    // some certificate sets a limit
	Safe      *bool           `json:"safe,omitempty"`             // false when it may not be poured; absent when that is not known, for want of a certificate or by Trouble
	Refusal   string          `json:"refusal,omitempty"`          // why it may not
	Missing   []string        `json:"without_certificate"`        // fragrances: may be poured, not sold
	Browns    []string        `json:"browns"`                     // fragrances that hold vanillin
	Allergens []AllergenOnBar `json:"allergens"`                  // all of them, the most first
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
	// Most is the largest safe share of the oils when all fragrances change alike,
	// in these proportions; rounded down. Nil where nothing is limited.
	Most *calc.PPM `json:"largest_safe_share_ppm"`
	// Alone is the largest safe share of the oils with the others left as they
	// are, 0 when no share is; rounded down. Nil where the fragrance has no limit.
	Alone *calc.PPM `json:"largest_safe_share_alone_ppm"`
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
		out := FragranceOf(r, ingredients)
		out.Trial, err = r.trial(ctx, tx, ingredients)
		return out, err
	})
}

// trial is how the recipe stands to its trial. It is told of one that was judged
// good without a record when all designs that are made of it are.
func (r Recipe) trial(ctx context.Context, tx Tx, ingredients []Ingredient) (TrialNeed, error) {
	trials, err := allOf(ctx, tx.Trials(), ListQuery{Parent: r.ID})
	if err != nil {
		return TrialNeed{}, err
	}
	designs, err := allOf(ctx, tx.Designs(), ListQuery{})
	designs = slices.DeleteFunc(designs, func(d Design) bool { return d.RecipeID != r.ID })
	untold := slices.ContainsFunc(designs, func(d Design) bool { return !d.TrialOK })
	return r.trialNeed(ingredients, trials, len(designs) > 0 && !untold), err
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

// FragranceOf is RecipeFragrance of a recipe made of these ingredients, without
// its trial.
func FragranceOf(r Recipe, ingredients []Ingredient) RecipeFragrance {
	out := RecipeFragrance{Loss: r.loss()}
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
	f.Cured, f.Limited = b.use.Cured, b.use.Limited
	if !b.use.Safe || len(b.use.Unproven) == 0 { // else the certificate that is lacking may forbid it
		f.MaxUse, f.Safe = &b.use.MaxUse, &b.use.Safe
	}
	for i, n := range b.needs {
		one, err := calc.UseOf(b.doses[i:i+1], m.whole.Mass, f.Loss)
		if err != nil {
			return err
		}
		part := FragrancePart{
			IngredientID: n.ingredient.ID, Name: n.ingredient.Name, Limit: b.doses[i].Limit.Kind, Max: b.doses[i].Limit.Max,
			Share: n.share, Cured: one.Cured,
		}
		part.Most, part.Alone = m.shareOfOils(b.use.Most[i]), m.shareOfOils(b.use.Alone[i])
		f.Parts = append(f.Parts, part)
	}
	f.MostShare = sumOfMost(f.Parts)
	f.Refusal = f.refusal()
	found, err := calc.AllergensIn(b.doses, m.whole.Mass, f.Loss)
	for _, a := range found {
		f.Allergens = append(f.Allergens, AllergenOnBar{a.Name, a.Share, a.Named()})
	}
	return err
}

// shareOfOils is a largest mass as a share of the kilogram of oils; nil when
// there is no largest.
func (m mixture) shareOfOils(mass calc.Mass) *calc.PPM {
	if mass < 0 {
		return nil
	}
	share := calc.ShareOf(mass, m.oilMass())
	return &share
}

func sumOfMost(parts []FragrancePart) calc.PPM {
	var sum calc.PPM
	for _, p := range parts {
		if p.Most != nil {
			sum += *p.Most
		}
	}
	return sum
}

// refusal says why the blend may not be poured, and what is the most that may.
func (f *RecipeFragrance) refusal() string {
	var out []string
	for _, p := range f.Parts {
		if p.Limit == calc.NotPermitted {
			out = append(out, p.Name+" is not permitted in soap bars by its certificate, so its largest safe share is 0 %: leave it out")
		}
	}
	if len(out) == 0 && f.over() {
		out = append(out, f.excess()+"; "+f.remedy())
	}
	return strings.Join(out, "; ")
}

// over reports whether the blend is known to be over its limit, or forbidden.
func (f *RecipeFragrance) over() bool { return f.Safe != nil && !*f.Safe }

// excess says by how much a blend is over its limit.
func (f *RecipeFragrance) excess() string {
	if len(f.Parts) == 1 {
		return fmt.Sprintf("%s makes %s of the cured bar, and its largest safe share is %s", f.Parts[0].Name, f.Cured, f.MaxUse)
	}
	return fmt.Sprintf("the fragrances together make %s of the cured bar, and the largest safe share is %s for the whole blend, its proportions kept", f.Cured, f.MaxUse)
}

// remedy says what is safe to weigh in, as shares of the oils: all in their
// proportions, and each with the others left as they are. What is over its limits always has a
// largest safe share.
func (f *RecipeFragrance) remedy() string {
	if len(f.Parts) == 1 {
		return fmt.Sprintf("use at most %s of the oils", f.MostShare)
	}
	var together []string
	for _, p := range f.Parts {
		together = append(together, fmt.Sprintf("%s of %s", p.Most, p.Name))
	}
	text := fmt.Sprintf("as shares of the oils, use at most %s for the whole blend, which is %s", f.MostShare, inSeries(together, "and"))
	if alone := f.aloneInWords(); alone != "" {
		text += ", all changed together; or change one and leave the others as they are: " + alone
	}
	return text
}

// aloneInWords is what changing one fragrance only would allow.
func (f *RecipeFragrance) aloneInWords() string {
	var alone []string
	for _, p := range f.Parts {
		if p.Alone != nil && *p.Alone > 0 {
			alone = append(alone, fmt.Sprintf("at most %s of %s", p.Alone, p.Name))
		}
	}
	return inSeries(alone, "or")
}

// inSeries joins texts as a sentence does.
func inSeries(texts []string, last string) string {
	if len(texts) < 2 {
		return strings.Join(texts, "")
	}
	return strings.Join(texts[:len(texts)-1], ", ") + " " + last + " " + texts[len(texts)-1]
}

// barText says in a predicate why the recipe is not to be planned: it may not be
// poured, or there is nothing to weigh; "" when it may be.
func (f *RecipeFragrance) barText() string {
	switch {
	case f.Refusal != "":
		return "may not be poured, for " + f.Refusal
	case f.Trouble != "":
		return "can not be worked out: " + f.Trouble
	}
	return ""
}

// checkSafeRecipe refuses a recipe that is not to be planned, for a design.
func checkSafeRecipe(ctx context.Context, tx Tx, c *Check, r Recipe) error {
	ingredients, err := ingredientsOf(ctx, tx, r)
	if err != nil {
		return err
	}
	f := FragranceOf(r, ingredients)
	if why := f.barText(); why != "" {
		c.Add("recipe_id", fmt.Sprintf("%s; change %s or choose another", why, r.Name))
	}
	return nil
}

// checkBlend refuses a recipe whose fragrances are over their limits, at each
// of them, with the largest share that is safe.
func checkBlend(c *Check, r Recipe, ingredients []Ingredient) {
	f := FragranceOf(r, ingredients)
	if !f.over() {
		return
	}
	at := make(map[string]int)
	for i, p := range r.Parts {
		at[p.IngredientID] = i
	}
	for _, p := range f.Parts {
		field := fmt.Sprintf("parts[%d].", at[p.IngredientID])
		switch p.Limit {
		case calc.NotPermitted:
			c.Add(field+"ingredient_id", "is not permitted in soap bars by its certificate, so its largest safe share is 0 %; leave it out")
		case calc.LimitMax:
			c.Add(field+"share_ppm", fmt.Sprintf("is too much: %s. %s", f.excess(), f.remedyAt(p)))
		}
	}
}

// remedyAt says what is safe to weigh in of one fragrance.
func (f *RecipeFragrance) remedyAt(p FragrancePart) string {
	if len(f.Parts) == 1 {
		return fmt.Sprintf("Use at most %s of the oils", p.Most)
	}
	text := fmt.Sprintf("Use at most %s of the oils here when all are lowered together, to %s in all", p.Most, f.MostShare)
	if p.Alone != nil && *p.Alone > 0 {
		return text + fmt.Sprintf(", or at most %s here with the others left as they are", p.Alone)
	}
	return text + "; lowering only this one is not enough"
}
