package orders

import (
	"context"
	"math"
	"slices"

	"ripeline/calc"
)

// MaterialCost is what one ingredient costs.
type MaterialCost struct {
	IngredientID string     `json:"ingredient_id,omitempty"`
	Name         string     `json:"name"`
	Mass         calc.Mass  `json:"mass_mg"`
	Price        calc.Money `json:"price_minor_per_kg"` // of several lots the mean by weight, rounded
	PricedBy     PricedBy   `json:"priced_by"`
	Cost         calc.Money `json:"cost_minor"`

	portions []calc.Material // that Cost is the sum of
}

// PricedBy says where a material's price comes from.
type PricedBy string

// The sources of a price.
const (
	PricedByList PricedBy = "ingredient" // the ingredient's price of a kilogram as it is now
	PricedByLots PricedBy = "lots"       // what was paid for the lots that were used, by weight
	PricedByBoth PricedBy = "both"       // the lots' where they have one, the ingredient's for the rest
)

// lyesOf is the workshop's lyes, and behind them what a workshop without one would
// have to buy.
func lyesOf(ctx context.Context, tx Tx) ([]Ingredient, error) {
	all, err := allOf(ctx, tx.Ingredients(), ListQuery{Status: string(KindLye)})
	return append(all,
		Ingredient{Name: labelLye, Kind: KindLye, Alkali: AlkaliNaOH, OnHand: -1},
		Ingredient{Name: labelPotash, Kind: KindLye, Alkali: AlkaliKOH, OnHand: -1}), err
}

// materials lists what was taken of lots on record, and what else is weighed out:
// of a lye that the recipe does not name the one that a pour would draw from. The
// water of the lye costs nothing.
func (c *Cost) materials(ctx context.Context, tx Tx, m making, mixed mixture) error {
	used, err := usedLots(ctx, tx, m.batch.Uses)
	if err != nil {
		return err
	}
	lyes, err := lyesOf(ctx, tx)
	if err != nil {
		return err
	}
	for _, n := range mixed.withLye(lyes) {
		if !used.take(c, n.ingredient.standsFor) {
			c.material(n.ingredient, n.mass)
		}
	}
	used.take(c, func(Ingredient) bool { return true })
	return nil
}

// standsFor reports whether what was taken of other is the same material: of lye
// any of the same alkali.
func (i Ingredient) standsFor(other Ingredient) bool {
	return i.ID == other.ID || i.sameAlkali(other)
}

// material adds so much of an ingredient at its own price.
func (c *Cost) material(i Ingredient, mass calc.Mass) {
	if mass <= 0 {
		return
	}
	c.line(MaterialCost{IngredientID: i.ID, Name: i.Name, PricedBy: PricedByList, portions: []calc.Material{i.priced(mass)}}, i)
}

// priced is so much of the ingredient at its own price.
func (i Ingredient) priced(mass calc.Mass) calc.Material {
	return calc.Material{Mass: mass, Price: i.Price, Per: calc.Kilogram}
}

// line adds a material with the weight and the mean price of its portions.
func (c *Cost) line(l MaterialCost, i Ingredient) {
	var whole float64
	for _, p := range l.portions {
		l.Mass += p.Mass
		whole += float64(p.Mass) * float64(p.Price) / float64(p.Per)
	}
	l.Price = calc.Money(math.Round(whole / float64(l.Mass) * float64(calc.Kilogram)))
	c.Lines = append(c.Lines, l)
	if i.Price == 0 && l.PricedBy != PricedByLots && i.labelName() != labelWater {
		c.Missing = append(c.Missing, i.Name+" has no price: enter what a kilogram costs.")
	}
}

// usedMaterial is what a batch took of one ingredient.
type usedMaterial struct {
	ingredient Ingredient
	fromLots   []calc.Material
	rest       calc.Mass // of no lot with a price
}

type usedMaterials []usedMaterial

// usedLots gathers what a batch took by ingredient, in the order it is on record.
func usedLots(ctx context.Context, tx Tx, uses []LotUse) (usedMaterials, error) {
	ids, lotIDs := make([]string, len(uses)), make([]string, len(uses))
	for i, u := range uses {
		ids[i], lotIDs[i] = u.IngredientID, u.LotID
	}
	ingredients, err := tx.Ingredients().Several(ctx, ids)
	if err != nil {
		return nil, err
	}
	lots, err := tx.Lots().Several(ctx, lotIDs)
	if err != nil {
		return nil, err
	}
	var out usedMaterials
	for _, u := range uses {
		at := slices.IndexFunc(out, func(m usedMaterial) bool { return m.ingredient.ID == u.IngredientID })
		if at < 0 {
			i, _ := find(ingredients, u.IngredientID, func(i Ingredient) string { return i.ID })
			at, out = len(out), append(out, usedMaterial{ingredient: i})
		}
		lot, _ := find(lots, u.LotID, func(l Lot) string { return l.ID })
		if m, paid := u.paid(lot); paid {
			out[at].fromLots = append(out[at].fromLots, m)
		} else {
			out[at].rest += u.Mass
		}
	}
	return out, nil
}

// paid is the use at what was paid for its lot, by the gram; false when that is
// not on record, as it is not of no lot.
func (u LotUse) paid(l Lot) (calc.Material, bool) {
	return calc.Material{Mass: u.Mass, Price: l.Price, Per: l.Received}, l.Price > 0 && l.Received >= calc.Gram
}

// take moves what was taken of the ingredients that fit into the cost, and reports
// whether there was any.
func (all *usedMaterials) take(c *Cost, fits func(Ingredient) bool) bool {
	found := false
	*all = slices.DeleteFunc(*all, func(u usedMaterial) bool {
		if !fits(u.ingredient) {
			return false
		}
		found = true
		l := MaterialCost{IngredientID: u.ingredient.ID, Name: u.ingredient.Name, PricedBy: PricedByLots, portions: u.fromLots}
		if u.rest > 0 {
			l.PricedBy = PricedByList
			if len(u.fromLots) > 0 {
				l.PricedBy = PricedByBoth
			}
			l.portions = append(l.portions, u.ingredient.priced(u.rest))
		}
		c.line(l, u.ingredient)
		return true
	})
	return found
}
