package orders_test

import (
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// TestExpiredLotsAreNotOnHand lets half a kilogram of an oil expire, and the larger of
// two lyes: neither counts, and a pour takes of the lye that is good.
func TestExpiredLotsAreNotOnHand(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	page, err := s.book.Ingredients.List(s.ctx, s.owner, orders.ListQuery{Status: string(orders.KindLye), Limit: 50})
	s.must(err)
	old := page.Items[0]
	fresh, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: "Fresh flakes", Kind: orders.KindLye, OnHand: 20 * calc.Kilogram})
	s.must(err)
	recipe, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	oil := recipe.Parts[0].IngredientID
	add := func(ingredient string, mass calc.Mass, good civil.Date) {
		t.Helper()
		_, err := s.book.Lots.Create(s.ctx, s.owner, orders.Lot{IngredientID: ingredient, Received: mass, ExpiresOn: good})
		s.must(err)
	}
	has := func(when, id string, onHand, expired calc.Mass) {
		t.Helper()
		i, err := s.book.Ingredients.Get(s.ctx, s.owner, id)
		s.must(err)
		if i.OnHand != onHand || i.Expired != expired {
			t.Errorf("%s %s: %s on hand and %s expired, want %s and %s", when, i.Name, i.OnHand, i.Expired, onHand, expired)
		}
	}
	last := s.today().AddDays(2)
	add(oil, calc.Kilogram/2, last)
	add(old.ID, 30*calc.Kilogram, last)
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	s.now = s.now.AddDate(0, 0, 2)
	has("on its last day", oil, 500*calc.Kilogram+calc.Kilogram/2, 0)
	s.now = s.now.AddDate(0, 0, 1)
	has("a day later", oil, 500*calc.Kilogram, calc.Kilogram/2)
	has("a day later", old.ID, 0, 30*calc.Kilogram)
	has("a day later", fresh.ID, 20*calc.Kilogram, 0)
	view, err := s.book.Ingredients.List(s.ctx, s.owner, orders.ListQuery{Text: old.Name, Limit: 5})
	s.must(err)
	if got := view.Items[0]; got.OnHand != 0 || got.Expired != 30*calc.Kilogram {
		t.Errorf("listed as %+v", got)
	}
	changed, err := s.book.Ingredients.Change(s.ctx, s.owner, view.Items[0])
	s.must(err)
	if changed.OnHand != 0 || changed.Expired != 30*calc.Kilogram {
		t.Errorf("a change gives %+v", changed)
	}
	s.now = s.now.AddDate(0, 0, 7)
	b, _, err = s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	for _, u := range b.Uses {
		if u.IngredientID == old.ID {
			t.Errorf("the pour took %s of the lye that expired", u.Mass)
		}
	}
}
