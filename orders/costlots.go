package orders

import (
	"context"
	"math"
	"slices"

	"ripeline/calc"
	"ripeline/schedule/civil"
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
	PricedByList   PricedBy = "ingredient" // the ingredient's price of a kilogram as it is now
	PricedByLatest PricedBy = "latest_lot" // what was paid for the lot of it that came last, for the ingredient has no price
	PricedByLots   PricedBy = "lots"       // what was paid for the lots that were used, by weight
	PricedByBoth   PricedBy = "both"       // the lots' where they have one, for the rest the ingredient's or the latest lot's
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
	for _, n := range mixed.withLye(lyes, civil.Of(m.batch.Make.From)) {
		found, err := used.take(ctx, tx, c, n.ingredient.standsFor)
		if err != nil {
			return err
		}
		if found || n.mass <= 0 {
			continue
		}
		m, by, err := n.ingredient.priced(ctx, tx, n.mass)
		if err != nil {
			return err
		}
		c.line(MaterialCost{PricedBy: by, portions: []calc.Material{m}}, n.ingredient)
	}
	_, err = used.take(ctx, tx, c, func(Ingredient) bool { return true })
	return err
}

// standsFor reports whether what was taken of other is the same material: of lye
// any of the same alkali.
func (i Ingredient) standsFor(other Ingredient) bool {
	return i.ID == other.ID || i.sameAlkali(other)
}

// priced is so much of the ingredient at its own price, or where it has none at
// that of the lot that came last of those whose price is on record.
func (i Ingredient) priced(ctx context.Context, tx Tx, mass calc.Mass) (calc.Material, PricedBy, error) {
	own := calc.Material{Mass: mass, Price: i.Price, Per: calc.Kilogram}
	if i.Price > 0 || i.ID == "" {
		return own, PricedByList, nil
	}
	lots, err := allOf(ctx, tx.Lots(), ListQuery{Parent: i.ID, All: true})
	if err != nil {
		return own, PricedByList, err
	}
	for _, l := range lots {
		if m, paid := (LotUse{Mass: mass}).paid(l); paid {
			return m, PricedByLatest, nil
		}
	}
	return own, PricedByList, nil
}

// line adds a material with the weight and the mean price of its portions.
func (c *Cost) line(l MaterialCost, i Ingredient) {
	l.IngredientID, l.Name = i.ID, i.Name
	var whole float64
	free := false
	for _, p := range l.portions {
		free = free || p.Price == 0
		l.Mass += p.Mass
		whole += float64(p.Mass) * float64(p.Price) / float64(p.Per)
	}
	l.Price = calc.Money(math.Round(whole / float64(l.Mass) * float64(calc.Kilogram)))
	c.Lines = append(c.Lines, l)
	if free && i.labelName() != labelWater {
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

// ofUses reads the ingredients and the lots that uses are of.
func ofUses(ctx context.Context, tx Tx, uses []LotUse) ([]Ingredient, []Lot, error) {
	ids, lotIDs := make([]string, len(uses)), make([]string, len(uses))
	for i, u := range uses {
		ids[i], lotIDs[i] = u.IngredientID, u.LotID
	}
	ingredients, err := tx.Ingredients().Several(ctx, ids)
	if err != nil {
		return nil, nil, err
	}
	lots, err := tx.Lots().Several(ctx, lotIDs)
	return ingredients, lots, err
}

// usedLots gathers what a batch took by ingredient, in the order it is on record.
func usedLots(ctx context.Context, tx Tx, uses []LotUse) (usedMaterials, error) {
	ingredients, lots, err := ofUses(ctx, tx, uses)
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
func (all *usedMaterials) take(ctx context.Context, tx Tx, c *Cost, fits func(Ingredient) bool) (bool, error) {
	var left usedMaterials
	for _, u := range *all {
		if !fits(u.ingredient) {
			left = append(left, u)
			continue
		}
		l := MaterialCost{PricedBy: PricedByLots, portions: u.fromLots}
		if u.rest > 0 {
			m, by, err := u.ingredient.priced(ctx, tx, u.rest)
			if err != nil {
				return false, err
			}
			if l.PricedBy = by; len(u.fromLots) > 0 {
				l.PricedBy = PricedByBoth
			}
			l.portions = append(l.portions, m)
		}
		c.line(l, u.ingredient)
	}
	found := len(left) < len(*all)
	*all = left
	return found, nil
}
