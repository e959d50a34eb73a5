package orders_test

import (
	"slices"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
)

// inTheWay is what stands in the way of the published plan, and wants Today and the plan
// to say the same.
func (s *shop) inTheWay() []orders.Obstacle {
	s.t.Helper()
	all, err := s.book.Obstacles(s.ctx, s.owner)
	s.must(err)
	today, err := s.book.Today(s.ctx, s.owner)
	s.must(err)
	same := func(a, b orders.Obstacle) bool { return a.BatchID == b.BatchID && a.Text == b.Text }
	if !slices.EqualFunc(all, today.Obstacles, same) || !slices.EqualFunc(all, s.plan().Obstacles, same) {
		s.t.Errorf("in the way is %+v, by Today %+v, by the plan %+v", all, today.Obstacles, s.plan().Obstacles)
	}
	for _, o := range all {
		for _, task := range append(today.Now, today.Tomorrow...) {
			if task.BatchID == o.BatchID && task.Obstacle != o.Text {
				s.t.Errorf("Today says %q at %q, want %q", task.Obstacle, task.Title, o.Text)
			}
		}
		for _, id := range o.OrderIDs {
			if !slices.ContainsFunc(today.Risks, func(x schedule.OrderOutcome) bool { return x.OrderID == id && x.RemakeBy.IsZero() }) {
				s.t.Errorf("an order that waits for %s is no risk: %+v", o.Lot, today.Risks)
			}
		}
	}
	return all
}

// TestPlanThatStandsOnWhatIsGoneSaysSo takes the molds of a pour away that is close at
// hand: while the change waits for a yes, the batch, its tasks and its order say that
// it can not be made as planned, and no more once the change is taken.
func TestPlanThatStandsOnWhatIsGoneSaysSo(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	o, _ := s.take(s.wants(20, 60))
	batch := s.batches(orders.BatchPlanned)[0]
	if found := s.inTheWay(); len(found) != 0 {
		t.Fatalf("something is in the way of what was just planned: %+v", found)
	}
	_, err := s.book.MoldOuts.Create(s.ctx, s.owner, orders.MoldOut{MoldID: s.mold.ID, From: s.today(), To: s.today().AddDays(6), Units: 2})
	s.must(err)
	open, err := s.book.Proposals(s.ctx, s.owner)
	s.must(err)
	if len(open) == 0 {
		t.Fatal("nothing waits for a yes")
	}
	found := s.inTheWay()
	if len(found) != 1 || found[0].BatchID != batch.ID || found[0].Lot != batch.Lot || found[0].Kind != schedule.HoldMold ||
		!strings.Contains(found[0].Text, "1 × Long loaf") || !slices.Equal(found[0].OrderIDs, []string{o.ID}) {
		t.Fatalf("in the way is %+v", found)
	}
	told := 0
	for _, task := range s.tasks() {
		if task.Status == orders.TaskOpen && (task.BatchID == batch.ID || task.OrderID == o.ID) {
			told++
			if !strings.Contains(task.Obstacle, found[0].Text) {
				t.Errorf("%q says %q is in the way, want %q", task.Title, task.Obstacle, found[0].Text)
			}
		}
	}
	if told < 4 { // pour, cut, cure, wrap and the hand-over
		t.Errorf("only %d tasks are open", told)
	}
	_, err = s.book.TakeProposal(s.ctx, s.owner, open[0].ID)
	s.must(err)
	if found := s.inTheWay(); len(found) != 0 {
		t.Errorf("once the change is taken, in the way is %+v", found)
	}
	for _, task := range s.tasks() {
		if task.Status == orders.TaskOpen && task.Obstacle != "" {
			t.Errorf("once the change is taken, %q says %q", task.Title, task.Obstacle)
		}
	}
}

// TestSuppliesThatAreGoneAreInTheWay throws away what a pour close at hand needs.
func TestSuppliesThatAreGoneAreInTheWay(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	recipe, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	oil, err := s.book.Ingredients.Get(s.ctx, s.owner, recipe.Parts[0].IngredientID)
	s.must(err)
	oil.LeadDays = 10
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, oil)
	s.must(err)
	lots, err := s.book.Lots.List(s.ctx, s.owner, orders.ListQuery{Parent: oil.ID})
	s.must(err)
	lot := lots.Items[0]
	lot.Left = 100 * calc.Gram
	_, err = s.book.Lots.Change(s.ctx, s.owner, lot)
	s.must(err)
	found := s.inTheWay()
	if len(found) != 1 || found[0].Kind != schedule.HoldSupplies || !strings.Contains(found[0].Text, "Sat 5 Dec 2026") {
		t.Errorf("in the way is %+v", found)
	}
}

// TestPourThatWasMissedIsInTheWay lets the day of a pour pass: nothing is planned anew
// by itself, so the plan has to say it.
func TestPourThatWasMissedIsInTheWay(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	batch := s.batches(orders.BatchPlanned)[0]
	s.now = batch.Make.To.AddDate(0, 0, 1)
	if found := s.inTheWay(); len(found) != 1 || found[0].Kind != schedule.HoldNow || !strings.HasPrefix(found[0].Text, "It was to be poured on Thu 26 Nov 2026") {
		t.Errorf("in the way is %+v", found)
	}
	change, err := s.book.Replan(s.ctx, s.owner)
	s.must(err)
	if len(change.Proposals) > 0 { // its customer was told an earlier day
		_, err = s.book.TakeProposal(s.ctx, s.owner, change.Proposals[0].ID)
		s.must(err)
	}
	if found := s.inTheWay(); len(found) != 0 {
		t.Errorf("planned again, in the way is %+v", found)
	}
}
