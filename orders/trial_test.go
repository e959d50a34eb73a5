package orders_test

import (
	"slices"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TestFragranceAsksForATrialUntilOneIsFit follows a recipe through its trials,
// as the planner sees them.
func TestFragranceAsksForATrialUntilOneIsFit(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	resin := s.certified("Resin", 5*calc.Percent)
	resin.Fragrance.Behaviour = orders.Thickens
	resin, err := s.book.Ingredients.Change(s.ctx, s.owner, resin)
	s.must(err)
	r, err := s.scented("RES", map[string]calc.PPM{resin.ID: 3 * calc.Percent}, resin.ID)
	s.must(err)
	s.design, err = s.designOf(r, "RES")
	s.must(err)
	s.take(s.wants(20, 80))

	judge := func(v orders.Verdict, notes string) orders.Trial {
		t.Helper()
		trial, err := s.book.Trials.Create(s.ctx, s.owner, orders.Trial{RecipeID: r.ID, Verdict: v, Notes: notes})
		s.must(err)
		return trial
	}
	wants := func(when string, trial bool, blocked string) {
		t.Helper()
		d := s.plannedDesign()
		if d.NeedsTrial != trial || (blocked == "") != (d.Blocked == "") || !strings.Contains(d.Blocked, blocked) {
			t.Errorf("%s: needs a trial %v, blocked %q; want %v, %q", when, d.NeedsTrial, d.Blocked, trial, blocked)
		}
		waiting, err := s.book.Proposals(s.ctx, s.owner)
		s.must(err)
		if len(waiting) > 0 { // close at hand, it moves with a yes only
			_, err = s.book.TakeProposal(s.ctx, s.owner, waiting[0].ID)
			s.must(err)
		}
		open := 0
		for _, task := range s.tasks() {
			if task.Kind == orders.TaskTrial && task.Status == orders.TaskOpen {
				open++
			}
		}
		if (open == 1) != (trial && blocked == "") {
			t.Errorf("%s: %d open trials in the calendar", when, open)
		}
	}
	wants("before any", true, "")
	first := judge(orders.Again, "too cold to tell")
	if len(first.FragranceIDs) != 1 || first.FragranceIDs[0] != resin.ID || first.JudgedOn != s.today() {
		t.Errorf("recorded %+v", first)
	}
	wants("after one that told nothing", true, "")
	bad := judge(orders.Unfit, "It seized in the pot.")
	wants("after an unfit one", true, "judged unfit (It seized in the pot)")
	if n := len(s.batches(orders.BatchPlanned)); n != 0 {
		t.Errorf("%d batches are planned after an unfit trial", n)
	}
	judge(orders.Fit, "")
	wants("after a fit one", false, "")

	other := s.fragrance(orders.Ingredient{Name: "Kelp"})
	r.Parts = append(r.Parts, orders.RecipePart{IngredientID: other.ID, Share: calc.Percent})
	r, err = s.book.Recipes.Change(s.ctx, s.owner, r)
	s.must(err)
	wants("with one more fragrance", true, "")
	_, _, err = s.book.TrialPassed(s.ctx, s.owner, s.design.ID, 0, true)
	s.must(err)
	wants("after the button", false, "")

	s.must(s.book.Trials.Remove(s.ctx, s.owner, bad.ID, bad.Version))
	page, err := s.book.Trials.List(s.ctx, s.owner, orders.ListQuery{Parent: r.ID})
	s.must(err)
	if len(page.Items) != 3 || page.Items[0].Verdict != orders.Fit || len(page.Items[0].FragranceIDs) != 2 {
		t.Errorf("the record holds %+v", page.Items)
	}
}

// plannedDesign is the shop's design as the planner takes it.
func (s *shop) plannedDesign() schedule.Design {
	s.t.Helper()
	p, err := s.book.Problem(s.ctx, s.owner)
	s.must(err)
	for _, d := range p.Designs {
		if d.ID == s.design.ID {
			return d
		}
	}
	s.t.Fatal("the planner does not know the design")
	return schedule.Design{}
}

func TestWhatAsksForATrial(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	for _, c := range []struct {
		name string
		in   orders.Fragrance
		why  string
	}{
		{"Steady", orders.Fragrance{Behaviour: orders.Steady}, ""},
		{"Browning", orders.Fragrance{Behaviour: orders.Steady, VanillinShare: 1}, "holds vanillin, which browns"},
		{"Thick", orders.Fragrance{Behaviour: orders.Thickens}, "thickens the batter"},
		{"New", orders.Fragrance{}, "is not known"},
	} {
		i := s.fragrance(orders.Ingredient{Name: c.name, Fragrance: c.in})
		r, err := s.scented(c.name, map[string]calc.PPM{i.ID: calc.Percent}, i.ID)
		s.must(err)
		f, err := s.book.RecipeFragrance(s.ctx, s.owner, r.ID)
		s.must(err)
		if got := strings.Join(f.Trial.Why, " "); f.Trial.Needed != (c.why != "") || !strings.Contains(got, c.why) {
			t.Errorf("%s: needed %v, %q", c.name, f.Trial.Needed, got)
		}
		if browns := len(f.Browns) > 0; browns != (c.in.VanillinShare > 0) {
			t.Errorf("%s: browning is %v", c.name, f.Browns)
		}
	}
}

// TestATrialOfTwoFragrancesCountsInAnyOrder has them in the order of the recipe, as
// an upgrade writes them.
func TestATrialOfTwoFragrancesCountsInAnyOrder(t *testing.T) {
	t.Parallel()
	store := openStore(t)
	s := newShop(t, store)
	ids := []string{s.fragrance(orders.Ingredient{Name: "Kelp"}).ID, s.fragrance(orders.Ingredient{Name: "Resin"}).ID}
	slices.Sort(ids)
	slices.Reverse(ids)
	r, err := s.scented("TWO", map[string]calc.PPM{ids[0]: calc.Percent, ids[1]: calc.Percent}, ids...)
	s.must(err)
	s.design, err = s.designOf(r, "TWO")
	s.must(err)
	s.must(store.Write(s.ctx, s.owner.WorkshopID, func(tx orders.Tx) error {
		return tx.Trials().Insert(s.ctx, &orders.Trial{RecipeID: r.ID, FragranceIDs: ids, JudgedOn: s.today(), Verdict: orders.Fit})
	}))
	if s.plannedDesign().NeedsTrial {
		t.Error("the trial does not count")
	}
}

func TestBadTrialsNameTheirFields(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	good := orders.Trial{RecipeID: s.design.RecipeID, Verdict: orders.Fit}
	for field, spoil := range map[string]func(*orders.Trial){
		"recipe_id": func(t *orders.Trial) { t.RecipeID = s.design.ID },
		"verdict":   func(t *orders.Trial) { t.Verdict = "fine" },
		"judged_on": func(t *orders.Trial) { t.JudgedOn = s.today().AddDays(1) },
		"notes":     func(t *orders.Trial) { t.Verdict = orders.Unfit },
	} {
		bad := good
		spoil(&bad)
		_, err := s.book.Trials.Create(s.ctx, s.owner, bad)
		if got := fieldsOf(t, err); got[field] == "" || len(got) != 1 {
			t.Errorf("%s: complaints at %v", field, got)
		}
	}
	made, err := s.book.Trials.Create(s.ctx, s.owner, good)
	s.must(err)
	made.JudgedOn = civil.Date{Year: 2026, Month: 2, Day: 30}
	if _, err = s.book.Trials.Change(s.ctx, s.owner, made); fieldsOf(t, err)["judged_on"] == "" {
		t.Errorf("30 February is taken: %v", err)
	}
}
