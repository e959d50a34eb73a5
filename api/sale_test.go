package api

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
)

// scent makes a fragrance whose certificate allows max parts per million of
// the finished bar.
func (s *shop) scent(name string, max int, behaviour string) orders.Ingredient {
	s.t.Helper()
	return want[orders.Ingredient](s.t, s.send(http.MethodPost, "/ingredients", map[string]any{
		"name": name, "kind": "fragrance", "label_name": "Parfum", "on_hand_mg": 1_000_000, "price_minor_per_kg": 9_000,
		"fragrance": map[string]any{
			"limit": "max", "max_ppm": max, "reference": "sheet of " + name, "dated": "2026-03-01", "behaviour": behaviour,
			"allergens": []map[string]any{{"name": "Linalool", "share_ppm": 200_000}},
		},
	}), http.StatusCreated)
}

// TestFragranceByTheAPI goes from an empty workshop to a certificate that ends a
// design's planning.
func TestFragranceByTheAPI(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	rose := s.scent("Sea rose", 30_000, "thickens")
	recipe := want[orders.Recipe](t, s.send(http.MethodGet, "/recipes/"+g.recipe, nil), http.StatusOK)
	recipe.Parts = append(recipe.Parts, orders.RecipePart{IngredientID: rose.ID, Share: 6 * calc.Percent})
	path := "/recipes/" + recipe.ID
	wrong := refused(t, s.send(http.MethodPut, path, recipe, "If-Match", etag(recipe.Version)), http.StatusUnprocessableEntity)
	if len(wrong.Errors) != 1 || wrong.Errors[0].Location != "body.parts[1].share_ppm" || !strings.Contains(wrong.Errors[0].Message, "largest safe share is 3 %") {
		t.Errorf("refused with %+v", wrong.Errors)
	}
	recipe.Parts[1].Share = 3 * calc.Percent
	recipe = want[orders.Recipe](t, s.send(http.MethodPut, path, recipe, "If-Match", etag(recipe.Version)), http.StatusOK)
	x := want[orders.RecipeFragrance](t, s.send(http.MethodGet, path+"/fragrance", nil), http.StatusOK)
	if x.Safe == nil || !*x.Safe || !x.Trial.Needed || len(x.Allergens) != 1 || !x.Allergens[0].Named || x.Parts[0].Most == nil || *x.Parts[0].Most <= 3*calc.Percent {
		t.Errorf("the fragrance stands at %+v", x)
	}
	s.make("/trials", map[string]any{"recipe_id": recipe.ID, "verdict": "fit"})
	listed := want[orders.Page[orders.Trial]](t, s.send(http.MethodGet, "/trials?verdict=fit&recipe_id="+recipe.ID, nil), http.StatusOK)
	if len(listed.Items) != 1 || listed.Items[0].FragranceIDs[0] != rose.ID {
		t.Errorf("trials: %+v", listed.Items)
	}
	if x = want[orders.RecipeFragrance](t, s.send(http.MethodGet, path+"/fragrance", nil), http.StatusOK); x.Trial.Needed {
		t.Errorf("a trial is still needed: %+v", x.Trial)
	}
	rose.Fragrance.Max = calc.Percent
	want[orders.Ingredient](t, s.send(http.MethodPut, "/ingredients/"+rose.ID, rose, "If-Match", etag(rose.Version)), http.StatusOK)
	answer := want[schedule.Answer](t, s.send(http.MethodPost, "/promise", map[string]any{
		"needed_by": "2027-02-20", "lines": []map[string]any{{"design_id": g.design, "pieces": 10}},
	}), http.StatusOK)
	if answer.Verdict != schedule.No || !strings.Contains(answer.Reasons[0].Text, "largest safe share is 1 %") {
		t.Errorf("the promise answers %+v", answer)
	}
	if first := answer.Alternatives[0]; first.Kind != schedule.AltMend || first.DesignID != g.design || first.Ready.IsZero() {
		t.Errorf("it offers %+v first", first)
	}
	barred := want[orders.Page[orders.Bar]](t, s.send(http.MethodGet, "/plan/barred", nil), http.StatusOK).Items
	if len(barred) != 1 || barred[0].DesignID != g.design || barred[0].Mend != orders.MendRecipe || barred[0].MendID != g.recipe {
		t.Errorf("barred is %+v", barred)
	}
	wrong = refused(t, s.send(http.MethodPost, "/orders", g.accepted(g.orderBody(10, "2027-02-20"))), http.StatusUnprocessableEntity)
	if len(wrong.Errors) != 1 || wrong.Errors[0].Location != "body.lines[0].design_id" {
		t.Errorf("an order is refused with %+v", wrong.Errors)
	}
}

// TestHandingOverWhatIsNotForSaleSaysSo gives a customer soap whose fragrance has no
// certificate: it is done, and the answer says what stands against it.
func TestHandingOverWhatIsNotForSaleSaysSo(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	s.make("/stock", map[string]any{"design_id": g.design, "pieces": 40})
	myrtle := want[orders.Ingredient](t, s.send(http.MethodPost, "/ingredients", map[string]any{
		"name": "Bog myrtle", "kind": "fragrance", "on_hand_mg": 1_000_000, "fragrance": map[string]any{"behaviour": "steady"},
	}), http.StatusCreated)
	recipe := want[orders.Recipe](t, s.send(http.MethodGet, "/recipes/"+g.recipe, nil), http.StatusOK)
	recipe.Parts = append(recipe.Parts, orders.RecipePart{IngredientID: myrtle.ID, Share: 2 * calc.Percent})
	want[orders.Recipe](t, s.send(http.MethodPut, "/recipes/"+recipe.ID, recipe, "If-Match", etag(recipe.Version)), http.StatusOK)
	o := want[orderAnswer](t, s.send(http.MethodPost, "/orders", g.accepted(g.orderBody(30, "2027-02-20"))), http.StatusCreated).Order
	sale := want[orders.SaleCheck](t, s.send(http.MethodGet, "/orders/"+o.ID+"/sale", nil), http.StatusOK)
	for _, bad := range []string{"2030-01-01", "2026-02-30"} {
		wrong := refused(t, s.send(http.MethodPost, "/orders/"+o.ID+"/hand-over", map[string]any{"left_on": bad}, "If-Match", etag(o.Version)), http.StatusUnprocessableEntity)
		if len(wrong.Errors) != 1 || wrong.Errors[0].Location != "body.left_on" {
			t.Errorf("a hand-over on %s is refused with %+v", bad, wrong.Errors)
		}
	}
	gone := want[orderAnswer](t, s.send(http.MethodPost, "/orders/"+o.ID+"/hand-over", nil, "If-Match", etag(o.Version)), http.StatusOK)
	said := gone.PlanChange.Warnings
	if gone.Order.Status != orders.HandedOver || gone.Order.LeftOn.IsZero() || len(said) != 1 || !strings.Contains(said[0], "Bog myrtle has no certificate on file") || !slices.Equal(said, sale.Flags) {
		t.Errorf("the order is %s with the warnings %q, its sale check said %q", gone.Order.Status, said, sale.Flags)
	}
}

// TestLabelAndCostByTheAPI drafts a label and a quote from an empty workshop.
func TestLabelAndCostByTheAPI(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	w := want[orders.Workshop](t, s.send(http.MethodGet, "/workshop", nil), http.StatusOK)
	w.HourlyRate, w.Markup, w.Responsible, w.BestBefore = 1800, 30*calc.Percent, "Quay 1", 12
	want[orders.Workshop](t, s.send(http.MethodPut, "/workshop", w, "If-Match", etag(w.Version)), http.StatusOK)
	o := want[orderAnswer](t, s.send(http.MethodPost, "/orders", g.accepted(g.orderBody(30, "2027-02-20"))), http.StatusCreated).Order
	b := s.firstBatch()
	for query, list := range map[string]string{
		"":                     "Olea Europaea Fruit Oil, Aqua, Sodium Hydroxide",
		"?names=as_saponified": "Sodium Olivate, Glycerin, Aqua",
	} {
		l := want[orders.Label](t, s.send(http.MethodGet, "/batches/"+b.ID+"/label"+query, nil), http.StatusOK)
		if l.List != list || l.Lot != b.Lot || l.Net == nil || l.BestBefore.IsZero() || len(l.Missing) > 0 {
			t.Errorf("%s: %+v", query, l)
		}
	}
	refused(t, s.send(http.MethodGet, "/designs/"+g.design+"/label?names=inci", nil), http.StatusUnprocessableEntity)
	l := want[orders.Label](t, s.send(http.MethodGet, "/designs/"+g.design+"/label?units=imperial", nil), http.StatusOK)
	if !strings.HasSuffix(l.NetText, " oz") || l.Lot != "" {
		t.Errorf("the design's label is %+v", l)
	}
	for _, path := range []string{"/batches/" + b.ID + "/cost", "/designs/" + g.design + "/cost"} {
		c := want[orders.Cost](t, s.send(http.MethodGet, path, nil), http.StatusOK)
		if c.Materials+c.Packaging+c.Labour != c.Total || c.Labour == 0 || len(c.Missing) == 0 {
			t.Errorf("%s: %+v", path, c)
		}
	}
	c := want[orders.OrderCost](t, s.send(http.MethodGet, "/orders/"+o.ID+"/cost", nil), http.StatusOK)
	if c.Quote == "" || c.Price < c.Total || c.Lines[0].Ordered != 30 {
		t.Errorf("the order costs %+v", c)
	}
	for _, path := range []string{"/batches/" + b.ID + "/sale", "/orders/" + o.ID + "/sale"} {
		if x := want[orders.SaleCheck](t, s.send(http.MethodGet, path, nil), http.StatusOK); x.Flags == nil || len(x.Flags) > 0 {
			t.Errorf("%s: %+v", path, x)
		}
	}
}
