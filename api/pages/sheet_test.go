package pages_test

import (
	"net/http"
	"strings"
	"testing"

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

	g.oil.Density = 0.3
	_, err = w.book.Ingredients.Change(t.Context(), a, g.oil)
	w.must(err)
	b.get("/batches/" + batch.ID)
	b.wants(http.StatusOK, ".weights .error", "Rapeseed oil, density: must lie between")
	b.wants(http.StatusOK, ".cautions", "never pour water onto lye")
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
