package orders_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
)

// tooStrong is the shop's design with so little water that an oil of a higher
// saponification value, which it is then found to have, makes a lye solution
// above 50 %. found says so.
func (s *shop) tooStrong() (found func()) {
	s.t.Helper()
	s.design = s.newDesign("Little water", "LIT", func(r *orders.Recipe) { r.WaterBasis, r.Water = calc.WaterByOils, 14*calc.Percent })
	return func() {
		s.t.Helper()
		r, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
		s.must(err)
		oil, err := s.book.Ingredients.Get(s.ctx, s.owner, r.Parts[0].IngredientID)
		s.must(err)
		oil.SVUsed = 240
		_, err = s.book.Ingredients.Change(s.ctx, s.owner, oil)
		s.must(err)
	}
}

// TestWhatCanNotBeMixedIsNotPlanned has an order of a design whose lye does not
// stay dissolved any more: there would be nothing to weigh on the day of the pour.
func TestWhatCanNotBeMixedIsNotPlanned(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	found := s.tooStrong()
	s.take(s.wants(20, 60))
	enquiry, _, err := s.book.TakeOrder(s.ctx, s.owner, s.wants(10, 90), false)
	s.must(err)
	if len(s.batches(orders.BatchPlanned)) == 0 {
		t.Fatal("nothing was planned")
	}
	found()
	const why = "does not stay dissolved"
	if left := s.batches(orders.BatchPlanned); len(left) != 0 {
		t.Errorf("%s is still planned", left[0].Lot)
	}
	if text := reasonsText(s.plan().Revision.Problems); !strings.Contains(text, why) {
		t.Errorf("the plan says %q", text)
	}
	answer, err := s.book.Promise(s.ctx, s.owner, orders.Question{NeededBy: s.today().AddDays(90), Lines: s.wants(5, 90).Lines})
	s.must(err)
	if answer.Verdict != schedule.No || !strings.Contains(reasonsText(answer.Reasons), why) {
		t.Errorf("the promise answers %s: %s", answer.Verdict, reasonsText(answer.Reasons))
	}
	_, _, err = s.book.TakeOrder(s.ctx, s.owner, s.wants(5, 90), true)
	if got := fieldsOf(t, err)["lines[0].design_id"]; !strings.Contains(got, why) {
		t.Errorf("a new order is refused with %q", got)
	}
	if _, _, err = s.book.AcceptOrder(s.ctx, s.owner, enquiry.ID, 0); !errors.Is(err, orders.ErrConflict) || !strings.Contains(err.Error(), why) {
		t.Errorf("accepting gives %v", err)
	}
	r, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	if _, err = s.designOf(r, "LIU"); !strings.Contains(fieldsOf(t, err)["recipe_id"], why) {
		t.Errorf("a new design of it gives %v", err)
	}
}

// TestBarredBatchLeavesThePlanWhileAChoiceWaits tightens a certificate while the
// ways out of a lost batch wait for a yes: what may not be poured does not wait.
func TestBarredBatchLeavesThePlanWhileAChoiceWaits(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	plain := s.design
	rose := s.certified("Sea rose", 3*calc.Percent)
	r, err := s.scented("ROS", map[string]calc.PPM{rose.ID: 3 * calc.Percent}, rose.ID)
	s.must(err)
	s.design, err = s.designOf(r, "ROS")
	s.must(err)
	scented, _ := s.take(s.wants(20, 60))
	barred := s.batches(orders.BatchPlanned)[0]
	s.design = plain
	s.take(s.wants(24, 90))
	for _, b := range s.batches(orders.BatchPlanned) {
		if b.DesignID == plain.ID {
			_, _, err = s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
			s.must(err)
			_, _, err = s.book.Fail(s.ctx, s.owner, b.ID, 0, orders.FailFact{Reason: "pockets of lye"})
			s.must(err)
			break
		}
	}
	if left := s.batches(orders.BatchPlanned); !slices.ContainsFunc(left, func(b orders.Batch) bool { return b.ID == barred.ID }) {
		t.Fatalf("%s is not planned any more: %v", barred.Lot, left)
	}
	rose.Fragrance.Max = calc.Percent
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, rose)
	s.must(err)
	open, err := s.book.Proposals(s.ctx, s.owner)
	s.must(err)
	if len(open) == 0 {
		t.Fatal("no choice waits any more")
	}
	now, err := s.book.Batch(s.ctx, s.owner, barred.ID)
	s.must(err)
	if now.State != orders.BatchCancelled {
		t.Errorf("%s is %s although it may not be poured", now.Lot, now.State)
	}
	for _, task := range s.tasks() {
		if task.BatchID == barred.ID && task.Status == orders.TaskOpen {
			t.Errorf("%q is still to be done", task.Title)
		}
	}
	for _, out := range s.plan().Outcomes {
		if out.OrderID == scented.ID && out.Short != 20 {
			t.Errorf("its order is short of %d, want all 20", out.Short)
		}
	}
	s.sound(false)
	_, err = s.book.TakeProposal(s.ctx, s.owner, open[0].ID)
	s.must(err)
	s.sound(false)
}

// TestFragranceInARecipeStaysAFragrance tries to call a fragrance something that
// no certificate limits.
func TestFragranceInARecipeStaysAFragrance(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	rose := s.certified("Sea rose", 3*calc.Percent)
	r, err := s.scented("ROS", map[string]calc.PPM{rose.ID: 3 * calc.Percent}, rose.ID)
	s.must(err)
	other := rose
	other.Kind, other.Fragrance = orders.KindOther, orders.Fragrance{}
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, other)
	if got := fieldsOf(t, err)["kind"]; !strings.Contains(got, "ROS") {
		t.Errorf("refused with %q, want the recipe that has it", got)
	}
	r.Parts = r.Parts[:1]
	_, err = s.book.Recipes.Change(s.ctx, s.owner, r)
	s.must(err)
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, other)
	s.must(err)
}

// TestNothingIsWeighedOutOfWhatMayNotBePoured asks for weights of a recipe whose
// certificate was tightened since.
func TestNothingIsWeighedOutOfWhatMayNotBePoured(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	rose := s.certified("Sea rose", 3*calc.Percent)
	r, err := s.scented("ROS", map[string]calc.PPM{rose.ID: 3 * calc.Percent}, rose.ID)
	s.must(err)
	s.design, err = s.designOf(r, "ROS")
	s.must(err)
	s.take(s.wants(20, 60))
	poured, _, err := s.book.Pour(s.ctx, s.owner, s.batches(orders.BatchPlanned)[0].ID, 0, orders.PourFact{})
	s.must(err)
	s.take(s.wants(20, 90))
	left := s.batches(orders.BatchPlanned)[0]
	rose.Fragrance.Max = calc.Percent
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, rose)
	s.must(err)
	const why = "may not be poured"
	if sheet := s.sheet(left); sheet.Weights != nil || !strings.Contains(sheet.Trouble, why) {
		t.Errorf("the sheet of %s says %q and has weights: %t", left.Lot, sheet.Trouble, sheet.Weights != nil)
	}
	s.weights(poured) // what was weighed stays told
	ask := orders.FillQuestion{Molds: []orders.FillMold{{MoldID: s.mold.ID, Units: 1}}}
	if _, err = s.book.FillMolds(s.ctx, s.owner, r.ID, ask); !errors.Is(err, orders.ErrConflict) || !strings.Contains(err.Error(), why) {
		t.Errorf("filling molds with it gives %v", err)
	}
}
