package pages_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"ripeline/calc"
	"ripeline/orders"
)

// The page shows, in grams, what the API answers in milligrams.
func TestBatchPageShowsTheSheet(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.batch(a, orders.BatchPlanned)
	sheet, err := w.book.Sheet(t.Context(), a, batch.ID)
	w.must(err)
	grams := func(m calc.Mass) string {
		if m >= calc.Kilogram {
			return m.Grams(0) + " g"
		}
		return m.Grams(1) + " g"
	}
	b.get("/batches/" + batch.ID)
	table := func(caption string) string {
		return b.page.Find(".weights table").FilterFunction(func(_ int, s *goquery.Selection) bool {
			return s.Find("caption").Text() == caption
		}).Text()
	}
	for caption, masses := range map[string][]calc.Mass{
		"Oils": {sheet.Weights.Oils[0].Mass},
		"Lye":  {sheet.Weights.Lye.Water, sheet.Weights.Lye.NaOH},
		"Pots": {sheet.Pots[0].Mass, sheet.Pots[1].Mass},
	} {
		for _, m := range masses {
			if got := table(caption); !strings.Contains(got, grams(m)) {
				t.Errorf("%s shows %q, want %s in it", caption, got, grams(m))
			}
		}
	}
	b.wants(http.StatusOK, ".weights", grams(sheet.Weights.Batter.Mass)+" of batter")
	b.wants(http.StatusOK, ".weights", calc.DeferNotice)
	for _, c := range sheet.Cautions {
		b.wants(http.StatusOK, ".cautions", c.Text)
		b.wants(http.StatusOK, ".cautions", c.Source)
	}
	b.wants(http.StatusOK, "figure.cut figcaption", sheet.Cuts[0].Mold)

	g.oil.Kind, g.oil.SVUsed, g.oil.SVLow, g.oil.SVHigh = orders.KindOther, 0, 0, 0
	_, err = w.book.Ingredients.Change(t.Context(), a, g.oil)
	w.must(err)
	b.get("/batches/" + batch.ID + "/sheet")
	b.wants(http.StatusOK, ".worksheet .error", "There are no weights: the oils of")
	b.wants(http.StatusOK, ".cautions", "never pour water onto lye")
	b.get("/designs/" + g.design.ID)
	b.wants(http.StatusOK, "main", "It can not be planned or promised, for its recipe can not be worked out: the oils of")
}

// TestReadingsOfTwoPeople has two people with one sheet open: neither takes away
// what the other has noted, and what can not be noted keeps all of it from being
// noted.
func TestReadingsOfTwoPeople(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ines, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	page := "/batches/" + w.batch(a, orders.BatchPlanned).ID + "/sheet"
	tove := w.colleague(a, orders.Helper)
	reads := func(b *browser, item, want string) {
		t.Helper()
		if got := b.page.Find(`[name="`+item+`"]`).AttrOr("value", ""); got != want {
			t.Errorf("%s is %q, want %q", item, got, want)
		}
	}
	ines.get(page)
	tove.get(page)
	ines.submit("#readings form", url.Values{"oils_temp": {"40"}})
	tove.submit("#readings form", url.Values{"trace": {"9"}})
	reads(tove, "oils_temp", "40")
	tove.wants(http.StatusOK, "#readings", "Oils when combined: 40 °C, noted by Inês")

	ines.submit("#readings form", url.Values{"trace": {"12"}}) // she has not seen the 9
	ines.wants(http.StatusConflict, ".problems", "Minutes to trace was noted by")
	ines.wants(http.StatusConflict, "#readings", "Minutes to trace: 9 min, noted by")
	reads(ines, "trace", "12")
	ines.submit("#readings form", url.Values{})
	ines.wants(http.StatusOK, "#readings", "Minutes to trace: 12 min, noted by Inês")

	ines.submit("#readings form", url.Values{"oils_temp": {"41"}, "trace": {"9999"}})
	ines.rejects("trace", "must be more than 0")
	tove.get(page)
	reads(tove, "oils_temp", "40")
}

// TestTickOfAnotherWeight ticks the lye, then changes the recipe: the sheet shows
// the new weight as not done, and what was ticked; a page of before ticks nothing.
func TestTickOfAnotherWeight(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.batch(a, orders.BatchPlanned)
	lye := `.work li:contains("Lye (NaOH)")`
	b.get("/batches/" + batch.ID + "/sheet")
	stale := url.Values{"tick": {"naoh"}, "weight.naoh": {b.page.Find(`[name="weight.naoh"]`).AttrOr("value", "")}}
	b.post("/batches/"+batch.ID+"/ticks", stale)
	b.wants(http.StatusOK, lye+".done small", "Inês")
	sheet, err := w.book.Sheet(t.Context(), a, batch.ID)
	w.must(err)
	recipe, err := w.book.Recipes.Get(t.Context(), a, g.design.RecipeID)
	w.must(err)
	recipe.Superfat += 4 * calc.Percent
	_, err = w.book.Recipes.Change(t.Context(), a, recipe)
	w.must(err)
	b.get("/batches/" + batch.ID + "/sheet")
	b.wants(http.StatusOK, lye+":not(.done) .error", "Ticked at "+sheet.Weights.Lye.NaOH.Grams(3)+" g by Inês")
	b.wants(http.StatusOK, ".progress", "0 of")
	b.post("/batches/"+batch.ID+"/ticks", stale)
	b.wants(http.StatusConflict, ".problems", "nothing was ticked")
	b.post("/batches/"+batch.ID+"/ticks", url.Values{"tick": {"naoh"}, "weight.naoh": {b.page.Find(`[name="weight.naoh"]`).AttrOr("value", "")}})
	b.wants(http.StatusOK, lye+".done", b.text(lye+" .mass"))
}

// TestFragranceIsRoundedDown shows the dose of a fragrance, which may be the largest
// safe one, on both sheets of an ounce workshop: never above what was worked out.
func TestFragranceIsRoundedDown(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.batch(a, orders.BatchPlanned)
	cedar, err := w.book.Ingredients.Create(t.Context(), a, orders.Ingredient{Name: "Cedar", Kind: orders.KindFragrance, OnHand: calc.Kilogram})
	w.must(err)
	recipe, err := w.book.Recipes.Get(t.Context(), a, g.design.RecipeID)
	w.must(err)
	recipe.Parts = append(recipe.Parts, orders.RecipePart{IngredientID: cedar.ID, Share: calc.Percent / 10})
	_, err = w.book.Recipes.Change(t.Context(), a, recipe)
	w.must(err)
	shop, err := w.book.Workshop(t.Context(), a)
	w.must(err)
	shop.Units = "imperial"
	_, err = w.book.ChangeWorkshop(t.Context(), a, shop)
	w.must(err)
	sheet, err := w.book.Sheet(t.Context(), a, batch.ID)
	w.must(err)
	dose := sheet.Weights.Added[0].Mass
	for page, at := range map[string]string{"": `.weights tr:contains("Cedar") td`, "/sheet": `.work li:contains("Cedar") .mass`} {
		b.get("/batches/" + batch.ID + page)
		var thousandths int64
		if _, err := fmt.Sscanf(strings.Replace(b.text(at), ".", "", 1), "%d oz", &thousandths); err != nil {
			t.Fatalf("%s shows %q: %v", page, b.text(at), err)
		}
		const ounce = 28_349.523125 // milligrams, by definition
		if over := float64(thousandths)*ounce/1000 - float64(dose); over > 0 || over < -ounce/1000 {
			t.Errorf("%s shows %s of %s: %.1f mg over", page, b.text(at), dose, over)
		}
	}
}

// Weighings along 88 + 12 e^(-0.1 t) grams, t in days from the cut (derived).
func TestBatchPageDrawsTheCure(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.poured(a)
	w.now = batch.Cut.To
	batch, _, err := w.book.Cut(t.Context(), a, batch.ID, batch.Version, orders.CutFact{})
	w.must(err)
	b.get("/batches/" + batch.ID)
	b.wants(http.StatusOK, "section", "Not weighed yet")
	for i, each := range []calc.Mass{100_000, 93_959, 90_959, 89_469} {
		w.now = batch.CutAt.AddDate(0, 0, 7*i)
		batch, _, err = w.book.Weigh(t.Context(), a, batch.ID, batch.Version, orders.Weighing{Pieces: 2, Mass: 2 * each})
		w.must(err)
	}
	sheet, err := w.book.Sheet(t.Context(), a, batch.ID)
	w.must(err)
	b.get("/batches/" + batch.ID)
	drawn := b.page.Find("polyline")
	if points := strings.Fields(drawn.AttrOr("points", "")); len(points) != len(sheet.Cure.Curve.ByDay) || points[0] != "0,0" {
		t.Errorf("curve %v", points)
	}
	if dots := drawn.Parent().Find("circle"); dots.Length() != 4 || dots.First().AttrOr("cx", "") != "0" {
		t.Errorf("%d weighings are drawn", dots.Length())
	}
	b.wants(http.StatusOK, "section", "At the wrap a piece weighs about "+sheet.Cure.Curve.AtWrap.Grams(1)+" g")
}

// TestWeighingsFromPaperAreTypedInLater notes the later of two weighings first.
func TestWeighingsFromPaperAreTypedInLater(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.poured(a)
	w.now = batch.Cut.To
	batch, _, err := w.book.Cut(t.Context(), a, batch.ID, batch.Version, orders.CutFact{})
	w.must(err)
	w.now = batch.CutAt.AddDate(0, 0, 14)
	local := func(at time.Time) string { return at.In(w.zone).Format("2006-01-02T15:04") }
	weigh := `form[action$="/weigh"]`
	b.get("/batches/" + batch.ID)
	if got := b.page.Find(weigh+` [name="weighed_at"]`).AttrOr("value", ""); got != local(w.now) {
		t.Errorf("the form offers %q, want now, %q", got, local(w.now))
	}
	b.submit(weigh, url.Values{"pieces": {"1"}, "mass_mg": {"108"}})
	b.submit(weigh, url.Values{"weighed_at": {local(batch.CutAt.AddDate(0, 0, 7))}, "pieces": {"1"}, "mass_mg": {"120"}})
	rows := b.page.Find("#weigh ~ .scroll tbody tr")
	want := []string{"120.0 gfirst", "108.0 g10.0 %"}
	for i, end := range want {
		if got := strings.TrimSuffix(rows.Eq(i).Text(), "Take back"); !strings.HasSuffix(got, end) {
			t.Errorf("row %d is %q, want it to end in %q", i, got, end)
		}
	}
	if rows.Length() != len(want) {
		t.Errorf("%d rows, want %d", rows.Length(), len(want))
	}
	back := func(row int) {
		b.submit(`form[action$="/unweigh"]:has([name="number"][value="`+strconv.Itoa(row)+`"])`, nil)
	}
	back(1) // the first written down, which stands below
	b.wants(http.StatusOK, ".flash", "Took back a weighing")
	if rows := b.page.Find("#weigh ~ .scroll tbody tr"); rows.Length() != 1 || !strings.Contains(rows.Text(), "120.0 g") {
		t.Errorf("left is %q, want the weighing of 120 g", rows.Text())
	}
	b.submit(weigh, url.Values{"pieces": {"3"}, "mass_mg": {"9000"}})
	b.rejects("mass_mg", "by the recipe one weighs about")
}
