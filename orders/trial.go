package orders

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"ripeline/schedule/civil"
)

// Trial is a small pour of a recipe with the fragrances it had then, and how
// it was judged. It says nothing of the same recipe with other fragrances.
type Trial struct {
	Meta
	RecipeID     string     `json:"recipe_id"`
	FragranceIDs []string   `json:"fragrance_ids"` // their order says nothing; taken from the recipe when the trial is added
	JudgedOn     civil.Date `json:"judged_on"`     // today when absent
	Verdict      Verdict    `json:"verdict"`
	Notes        string     `json:"notes"`
}

// Verdict is how a trial was judged. The latest of a recipe and its fragrances
// holds.
type Verdict string

// The verdicts.
const (
	Fit   Verdict = "fit"   // the first real batch may be poured
	Unfit Verdict = "unfit" // it may not, with these fragrances
	Again Verdict = "again" // it told nothing; try once more
)

// usualTrialMinutes is how long a trial takes where the recipe does not say
// (common practice).
const usualTrialMinutes = 45

func (b *Book) checkTrial(ctx context.Context, tx Tx, r, before *Trial) error {
	var c Check
	today, err := b.today(ctx, tx)
	if err != nil {
		return err
	}
	recipe, err := known(ctx, &c, tx.Recipes(), "recipe_id", r.RecipeID, "recipe")
	if err != nil {
		return err
	}
	if r.JudgedOn.IsZero() {
		r.JudgedOn = today
	}
	checkDay(&c, "judged_on", r.JudgedOn)
	c.Want(!r.JudgedOn.After(today), "judged_on", fmt.Sprintf("%s is ahead; a trial is recorded once it was judged", r.JudgedOn))
	c.Want(slices.Contains([]Verdict{Fit, Unfit, Again}, r.Verdict), "verdict", "must be one of fit, unfit, again")
	c.Want(r.Verdict != Unfit || strings.TrimSpace(r.Notes) != "", "notes", "say what was wrong: the plan gives it as the reason")
	checkNote(&c, "notes", r.Notes)
	if before != nil {
		c.Want(r.RecipeID == before.RecipeID, "recipe_id", "can not change; remove this and record another trial")
		r.FragranceIDs = before.FragranceIDs
		return c.Err()
	}
	if err := c.Err(); err != nil {
		return err
	}
	ingredients, err := ingredientsOf(ctx, tx, recipe)
	r.FragranceIDs = fragranceIDs(recipe, ingredients)
	return err
}

// fragranceIDs is the fragrances of a recipe, sorted.
func fragranceIDs(r Recipe, ingredients []Ingredient) []string {
	out := []string{}
	for _, i := range fragrancesOf(r, ingredients) {
		out = append(out, i.ID)
	}
	slices.Sort(out)
	return out
}

// fragrancesOf is the fragrances of a recipe, in its own order.
func fragrancesOf(r Recipe, ingredients []Ingredient) []Ingredient {
	var out []Ingredient
	for _, p := range r.Parts {
		i, ok := find(ingredients, p.IngredientID, func(i Ingredient) string { return i.ID })
		if ok && i.Kind == KindFragrance {
			out = append(out, i)
		}
	}
	return out
}

// TrialNeed is how a recipe with its fragrances stands to its trial.
type TrialNeed struct {
	Needed bool     `json:"needed"` // before the next real batch
	Why    []string `json:"why"`    // sentences on what asks for one, judged or not
	Last   *Trial   `json:"last,omitempty"`
}

// trialNeed is the need of a recipe; told says that the trial the recipe itself
// asks for was judged good without a record.
func (r Recipe) trialNeed(ingredients []Ingredient, trials []Trial, told bool) TrialNeed {
	var n TrialNeed
	asked := r.NeedsTrial && !told
	if r.NeedsTrial {
		n.Why = append(n.Why, "The recipe asks for a trial.")
	}
	for _, i := range fragrancesOf(r, ingredients) {
		if why := i.asksTrial(); why != "" {
			n.Why, asked = append(n.Why, why), true
		}
	}
	n.Last = lastTrial(trials, r.ID, fragranceIDs(r, ingredients))
	if n.Last != nil {
		asked = n.Last.Verdict != Fit
	}
	n.Needed = asked
	return n
}

// lastTrial is the latest trial of a recipe with just these fragrances, which are
// sorted.
func lastTrial(trials []Trial, recipeID string, fragrances []string) *Trial {
	var last *Trial
	for i := range trials {
		t := &trials[i]
		if t.RecipeID == recipeID && slices.Equal(slices.Sorted(slices.Values(t.FragranceIDs)), fragrances) && (last == nil || t.after(*last)) {
			last = t
		}
	}
	return last
}

// after reports whether t was judged after u. Ids rise with time.
func (t Trial) after(u Trial) bool {
	return cmp.Or(t.JudgedOn.Compare(u.JudgedOn), t.CreatedAt.Compare(u.CreatedAt), strings.Compare(t.ID, u.ID)) > 0
}

// asksTrial says why a fragrance asks for a trial, "" when it does not.
func (i Ingredient) asksTrial() string {
	switch {
	case i.Fragrance.Behaviour == Thickens:
		return i.Name + " thickens the batter."
	case i.Fragrance.Behaviour != Steady:
		return "What " + i.Name + " does to the batter is not known."
	case i.Fragrance.Vanillin:
		return i.Name + " holds vanillin, which browns the soap."
	}
	return ""
}

// unfit says why a recipe may not be poured after its trial, "" when it may.
func (n TrialNeed) unfit(name string) string {
	if n.Last == nil || n.Last.Verdict != Unfit {
		return ""
	}
	return fmt.Sprintf("the trial of %s on %s was judged unfit (%s); change its fragrance, or record a trial that is fit",
		name, n.Last.JudgedOn, strings.TrimSuffix(strings.TrimSpace(n.Last.Notes), "."))
}

// trialOf is how a design stands to its trial.
func (s *Snapshot) trialOf(d Design) TrialNeed {
	r, ok := find(s.Recipes, d.RecipeID, func(r Recipe) string { return r.ID })
	if !ok {
		return TrialNeed{}
	}
	return TrialOf(d, r, s.Ingredients, s.Trials)
}

// TrialOf is how a design of the recipe stands to its trial.
func TrialOf(d Design, r Recipe, ingredients []Ingredient, trials []Trial) TrialNeed {
	return r.trialNeed(ingredients, trials, d.TrialOK)
}

// designChanged is a design and what judging its trial did to the plan.
type designChanged struct {
	Design Design     `json:"design"`
	Plan   PlanChange `json:"plan"`
}

// TrialPassed records that the trial of a design's recipe was judged good
// today, or that it has to be tried again.
func (b *Book) TrialPassed(ctx context.Context, a Actor, designID string, version int, passed bool) (Design, PlanChange, error) {
	verdict, text := Again, "%s needs a new trial."
	if passed {
		verdict, text = Fit, "The trial of %s is good."
	}
	if err := a.may(Owner, true); err != nil {
		return Design{}, PlanChange{}, err
	}
	out, err := write(ctx, b, a, func(tx Tx) (designChanged, error) {
		d, err := tx.Designs().Get(ctx, designID)
		if err != nil {
			return designChanged{}, err
		}
		if err := d.seen(version, d.Name); err != nil {
			return designChanged{}, err
		}
		t := Trial{RecipeID: d.RecipeID, Verdict: verdict}
		if err := b.checkTrial(ctx, tx, &t, nil); err != nil {
			return designChanged{}, err
		}
		d.TrialOK = passed
		if err := errors.Join(tx.Trials().Insert(ctx, &t), tx.Designs().Update(ctx, &d)); err != nil {
			return designChanged{}, fmt.Errorf("judge the trial of %s: %w", d.Name, err)
		}
		said := fmt.Sprintf(text, d.Name)
		if err := b.journal(ctx, tx, a, "design.trial", d.ID, said); err != nil {
			return designChanged{}, err
		}
		change, err := b.replan(ctx, tx, a, said)
		return designChanged{d, change}, err
	})
	return out.Design, out.Plan, err
}
