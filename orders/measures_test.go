package orders_test

import (
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestMessagesSpeakTheWorkshopsUnits makes a workshop that uses ounces overrun its
// lots and its pieces; an ounce is 28.349523125 g by definition.
func TestMessagesSpeakTheWorkshopsUnits(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	w, err := s.book.Workshop(s.ctx, s.owner)
	s.must(err)
	w.Units = "imperial"
	_, err = s.book.ChangeWorkshop(s.ctx, s.owner, w)
	s.must(err)
	recipe, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	lots, err := s.book.Lots.List(s.ctx, s.owner, orders.ListQuery{Parent: recipe.Parts[0].IngredientID, Limit: 10})
	s.must(err)
	lot := lots.Items[0]
	lot.Received, lot.Left = calc.Kilogram, calc.Kilogram
	lot, err = s.book.Lots.Change(s.ctx, s.owner, lot)
	s.must(err)

	s.take(s.wants(20, 90))
	b := s.batches(orders.BatchPlanned)[0]
	s.now = b.Make.To
	b, change, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	s.ounces(strings.Join(change.Warnings, " "), "No lot on record covers ")

	lot, err = s.book.Lots.Get(s.ctx, s.owner, lot.ID)
	s.must(err)
	lot.Left = 500 * calc.Gram
	_, err = s.book.Lots.Change(s.ctx, s.owner, lot)
	s.ounces(fieldsOf(t, err)["left_mg"], "can be at most 0 oz: of the 35.27 oz received batches used 35.27 oz")

	uses := orders.LotsUsed{Uses: []orders.LotUse{{LotID: lot.ID, Mass: 2 * calc.Kilogram}}}
	_, _, err = s.book.CorrectLots(s.ctx, s.owner, b.ID, 0, uses)
	s.ounces(fieldsOf(t, err)["lots_used[0].used_mg"], "at most 35.27 oz can have come of it")
	uses.Uses[0].Mass, err = calc.ParseMass("", "35.27", calc.UnitOunce)
	s.must(err) // what the message says can be typed
	b, _, err = s.book.CorrectLots(s.ctx, s.owner, b.ID, 0, uses)
	s.must(err)
	s.journalSays(b.ID, "Now it is: Oil for Oat and honey, lot of unknown code, received 2026-11-25, 35.27 oz.")

	s.now = b.Cut.To
	b, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	_, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 1, Mass: 9 * calc.Kilogram})
	s.ounces(fieldsOf(t, err)["mass_mg"], "by the recipe one weighs about 5.")
	_, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 1, Mass: 120 * calc.Gram})
	s.must(err)
	s.journalSays(b.ID, "4.23 oz.")
	_, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, 0, orders.Weighing{Pieces: 1, Mass: 150 * calc.Gram})
	s.ounces(fieldsOf(t, err)["mass_mg"], "at most 4.65 oz is taken") // 132 g is 4.6561 oz
}

// ounces checks that a message holds a part, and no grams.
func (s *shop) ounces(text, part string) {
	s.t.Helper()
	if !strings.Contains(text, part) || !strings.Contains(text, " oz") || strings.Contains(text, " g ") || strings.Contains(text, " kg") {
		s.t.Errorf("%q, want ounces and %q in it", text, part)
	}
}
