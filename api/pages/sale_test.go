package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// TestFragranceFromAnEmptyWorkshop writes a certificate, is refused a blend over
// it, uses the share that the refusal names, records a trial, and then tightens the certificate.
func TestFragranceFromAnEmptyWorkshop(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	b.get("/ingredients/new")
	b.submit("form.sheet", url.Values{
		"name": {"Sea rose"}, "kind": {"fragrance"}, "label_name": {"Parfum"}, "fragrance.limit": {"max"}, "fragrance.max_ppm": {"3"},
		"fragrance.behaviour": {"thickens"}, "fragrance.allergens[0].name": {"Linalool"}, "fragrance.allergens[0].share_ppm": {"20"},
	})
	b.rejects("fragrance.reference", "give the certificate's number")
	b.submit("form.sheet", url.Values{"fragrance.reference": {"sheet 4"}, "fragrance.dated": {"2026-03-01"}, "price_minor_per_kg": {"90.00"}})
	b.wants(http.StatusOK, ".list", "Sea rose")

	b.get("/recipes/" + g.recipe.ID)
	rose := optionOf(b, "parts[1].ingredient_id", "Sea rose")
	b.submit("form.sheet", url.Values{"parts[1].ingredient_id": {rose}, "parts[1].share_ppm": {"6"}})
	b.rejects("parts[1].share_ppm", "its largest safe share is 3 %")
	_, rest, _ := strings.Cut(b.page.Find("#f-parts-1-share_ppm-error").Text(), "Use at most ")
	most, _, _ := strings.Cut(rest, " %")
	b.submit("form.sheet", url.Values{"parts[1].share_ppm": {most}})
	b.get("/recipes/" + g.recipe.ID)
	b.wants(http.StatusOK, "#fragrance ~ .pairs", "its own limit 3 %; at most "+most+" % of the oils")
	b.wants(http.StatusOK, "main", "A trial is needed before the next real pour. Sea rose thickens the batter.")
	b.wants(http.StatusOK, "main", "Allergens that a label names: Linalool")
	b.get(b.page.Find(`a[href^="/trials/new"]`).AttrOr("href", ""))
	b.submit("form.sheet", url.Values{"verdict": {"unfit"}})
	b.rejects("notes", "say what was wrong")
	b.submit("form.sheet", url.Values{"verdict": {"fit"}})
	b.wants(http.StatusOK, ".list", "With Sea rose")
	b.get("/designs/" + g.design.ID)
	b.wants(http.StatusOK, "#sale ~ .plain", "Last trial, Wed 25 Nov: fit to pour.")
	o := w.order(a, g, 20, 60)
	planned := w.batch(a, orders.BatchPlanned)

	b.get("/ingredients/" + rose)
	b.submit("form.sheet", url.Values{"fragrance.max_ppm": {"1"}})
	const most1 = "its largest safe share is 1 %"
	for _, path := range []string{"/designs/" + g.design.ID, "/recipes/" + g.recipe.ID, "/orders/" + o.ID} {
		b.get(path)
		b.wants(http.StatusOK, ".problems", most1)
	}
	b.get("/batches/" + planned.ID)
	b.wants(http.StatusOK, ".line", "Cancelled")
	b.get("/promise?" + url.Values{"lines[0].design_id": {g.design.ID}, "lines[0].pieces": {"20"}, "needed_by": {w.today().AddDays(80).String()}}.Encode())
	b.wants(http.StatusOK, ".answer.no", most1)
	b.wants(http.StatusOK, ".answer.no", "can not be promised for any date")
	b.wants(http.StatusOK, `.cards a[href="/recipes/`+g.recipe.ID+`"]`, "Open the recipe "+g.recipe.Name)
	b.wants(http.StatusOK, ".cards", "could then be ready on")
	if strings.Contains(b.text("main"), "It is not certain") || b.page.Find(`.cards a[href^="/promise"]`).Length() > 0 {
		t.Error("a later date is offered for what may not be poured on any")
	}
	for _, path := range []string{"/today", "/orders/" + o.ID} {
		b.get(path)
		b.wants(http.StatusOK, `main a[href="/recipes/`+g.recipe.ID+`"]`, "Open the recipe")
		b.wants(http.StatusOK, "main", "20 pieces have no batch yet. Oat and honey may not be poured: Sea rose makes")
		if strings.Contains(b.text("main"), "Ask for a later date") {
			t.Errorf("%s asks for a later date, which does not help", path)
		}
	}
	b.get("/plan")
	b.wants(http.StatusOK, "main", most1)
}

// TestMissingCertificateIsFlaggedWhereSoapIsSold looks at batch, label, order
// and today.
func TestMissingCertificateIsFlaggedWhereSoapIsSold(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	myrtle, err := w.book.Ingredients.Create(t.Context(), a, orders.Ingredient{
		Name: "Bog myrtle", Kind: orders.KindFragrance, OnHand: calc.Kilogram, Fragrance: orders.Fragrance{Behaviour: orders.Steady},
	})
	w.must(err)
	g.recipe.Parts = append(g.recipe.Parts, orders.RecipePart{IngredientID: myrtle.ID, Share: 2 * calc.Percent})
	_, err = w.book.Recipes.Change(t.Context(), a, g.recipe)
	w.must(err)
	_, err = w.book.Stock.Create(t.Context(), a, orders.Stock{DesignID: g.design.ID, Pieces: 10})
	w.must(err)
	there := w.order(a, g, 10, 50)
	b.get("/orders/" + there.ID)
	b.submit(`form[action$="/hand-over"]`, nil)
	b.wants(http.StatusOK, ".flash.warn", "Bog myrtle has no certificate on file")
	o := w.order(a, g, 20, 60)
	batch := w.batch(a, orders.BatchPlanned)
	for _, path := range []string{"/batches/" + batch.ID, "/batches/" + batch.ID + "/label", "/designs/" + g.design.ID + "/label", "/orders/" + o.ID} {
		b.get(path)
		b.wants(http.StatusOK, ".forsale", "Bog myrtle has no certificate on file")
	}
	w.now = civil.At(o.NeededBy.AddDays(-o.HandOver), 600, w.zone)
	b.get("/today")
	b.wants(http.StatusOK, "main", "Bog myrtle has no certificate on file")
}

// TestPagesAgreeOnTrials looks at list, design and recipe as the plan's need of a
// trial comes and goes.
func TestPagesAgreeOnTrials(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	agree := func(when string, needed bool) {
		t.Helper()
		p, err := w.book.Problem(t.Context(), a)
		w.must(err)
		if p.Designs[0].NeedsTrial != needed {
			t.Errorf("%s: the plan needs a trial %v", when, p.Designs[0].NeedsTrial)
		}
		for path, text := range map[string]string{"/designs": "Needs a trial", "/designs/" + g.design.ID: "A trial is needed", "/recipes/" + g.recipe.ID: "A trial is needed"} {
			b.get(path)
			if got := strings.Contains(b.text("main"), text); got != needed {
				t.Errorf("%s: %s says that a trial is needed: %v", when, path, got)
			}
		}
	}
	told := func(ok bool) {
		t.Helper()
		d, err := w.book.Designs.Get(t.Context(), a, g.design.ID)
		w.must(err)
		d.TrialOK = ok
		_, err = w.book.Designs.Change(t.Context(), a, d)
		w.must(err)
	}
	var err error
	g.recipe.NeedsTrial = true
	g.recipe, err = w.book.Recipes.Change(t.Context(), a, g.recipe)
	w.must(err)
	agree("the recipe asks for one", true)
	told(true)
	agree("ticked as judged good", false)
	told(false)
	_, err = w.book.Trials.Create(t.Context(), a, orders.Trial{RecipeID: g.recipe.ID, Verdict: orders.Fit})
	w.must(err)
	agree("recorded as fit", false)
	myrtle, err := w.book.Ingredients.Create(t.Context(), a, orders.Ingredient{
		Name: "Bog myrtle", Kind: orders.KindFragrance, Fragrance: orders.Fragrance{Behaviour: orders.Thickens},
	})
	w.must(err)
	g.recipe.NeedsTrial, g.recipe.Parts = false, append(g.recipe.Parts, orders.RecipePart{IngredientID: myrtle.ID, Share: 2 * calc.Percent})
	_, err = w.book.Recipes.Change(t.Context(), a, g.recipe)
	w.must(err)
	agree("a fragrance asks for one", true)
}

// TestLabelAndCostPagesShowWhatTheBookSays compares both pages with the use
// cases behind them.
func TestLabelAndCostPagesShowWhatTheBookSays(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	b.get("/workshop")
	b.submit("form.sheet", url.Values{"hourly_rate_minor": {"x"}, "best_before_months": {"-1"}})
	b.rejects("hourly_rate_minor", "must be an amount such as 12.50")
	b.submit("form.sheet", url.Values{"hourly_rate_minor": {"18,5"}, "best_before_months": {"12"}, "markup_ppm": {"30"}, "responsible_person": {"Inês\nQuay 1"}})
	b.wants(http.StatusOK, ".flash", "Settings saved")
	b.get("/ingredients/" + g.oil.ID)
	b.submit("form.sheet", url.Values{"price_minor_per_kg": {"6.101"}})
	b.rejects("price_minor_per_kg", "must be an amount such as 12.50")
	b.submit("form.sheet", url.Values{"price_minor_per_kg": {"6.10"}, "label_name": {"Brassica Oil"}, "soap_name": {"Sodium Rapeseedate"}})
	o := w.order(a, g, 20, 60)
	batch := w.batch(a, orders.BatchPlanned)

	label, err := w.book.BatchLabel(t.Context(), a, batch.ID, orders.LabelQuestion{Names: orders.AsSaponified, Units: orders.LabelBothWays})
	w.must(err)
	b.get("/batches/" + batch.ID + "/label")
	b.submit(`form[method="get"]`, url.Values{"names": {"as_saponified"}, "units": {"both"}})
	for _, want := range []string{label.List, "Sodium Rapeseedate", batch.Lot, strings.TrimPrefix(label.NetText, "Net weight "), "Inês Quay 1"} {
		b.wants(http.StatusOK, ".label", want)
	}
	b.wants(http.StatusOK, ".net", strings.TrimPrefix(label.NetText, "Net weight ")) // one rounding, down, wherever it stands
	b.wants(http.StatusOK, ".decides", calc.DeferNotice)
	b.submit(`form[method="get"]`, url.Values{"weights": {label.Net.Proposed.Grams(0) + " 20 x"}})
	b.rejects("weights", "Weights of wrapped pieces, in g: x is no weight")
	b.submit(`form[method="get"]`, url.Values{"weights": {label.Net.Proposed.Grams(0) + " 20"}})
	b.wants(http.StatusOK, ".weighed", "below the label, which a batch must not be on average")
	b.wants(http.StatusOK, ".weighed", "Piece 220.0 g: short by more than twice the tolerable error. It must not be sold with this label")
	b.wants(http.StatusOK, ".weighed", calc.DeferNotice)
	b.submit(`form[action$="/weights"]`, nil)
	b.wants(http.StatusOK, ".flash", "Its pieces are weighed once they are cut")
	b.wants(http.StatusOK, ".weighed", "Piece 220.0 g") // what was typed is still there
	b.get("/batches/" + batch.ID + "/label?names=inci")
	b.rejects("names", "must be as_added or as_saponified")

	cost, err := w.book.BatchCost(t.Context(), a, batch.ID)
	w.must(err)
	b.get("/batches/" + batch.ID + "/cost")
	for _, m := range []calc.Money{cost.Materials, cost.Labour, cost.Total, cost.Piece} {
		b.wants(http.StatusOK, ".money", orders.MoneyText(m, "EUR"))
	}
	b.wants(http.StatusOK, "#materials + p", "All by the ingredient's price.")
	b.wants(http.StatusOK, ".flash.warn", "Sodium hydroxide has no price")
	quote, err := w.book.OrderCost(t.Context(), a, o.ID)
	w.must(err)
	b.get("/orders/" + o.ID + "/cost")
	if got := b.page.Find("#quotetext").Text(); got != quote.Quote || !strings.Contains(got, "20 × Oat and honey") {
		t.Errorf("the quote on the page is %q", got)
	}
	w.now = batch.Make.To
	_, _, err = w.book.Pour(t.Context(), a, batch.ID, 0, orders.PourFact{})
	w.must(err)
	w.now = batch.Cut.To
	_, _, err = w.book.Cut(t.Context(), a, batch.ID, 0, orders.CutFact{})
	w.must(err)
	b.get("/batches/" + batch.ID + "/label")
	b.submit(`form[method="get"]`, url.Values{"weights": {label.Net.Proposed.Grams(0) + " 20"}})
	b.submit(`form[action$="/weights"]`, nil)
	b.wants(http.StatusOK, ".flash", "Kept with the batch: the weights of 2 pieces")
	b.wants(http.StatusOK, "#kept ~ details", "Piece 220.0 g: short by more than twice")
}

// TestKeptWeightsNameTheWeightThatTheLabelStates: 121 g is 4.2682 oz, and a label
// rounds that down.
func TestKeptWeightsNameTheWeightThatTheLabelStates(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.poured(a)
	w.now = batch.Cut.From
	_, _, err := w.book.Cut(t.Context(), a, batch.ID, batch.Version, orders.CutFact{})
	w.must(err)
	shop, err := w.book.Workshop(t.Context(), a)
	w.must(err)
	shop.Units = "imperial"
	_, err = w.book.ChangeWorkshop(t.Context(), a, shop)
	w.must(err)
	_, err = w.book.KeepWeights(t.Context(), a, batch.ID, orders.WeightQuestion{Declared: 121 * calc.Gram, Weights: []calc.Mass{125 * calc.Gram}})
	w.must(err)
	b.get("/batches/" + batch.ID + "/label")
	b.wants(http.StatusOK, "#kept ~ details", "Mean, against 4.26 oz")
}

// TestStockSaysWhenItsBatchWasWrapped writes a wrap down five days late.
func TestStockSaysWhenItsBatchWasWrapped(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.poured(a)
	w.now = batch.Cut.To
	batch, _, err := w.book.Cut(t.Context(), a, batch.ID, batch.Version, orders.CutFact{})
	w.must(err)
	w.now = batch.Wrap.To.AddDate(0, 0, 5)
	_, _, err = w.book.Wrap(t.Context(), a, batch.ID, batch.Version, orders.WrapFact{At: batch.Wrap.To})
	w.must(err)
	b.get("/batches/" + batch.ID)
	wrapped, _, _ := strings.Cut(b.page.Find("h1 + .line").Text(), " ·")
	day, ok := strings.CutPrefix(wrapped, "Wrapped ")
	if !ok {
		t.Fatalf("the batch is %q, want it wrapped", wrapped)
	}
	b.get("/stock")
	b.wants(http.StatusOK, ".list", "From a batch wrapped "+day)
}

// TestWhatIsOnTheShelfCanNotFail takes an order that is met from the shelf, due
// too soon to pour anything: nothing warns of a batch that could fail.
func TestWhatIsOnTheShelfCanNotFail(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	_, err := w.book.Stock.Create(t.Context(), a, orders.Stock{DesignID: g.design.ID, Pieces: 30})
	w.must(err)
	o := w.order(a, g, 20, 6)
	for path, on := range map[string]string{"/orders": "On the shelf", "/orders/" + o.ID: "On the shelf", "/": "Today"} {
		b.get(path)
		b.wants(http.StatusOK, "main", on)
		if strings.Contains(b.page.Find("main").Text(), "o second try") {
			t.Errorf("%s warns of an order that waits for no batch", path)
		}
	}
	made := w.order(a, g, 20, 45)
	b.get("/orders/" + made.ID)
	if strings.Contains(b.page.Find("main").Text(), "On the shelf") {
		t.Error("an order that waits for a batch is said to be on the shelf")
	}
}
