package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"ripeline/orders"
)

// figure is the value beside a name in a table of the page.
func (b *browser) figure(caption, name string) string {
	b.t.Helper()
	var out string
	b.page.Find("table").Each(func(_ int, table *goquery.Selection) {
		if table.Find("caption").Text() != caption {
			return
		}
		table.Find("tr").Each(func(_ int, row *goquery.Selection) {
			if words := strings.Join(strings.Fields(row.Find("th").Text()), " "); strings.HasPrefix(words, name) {
				out = words + " = " + row.Find("td").Text()
			}
		})
	})
	return out
}

func (b *browser) figures(want map[[2]string]string) {
	b.t.Helper()
	for at, value := range want {
		if got := b.figure(at[0], at[1]); !strings.Contains(got, value) {
			b.t.Errorf("%s, %s shows %q, want %s in it", at[0], at[1], got, value)
		}
	}
}

// typeWorkedBatch types the worked batch in: 500 g of olive oil (190), 300 g
// of coconut oil (256.5) and 200 g of palm oil (200 mg KOH per g), with their
// densities at 40 C; superfat 5 %, pure lye, water 2:1. It returns the recipe's path.
func typeWorkedBatch(b *browser) string {
	b.t.Helper()
	recipe := url.Values{
		"name": {"Worked batch"}, "superfat_ppm": {"5"}, "lye_purity_ppm": {"100"}, "lye_concentration_ppm": {""}, "water_ratio": {"2:1"}, "mix_temp_mc": {"40"},
	}
	for i, o := range [][4]string{{"Green olive", "190", "0.8992", "50"}, {"White coconut", "256,5", "0.9089", "30"}, {"Red palm", "200", "0.8977", "20"}} {
		b.get("/ingredients/new")
		b.submit("form.sheet", url.Values{"name": {o[0]}, "kind": {"oil"}, "sv_used": {o[1]}, "density_g_per_ml": {o[2]}, "sv_source": {"the worked example"}})
		b.wants(http.StatusOK, ".list", o[0])
		b.get("/recipes/new")
		part := "parts[" + string(rune('0'+i)) + "]."
		recipe.Set(part+"ingredient_id", optionOf(b, "parts[0].ingredient_id", o[0]))
		recipe.Set(part+"share_ppm", o[3])
	}
	b.get("/recipes/new")
	b.submit("form.sheet", recipe)
	b.wants(http.StatusOK, ".list", "Worked batch")
	return b.page.Find(`.list a.item:contains("Worked batch")`).AttrOr("href", "")
}

// TestWorkedBatchTypedInByHand holds the page against every printed figure of
// the worked batch (derived).
func TestWorkedBatchTypedInByHand(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, _ := w.owner()
	path := typeWorkedBatch(b)
	b.get(path)
	b.wants(http.StatusOK, "#aside", "For 1000.000 g of oils")
	b.figures(map[[2]string]string{
		{"Lye", "Lye (NaOH)"}:                  "143.543 g",
		{"Lye", "The whole need, as NaOH"}:     "151.098 g",
		{"Lye", "or as KOH"}:                   "211.950 g",
		{"Lye", "Water for the lye"}:           "287.087 g",
		{"Lye", "Lye solution"}:                "430.630 g",
		{"Lye", "Lye solution lye 33.33 %"}:    "1.3618 g/ml",
		{"Batter", "Green olive"}:              "500.000 g",
		{"Batter", "White coconut"}:            "300.000 g",
		{"Batter", "Red palm"}:                 "200.000 g",
		{"Batter", "Oils take"}:                "1108.91 ml",
		{"Batter", "Oils and lye solution"}:    "1430.630 g",
		{"Batter", "Oils and lye solution 14"}: "1425.14 ml, 1.0039 g/ml",
		{"Saponification values, mg KOH per g", "White coconut the worked example"}: "256.5",
	})
	if got := b.figure("Lye", "Lye solution"); !strings.Contains(got, "316.2") {
		t.Errorf("the solution is %q, want 316.23 mL in it", got)
	}
	b.submit("form.sheet", url.Values{"lye_purity_ppm": {"97"}})
	b.get(path)
	b.figures(map[[2]string]string{{"Lye", "Lye (NaOH)"}: "147.983 g"})
	b.submit("form.sheet", url.Values{"lye_purity_ppm": {"100"}, "water_ratio": {""}, "water_of_oils": {"28.7087"}})
	b.get(path)
	b.figures(map[[2]string]string{{"Lye", "Water for the lye"}: "287.087 g"})
	b.submit("form.sheet", url.Values{"water_of_oils": {"9"}})
	b.rejects("water_of_oils", "does not stay dissolved")
	b.submit("form.sheet", url.Values{"water_ratio": {"2"}})
	b.rejects("lye_concentration_ppm", "fill in one of them")
}

// TestBadLyeIsRefusedAtItsInput types what can not be into the recipe's page.
func TestBadLyeIsRefusedAtItsInput(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, _ := w.owner()
	path := typeWorkedBatch(b)
	for _, c := range []struct {
		input, typed, message string
	}{
		{"water_ratio", "0,9", "does not stay dissolved"}, // 52.6 %
		{"water_ratio", "plenty", "not a number"},
		{"superfat_ppm", "-5", "must not be negative"},
		{"lye_purity_ppm", "70", "must lie between"},
		{"koh_share_ppm", "10", ""}, // without a purity
		{"koh_share_ppm", "101", "must lie between 0 and 100"},
		{"lye_stock_ppm", "30", "weaker"},
		{"lye_stock_ppm", "55", "must lie between"},
		{"parts[0].share_ppm", "-50", "must not be negative"},
		{"mix_temp_mc", "400", "must lie between"},
	} {
		b.get(path)
		b.submit("form.sheet", url.Values{c.input: {c.typed}})
		at := c.input
		if c.message == "" {
			at = "koh_purity_ppm"
		}
		b.rejects(at, c.message)
		if fold := b.page.Find("details.fold:has([name='" + at + "'])"); fold.Length() > 0 && fold.AttrOr("open", "closed") == "closed" {
			t.Errorf("the group of %s is folded over its message", at)
		}
	}
	b.get("/ingredients/new")
	b.submit("form.sheet", url.Values{"name": {"Odd oil"}, "kind": {"oil"}, "sv_used": {"NaN"}})
	b.rejects("sv_used", "must be a number")
}

// TestReadyMixedAndPotashByThePages keeps lye as a 50 % stock and blends two
// oils, then turns to potash alone.
func TestReadyMixedAndPotashByThePages(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, _ := w.owner()
	path := typeWorkedBatch(b)
	b.get(path)
	b.submit("form.sheet", url.Values{"lye_stock_ppm": {"50"}, "parts[0].blended": {"1"}, "parts[2].blended": {"1"}})
	b.get(path)
	b.figures(map[[2]string]string{
		{"Lye", "or lye stock"}: "287.086 g", {"Lye", "and water to it"}: "143.544 g",
		{"To make up 1000.000 g ahead", "Lye stock: lye"}: "500.000 g", {"To make up 1000.000 g ahead", "Blend: Green olive"}: "714.286 g",
	})
	b.wants(http.StatusOK, "details.fold summary", "lye at 50 %, green olive and red palm")
	b.submit("form.sheet", url.Values{"lye_stock_ppm": {""}, "koh_share_ppm": {"100"}, "koh_purity_ppm": {"90"}})
	b.get(path)
	b.figures(map[[2]string]string{{"Lye", "Potash lye (KOH)"}: "223.725 g"}) // 211.950 g less 5 %, at 90 %
	if got := b.figure("Lye", "Lye (NaOH)"); got != "" {
		t.Errorf("potash alone still shows %q", got)
	}
}

// TestMoldsAreFilledByThePages pours the worked batch into one litre loaf: 425.14 mL
// are left for a second (derived).
func TestMoldsAreFilledByThePages(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, _ := w.owner()
	path := typeWorkedBatch(b)
	b.get("/molds/new")
	b.submit("form.sheet", url.Values{"name": {"Litre loaf"}, "count": {"2"}, "length_um": {"250"}, "width_um": {"80"}, "depth_um": {"50"}, "min_fill_ppm": {"40"}})
	b.get(path + "/fill")
	b.submit("form.sheet", url.Values{"oils_mg": {"1 kg"}, "molds[0].mold_id": {optionOf(b, "molds[0].mold_id", "Litre loaf")}})
	b.wants(http.StatusOK, ".answer", "find no room. They fill one more Litre loaf to 42.5 %")
	b.figures(map[[2]string]string{{"To weigh", "Green olive"}: "500.000 g", {"To weigh", "Batter in all"}: "1430.630 g"})
	b.get(b.page.Find(`.answer a:contains("Add that mold")`).AttrOr("href", ""))
	b.wants(http.StatusOK, ".answer", "are missing")
	b.get(b.page.Find(`.answer a:contains("fill these molds exactly")`).AttrOr("href", ""))
	b.wants(http.StatusOK, ".answer", "nothing is missing")
	b.submit("form.sheet", url.Values{"oils_mg": {"-1"}})
	b.rejects("oils_mg", "must not be negative")
	b.submit("form.sheet", url.Values{"oils_mg": {"0"}})
	b.rejects("oils_mg", "leave it empty for as much as the molds take")
	b.submit("form.sheet", url.Values{"oils_mg": {""}, "molds[0].fill_ppm": {"0"}})
	b.rejects("molds[0].fill_ppm", "leave it empty for full molds")
	b.submit("form.sheet", url.Values{"oils_mg": {""}, "molds[0].fill_ppm": {""}})
	b.wants(http.StatusOK, ".answer", "filled to 100 %")
	b.submit("form.sheet", url.Values{"oils_mg": {""}, "molds[0].mold_id": {""}, "molds[1].mold_id": {""}})
	b.wants(http.StatusUnprocessableEntity, ".problems", "choose at least one mold")

	b.get(path)
	b.submit("form.sheet", url.Values{"superfat_ppm": {"1"}, "lye_purity_ppm": {"97"}})
	b.get(path + "/fill")
	b.submit("form.sheet", url.Values{"molds[0].mold_id": {optionOf(b, "molds[0].mold_id", "Litre loaf")}})
	b.wants(http.StatusOK, ".answer .problems", "Check the purity on the supplier's certificate")
}

// TestSheetIsTickedByThePages ticks without a script, and sees who did it.
func TestSheetIsTickedByThePages(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.batch(a, orders.BatchPlanned)
	b.get("/batches/" + batch.ID)
	b.get(b.page.Find(`a:contains("Work from the sheet")`).AttrOr("href", ""))
	b.wants(http.StatusOK, ".progress", "0 of")
	water := `.work li:contains("Cold water")`
	b.post("/batches/"+batch.ID+"/ticks", url.Values{"tick": {b.page.Find(water+" button").AttrOr("value", "")}})
	b.wants(http.StatusOK, water+".done small", "Inês, Wed 25 Nov 12:00")
	b.wants(http.StatusOK, ".progress", "1 of")
	b.post("/batches/"+batch.ID+"/ticks", url.Values{"untick": {"water"}})
	b.wants(http.StatusOK, ".progress", "0 of")
	b.post("/batches/"+batch.ID+"/ticks", url.Values{"tick": {"the kettle"}})
	b.wants(http.StatusUnprocessableEntity, ".problems", "not on this batch's sheet")
	b.get("/batches/" + batch.ID + "/sheet")
	b.submit("#readings form", url.Values{"oils_temp": {"101.3 F"}, "trace": {"9"}})
	b.wants(http.StatusOK, "#readings", "Oils when combined: 38.5 °C, noted by Inês")
	if got := b.page.Find(`[name="oils_temp"]`).AttrOr("value", ""); got != "38.5" {
		t.Errorf("101.3 °F came back as %s °C, want 38.5", got)
	}
	b.submit("#readings form", url.Values{"lye_temp": {"900"}})
	b.rejects("lye_temp", "must lie between")
}

// TestUnitsAreTheWorkshops reads the same workshop in ounces, inches and
// degrees Fahrenheit, and saves what it reads unchanged.
func TestUnitsAreTheWorkshops(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	path := typeWorkedBatch(b)
	g := w.furnish(a)
	b.get("/workshop")
	b.submit("form.sheet", url.Values{"units": {"imperial"}})
	b.get(path)
	if got := b.page.Find(`[name="mix_temp_mc"]`).AttrOr("value", ""); got != "104" {
		t.Errorf("40 °C reads %s °F, want 104", got)
	}
	b.figures(map[[2]string]string{{"Lye", "Lye (NaOH)"}: "5.063 oz"}) // 143.543 g of 28.3495 g each
	b.submit("form.sheet", nil)
	b.get("/molds/" + g.mold.ID)
	b.submit("form.sheet", nil)
	mold, err := w.book.Molds.Get(t.Context(), a, g.mold.ID)
	w.must(err)
	recipe, err := w.book.Recipes.Get(t.Context(), a, strings.TrimPrefix(path, "/recipes/"))
	w.must(err)
	if mold.Length != g.mold.Length || mold.Depth != g.mold.Depth || recipe.MixTemp != 40_000 {
		t.Errorf("read and saved, the mold is %s long and the batter %d mC", mold.Length, recipe.MixTemp)
	}
}

// TestLessWasteIsOneButton takes the nearest cut that wastes less.
func TestLessWasteIsOneButton(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	path := "/designs/" + g.design.ID
	b.get(path)
	b.submit("form.sheet", url.Values{"cut.thickness_um": {"26"}})
	b.get(path)
	b.wants(http.StatusOK, "figure.cut", "23 slices of 1 piece, likely 22 sound")
	b.wants(http.StatusOK, "figure.cut", "Slices of 25 mm would give 24 pieces")
	b.submit(`form[action$="/less-waste"]`, nil)
	b.wants(http.StatusOK, ".flash", "slices of 25 mm now")
	b.wants(http.StatusOK, "figure.cut", "24 slices")
}
