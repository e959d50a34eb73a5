package orders_test

import (
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
)

// TestRecipeThatCanNotBeWorkedOutIsBarred raises the saponification value of an oil
// until the lye of a recipe would not dissolve in its water, and lowers it again.
func TestRecipeThatCanNotBeWorkedOutIsBarred(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	d := s.newDesign("Dense", "DEN", func(r *orders.Recipe) { r.WaterBasis, r.Water = calc.WaterByOils, 15*calc.Percent })
	r, err := s.book.Recipes.Get(s.ctx, s.owner, d.RecipeID)
	s.must(err)
	oil, err := s.book.Ingredients.Get(s.ctx, s.owner, r.Parts[0].IngredientID)
	s.must(err)
	ask := func() *schedule.Answer {
		t.Helper()
		a, err := s.book.Promise(s.ctx, s.owner, orders.Question{NeededBy: s.today().AddDays(60), Lines: []orders.OrderLine{{DesignID: d.ID, Pieces: 20}}})
		s.must(err)
		return a
	}
	if a := ask(); a.Verdict != schedule.Yes {
		t.Fatalf("before, the answer is %s: %s", a.Verdict, reasonsText(a.Reasons))
	}
	oil.SVUsed = 260 // 0.176 g of pure lye to 0.15 g of water: 54 %
	oil, err = s.book.Ingredients.Change(s.ctx, s.owner, oil)
	s.must(err)
	a := ask()
	if text := reasonsText(a.Reasons); a.Verdict != schedule.No || !strings.Contains(strings.ToLower(text), "the recipe dense can not be worked out") {
		t.Errorf("the answer is %s: %s", a.Verdict, text)
	}
	if first := a.Alternatives[0]; first.Kind != schedule.AltMend || first.DesignID != d.ID || !strings.Contains(first.Text, "Change the recipe Dense. ") {
		t.Errorf("it offers %+v first", first)
	}
	bars, err := s.book.Bars(s.ctx, s.owner)
	s.must(err)
	if len(bars) != 1 || bars[0].MendID != r.ID || bars[0].Mend != orders.MendRecipe {
		t.Errorf("barred is %+v", bars)
	}
	oil.SVUsed = 190
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, oil)
	s.must(err)
	if a := ask(); a.Verdict != schedule.Yes {
		t.Errorf("once mended, the answer is %s: %s", a.Verdict, reasonsText(a.Reasons))
	}
}
