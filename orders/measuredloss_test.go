package orders_test

import (
	"math"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestBarThatDriesMoreThanItsRecipeSays weighs a batch that loses 14 % of its weight
// where the recipe counts on 8 %: of the lighter bar its fragrance is more than its
// certificate allows.
func TestBarThatDriesMoreThanItsRecipeSays(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	rose := s.certified("Sea rose", 3*calc.Percent)
	base, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	base.Name, base.CureLoss, base.CureTarget = "Rose", 8*calc.Percent, 42
	base.Parts = append(base.Parts, orders.RecipePart{IngredientID: rose.ID, Share: 4 * calc.Percent}) // 2.9 % of the batter
	r, err := s.book.Recipes.Create(s.ctx, s.owner, base)
	if err != nil {
		fields := fieldsOf(t, err)
		_, most, _ := strings.Cut(fields["parts[1].share_ppm"], "Use at most ")
		number, _, _ := strings.Cut(most, " %")
		base.Parts[1].Share, err = calc.ParsePercent("share", number)
		s.must(err)
		r, err = s.book.Recipes.Create(s.ctx, s.owner, base)
	}
	s.must(err)
	s.design, err = s.designOf(r, "ROS")
	s.must(err)
	b := s.curing()
	flagged := func() string {
		t.Helper()
		sale, err := s.book.BatchSale(s.ctx, s.owner, b.ID)
		s.must(err)
		return strings.Join(sale.Flags, " ")
	}
	for week := range 6 {
		if got := flagged(); week < 4 && got != "" {
			t.Errorf("after %d weighings it says %q", week, got)
		}
		s.now = b.CutAt.AddDate(0, 0, 7*week)
		mass := calc.Mass(math.Round(1000*(126+20.5*math.Exp(-0.12*7*float64(week))))) * calc.Milligram
		_, _, err := s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 1, Mass: mass, Mark: "blue"})
		s.must(err)
	}
	if got := flagged(); !strings.Contains(got, "not for sale") || !strings.Contains(got, "by its own weighings") {
		t.Errorf("once its curve is known it says %q", got)
	}
	label, err := s.book.BatchLabel(s.ctx, s.owner, b.ID, orders.LabelQuestion{})
	s.must(err)
	if len(label.SaleFlags) == 0 {
		t.Error("its label says nothing of it")
	}
}
