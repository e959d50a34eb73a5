package orders_test

import (
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestUnsafeRecipeCanBeDescribed changes a recipe whose certificate was tightened
// after it was written: what leaves the blend alone is taken, all else is checked.
func TestUnsafeRecipeCanBeDescribed(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	rose := s.certified("Sea rose", 3*calc.Percent)
	r, err := s.scented("ROS", map[string]calc.PPM{rose.ID: 3 * calc.Percent}, rose.ID)
	s.must(err)
	rose.Fragrance.Max = calc.Percent
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, rose)
	s.must(err)

	r.Name, r.Notes, r.CureTarget, r.WrapPer = "Rose of before", "Not to be poured: the certificate of May is stricter.", r.CureTarget+7, r.WrapPer+5
	r, err = s.book.Recipes.Change(s.ctx, s.owner, r)
	s.must(err)
	for name, touch := range map[string]func(*orders.Recipe){
		"a smaller share, still too much": func(r *orders.Recipe) { r.Parts[1].Share = 2 * calc.Percent },
		"more superfat":                   func(r *orders.Recipe) { r.Superfat += calc.Percent },
		"less loss":                       func(r *orders.Recipe) { r.CureLoss = 10 * calc.Percent },
	} {
		touched := r
		touched.Parts = append([]orders.RecipePart{}, r.Parts...)
		touch(&touched)
		_, err := s.book.Recipes.Change(s.ctx, s.owner, touched)
		if got := fieldsOf(t, err)["parts[1].share_ppm"]; !strings.Contains(got, "largest safe share is 1 %") {
			t.Errorf("%s: refused with %q", name, got)
		}
	}
	r.Retired = true
	r, err = s.book.Recipes.Change(s.ctx, s.owner, r)
	s.must(err)
	r.Retired = false
	_, err = s.book.Recipes.Change(s.ctx, s.owner, r)
	invalidAt(t, err, "parts[1].share_ppm")
	r.Parts[1].Share = calc.Percent / 2
	_, err = s.book.Recipes.Change(s.ctx, s.owner, r)
	s.must(err)
}

// TestAnUnchosenIngredientIsOneComplaint leaves ingredients unchosen.
func TestAnUnchosenIngredientIsOneComplaint(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	r, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	r.Parts = []orders.RecipePart{{Share: calc.Whole / 2}, {Share: calc.Whole / 2, Blended: true}}
	_, err = s.book.Recipes.Change(s.ctx, s.owner, r)
	s.complains(err, "parts[0].ingredient_id", "parts[1].ingredient_id")

	b, soon, _ := s.pouredOf()
	_, _, err = s.book.CorrectLots(s.ctx, s.owner, b.ID, 0, orders.LotsUsed{Uses: []orders.LotUse{{Mass: 1}, {Mass: 1}}})
	s.complains(err, "lots_used[0].ingredient_id", "lots_used[1].ingredient_id")
	soon = s.lotNow(soon.ID)
	soon.IngredientID = ""
	_, err = s.book.Lots.Change(s.ctx, s.owner, soon)
	s.complains(err, "ingredient_id")
	_, err = s.book.Lots.Create(s.ctx, s.owner, orders.Lot{Code: "SOON", Received: calc.Kilogram})
	s.complains(err, "ingredient_id")
	_, err = s.book.Purchases.Create(s.ctx, s.owner, orders.Purchase{Quantity: calc.Kilogram})
	s.complains(err, "ingredient_id")
}

// complains checks that an error names these fields and no others.
func (s *shop) complains(err error, fields ...string) {
	s.t.Helper()
	got := fieldsOf(s.t, err)
	for _, f := range fields {
		if got[f] == "" {
			s.t.Errorf("nothing is said of %s: %v", f, err)
		}
		delete(got, f)
	}
	if len(got) > 0 {
		s.t.Errorf("more is said than of %v: %v", fields, got)
	}
}

// TestTwoLotsOfOneCodeAreRefused receives an ingredient twice under one code.
func TestTwoLotsOfOneCodeAreRefused(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	oil := s.emptied()
	first := s.lot(orders.Lot{IngredientID: oil.ID, Code: "B-17", Received: calc.Kilogram})
	_, err := s.book.Lots.Create(s.ctx, s.owner, orders.Lot{IngredientID: oil.ID, Code: " b-17", Received: calc.Kilogram})
	s.complains(err, "code")
	p, err := s.book.Purchases.Create(s.ctx, s.owner, orders.Purchase{IngredientID: oil.ID, Quantity: calc.Kilogram})
	s.must(err)
	_, err = s.book.Receive(s.ctx, s.owner, p.ID, 0, orders.Receipt{Code: "B-17"})
	s.complains(err, "code")
	second, err := s.book.Receive(s.ctx, s.owner, p.ID, 0, orders.Receipt{Code: "B-17 second"})
	s.must(err)
	second = s.lotNow(second.ID)
	second.Code = first.Code
	_, err = s.book.Lots.Change(s.ctx, s.owner, second)
	s.complains(err, "code")
	first.Note, first.Left = "The tin has a dent", 0 // used up, and still of this code
	_, err = s.book.Lots.Change(s.ctx, s.owner, first)
	s.must(err)
	_, err = s.book.Lots.Create(s.ctx, s.owner, orders.Lot{IngredientID: oil.ID, Code: "B-17", Received: calc.Kilogram})
	s.complains(err, "code")
	rose := s.certified("Sea rose", calc.Percent)
	s.lot(orders.Lot{IngredientID: rose.ID, Code: "B-17", Received: calc.Kilogram}) // of something else
	s.lot(orders.Lot{IngredientID: oil.ID, Received: calc.Kilogram})
	s.lot(orders.Lot{IngredientID: oil.ID, Received: calc.Kilogram}) // two of no code
}
