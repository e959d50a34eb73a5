package orders_test

import (
	"errors"
	"testing"

	"ripeline/orders"
)

// TestNoTwoIngredientsOfOneName refuses a name that is on the list, at its field,
// and lets one that is there be changed.
func TestNoTwoIngredientsOfOneName(t *testing.T) {
	s := newShop(t, openStore(t))
	cedar, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: "Cedar", Kind: orders.KindFragrance})
	s.must(err)
	other, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: "Cedar, Atlas", Kind: orders.KindFragrance})
	s.must(err)
	refused := func(err error) {
		t.Helper()
		var invalid *orders.Invalid
		if !errors.As(err, &invalid) || len(invalid.Fields) != 1 || invalid.Fields[0].Field != "name" {
			t.Errorf("a name that is on the list: %v", err)
		}
	}
	_, err = s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: "cedar", Kind: orders.KindBotanical})
	refused(err)
	other.Name = "CEDAR"
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, other)
	refused(err)
	cedar.LeadDays = 7
	cedar, err = s.book.Ingredients.Change(s.ctx, s.owner, cedar)
	s.must(err)
	cedar.Name = "Cedarwood"
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, cedar)
	s.must(err)
}
