package orders

import (
	"context"

	"ripeline/calc"
)

// Weights is what to weigh for a mass of oils.
type Weights struct {
	Oils     []Weighed `json:"oils"`
	OilsMass calc.Mass `json:"oils_mg"`
	// OilsVolume is at the densities of the ingredients.
	OilsVolume calc.Volume `json:"oils_ul"`
	BlendMass  calc.Mass   `json:"blend_mg"` // of the oils, out of the ready-mixed blend
	Lye        LyeWeights  `json:"lye"`
	Added      []Weighed   `json:"added"`  // on top of oils and lye: fragrance, colour and the rest
	Batter     Amount      `json:"batter"` // oils and lye solution
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
	Blended      bool           `json:"blended"` // comes out of the ready-mixed blend
}

// LyeWeights is the lye as bought, and the water it goes into.
type LyeWeights struct {
	NaOH          calc.Mass    `json:"naoh_mg"`
	KOH           calc.Mass    `json:"koh_mg"`
	Water         calc.Mass    `json:"water_mg"`
	Solution      calc.Mass    `json:"solution_mg"`       // of all three
	FullNaOH      calc.Mass    `json:"pure_naoh_full_mg"` // pure, with no superfat, were it all sodium hydroxide
	FullKOH       calc.Mass    `json:"pure_koh_full_mg"`  // pure, with no superfat, were it all potassium hydroxide
	KOHShare      calc.PPM     `json:"koh_share_ppm"`     // of the saponification
	Superfat      calc.PPM     `json:"superfat_ppm"`
	Purity        calc.PPM     `json:"purity_ppm"`
	KOHPurity     calc.PPM     `json:"koh_purity_ppm"`
	Concentration calc.PPM     `json:"concentration_ppm"`
	Density       calc.Density `json:"density_mg_per_l"` // of the solution at 20 C
	Volume        calc.Volume  `json:"volume_ul"`
	Glycerol      calc.Mass    `json:"glycerol_mg"` // set free in the soap
	Stock         *LyeStock    `json:"stock,omitempty"`
	Warnings      []LyeWarning `json:"warnings"`
}

// LyeStock is what is weighed instead of lye and water when the lye is kept
// ready as a solution.
type LyeStock struct {
	Concentration calc.PPM  `json:"concentration_ppm"` // pure lye in it
	Mass          calc.Mass `json:"mass_mg"`
	Water         calc.Mass `json:"water_mg"` // to add to it
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
	Trouble string     `json:"trouble,omitempty"`
	Weights *Weights   `json:"weights,omitempty"`
	Ready   ReadyMixed `json:"ready_mixed"`
}

// ReadyMixed is how to make what the recipe keeps ready: a kilogram of lye
// solution, and a kilogram of the blend of oils. Either is empty when the recipe has
// none.
type ReadyMixed struct {
	StockLye   calc.Mass `json:"stock_lye_mg"`
	StockWater calc.Mass `json:"stock_water_mg"`
	Blend      []Weighed `json:"blend"`
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
	ready, err := m.readyMixed()
	if err != nil {
		return RecipeWeights{Trouble: inWords(err, nil).Error()}
	}
	return RecipeWeights{Weights: m.weights(), Ready: ready}
}

func (m mixture) readyMixed() (ReadyMixed, error) {
	var out ReadyMixed
	if m.recipe.LyeStock > 0 {
		var err error
		if out.StockLye, out.StockWater, err = calc.StockRecipe(calc.Kilogram, m.recipe.LyeStock, m.recipe.LyePurity); err != nil {
			return out, err
		}
	}
	var pots []calc.Pot
	whole := m.blendShare()
	for _, n := range m.needs {
		if n.blended {
			pots = append(pots, calc.Pot{Name: n.ingredient.Name, Share: n.share})
			out.Blend = append(out.Blend, n.row())
		}
	}
	for i, mass := range calc.Apportion(calc.Kilogram, pots) {
		out.Blend[i].Mass, out.Blend[i].Share = mass, calc.ShareOf(calc.Mass(pots[i].Share), calc.Mass(whole))
	}
	return out, nil
}

// blendShare is the share of the oils that comes out of the blend.
func (m mixture) blendShare() calc.PPM {
	var whole calc.PPM
	for _, n := range m.needs {
		if n.blended {
			whole += n.share
		}
	}
	return whole
}

func (m mixture) weights() *Weights {
	w := &Weights{
		OilsMass: m.oilMass(), OilsVolume: m.fats.Volume, Lye: m.lyeWeights(), Batter: Amount(m.batter), Total: Amount(m.whole),
	}
	for _, n := range m.needs {
		switch n.ingredient.Kind {
		case KindOil:
			w.Oils = append(w.Oils, n.row())
			if n.blended {
				w.BlendMass += n.mass
			}
		case KindLye: // stands with its water
		default:
			w.Added = append(w.Added, n.row())
		}
	}
	return w
}

func (m mixture) lyeWeights() LyeWeights {
	out := LyeWeights{
		NaOH: m.lye.NaOH, KOH: m.lye.KOH, Water: m.lye.Water, Solution: m.lye.Solution,
		FullNaOH: m.lye.FullNaOH, FullKOH: m.lye.FullKOH, KOHShare: m.recipe.KOHShare,
		Superfat: m.recipe.Superfat, Purity: m.recipe.LyePurity, KOHPurity: m.recipe.KOHPurity, Concentration: m.lye.Concentration,
		Density: m.liquor.Density, Volume: m.liquor.Density.VolumeOf(m.liquor.Mass), Glycerol: m.lye.Glycerol,
	}
	if m.recipe.LyeStock > 0 {
		out.Stock = &LyeStock{Concentration: m.recipe.LyeStock, Mass: m.stock.Stock, Water: m.stock.Extra}
	}
	for _, x := range m.lye.Warnings {
		out.Warnings = append(out.Warnings, LyeWarning(x))
	}
	return out
}

func (n need) row() Weighed {
	return Weighed{n.ingredient.ID, n.ingredient.Name, n.ingredient.Kind, n.share, n.mass, n.blended}
}
