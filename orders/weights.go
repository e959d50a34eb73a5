package orders

import (
	"context"

	"ripeline/calc"
)

// Weights is what to weigh for a mass of oils.
type Weights struct {
	Oils     []Weighed  `json:"oils"`
	OilsMass calc.Mass  `json:"oils_mg"`
	Lye      LyeWeights `json:"lye"`
	Added    []Weighed  `json:"added"`  // on top of oils and lye: fragrance, colour and the rest
	Batter   Amount     `json:"batter"` // oils and lye solution
	// Total is the batter with all that is stirred in; botanicals and packaging
	// take no room in it.
	Total Amount `json:"total"`
}

// Weighed is one ingredient to be put on the scale.
type Weighed struct {
	IngredientID string         `json:"ingredient_id"`
	Name         string         `json:"name"`
	Kind         IngredientKind `json:"kind"`
	Share        calc.PPM       `json:"share_ppm"` // of the mass of all oils
	Mass         calc.Mass      `json:"mass_mg"`
}

// LyeWeights is the lye as bought, and the water it goes into.
type LyeWeights struct {
	NaOH          calc.Mass    `json:"naoh_mg"`
	Water         calc.Mass    `json:"water_mg"`
	Solution      calc.Mass    `json:"solution_mg"`       // of both
	FullNaOH      calc.Mass    `json:"pure_naoh_full_mg"` // pure, with no superfat
	Superfat      calc.PPM     `json:"superfat_ppm"`
	Purity        calc.PPM     `json:"purity_ppm"`
	Concentration calc.PPM     `json:"concentration_ppm"`
	Warnings      []LyeWarning `json:"warnings"`
}

// LyeWarning does not stop a batch, but the maker must see it.
type LyeWarning struct {
	Code    calc.WarningCode `json:"code"`
	Message string           `json:"message"`
}

// Amount is a mass of batter and the room it takes.
type Amount struct {
	Mass   calc.Mass   `json:"mass_mg"`
	Volume calc.Volume `json:"volume_ul"`
}

// RecipeWeights is a recipe for one kilogram of oils, or why it can not be
// worked out.
type RecipeWeights struct {
	Trouble string   `json:"trouble,omitempty"`
	Weights *Weights `json:"weights,omitempty"`
}

// RecipeWeights works a recipe out for one kilogram of oils.
func (b *Book) RecipeWeights(ctx context.Context, a Actor, recipeID string) (RecipeWeights, error) {
	return read(ctx, b, a, func(tx Tx) (RecipeWeights, error) {
		r, err := tx.Recipes().Get(ctx, recipeID)
		if err != nil {
			return RecipeWeights{}, err
		}
		ingredients, err := ingredientsOf(ctx, tx, r)
		if err != nil {
			return RecipeWeights{}, err
		}
		return WeighRecipe(r, ingredients), nil
	})
}

// WeighRecipe is RecipeWeights of a recipe made of these ingredients.
func WeighRecipe(r Recipe, ingredients []Ingredient) RecipeWeights {
	m, err := mixtureOf(r, ingredients)
	if err != nil {
		return RecipeWeights{Trouble: err.Error()}
	}
	return RecipeWeights{Weights: m.weights()}
}

func (m mixture) weights() *Weights {
	w := &Weights{
		OilsMass: m.oilMass(), Batter: Amount(m.batter), Total: Amount(m.whole),
		Lye: LyeWeights{
			NaOH: m.lye.NaOH, Water: m.lye.Water, Solution: m.lye.Solution, FullNaOH: m.lye.FullNaOH,
			Superfat: m.recipe.Superfat, Purity: m.recipe.LyePurity, Concentration: m.lye.Concentration,
		},
	}
	for _, x := range m.lye.Warnings {
		w.Lye.Warnings = append(w.Lye.Warnings, LyeWarning(x))
	}
	for _, n := range m.needs {
		row := Weighed{n.ingredient.ID, n.ingredient.Name, n.ingredient.Kind, n.share, n.mass}
		switch n.ingredient.Kind {
		case KindOil:
			w.Oils = append(w.Oils, row)
		case KindLye: // stands with its water
		default:
			w.Added = append(w.Added, row)
		}
	}
	return w
}
