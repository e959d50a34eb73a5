package pages_test

import (
	"net/http"
	"strconv"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestPartFullMoldIsDrawnAsItIsPoured orders few pieces of a loaf, a slab and a
// cavity mold: the batch and its sheet draw those that are poured, and the rest empty.
func TestPartFullMoldIsDrawnAsItIsPoured(t *testing.T) {
	t.Parallel()
	const mm = calc.Millimetre
	for name, c := range map[string]struct {
		mold                                 orders.Mold
		cut                                  orders.CutPlan
		poured, empty, spots, knives, filled int // rectangles and lines; tenths of a millimetre
		words, fill                          string
	}{
		"loaf": {
			orders.Mold{Kind: calc.MoldLoaf, Length: 600 * mm, Width: 90 * mm, Depth: 65 * mm},
			orders.CutPlan{Thickness: 30 * mm, TrimEnds: 5 * mm, PiecesPerSlice: 1, Spacing: mm, DressingClear: 3 * mm},
			1, 1, 7, 8, 2200, "set a divider 220 mm from one end", "full height up to a divider, for 7 of its 19 slices",
		},
		"slab": {
			orders.Mold{Kind: calc.MoldSlab, Length: 500 * mm, Width: 300 * mm, Depth: 30 * mm},
			orders.CutPlan{Rows: 3, Columns: 8, TrimEnds: 10 * mm, Spacing: mm, DressingClear: 3 * mm},
			1, 1, 9, 8, 2000, "set a divider 200 mm from one end", "full height up to a divider, for 3 of its 8 columns",
		},
		"cavity": {
			orders.Mold{Kind: calc.MoldCavity, Length: 75 * mm, Width: 55 * mm, Cavities: 20, CavityVolume: 60 * calc.Millilitre},
			orders.CutPlan{PiecesPerSlice: 1, Spacing: mm},
			7, 13, 0, 0, 750, "Fill 7 of its 20 cavities", "7 of 20 cavities",
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := newWorld(t)
			b, a := w.owner()
			g := w.furnish(a)
			c.mold.Name, c.mold.Count = "Mold", 1
			mold, err := w.book.Molds.Create(t.Context(), a, c.mold)
			w.must(err)
			g.design, err = w.book.Designs.Create(t.Context(), a, orders.Design{Name: "Small", LotCode: "SML", RecipeID: g.recipe.ID, MoldIDs: []string{mold.ID}, Cut: c.cut})
			w.must(err)
			w.order(a, g, 7, 60)
			batch := w.batch(a, orders.BatchPlanned)
			for page, left := range map[string]string{"/batches/" + batch.ID: "g is left over: these weights are worked out", "/batches/" + batch.ID + "/sheet": "Left over0.0 g"} {
				b.get(page)
				b.wants(http.StatusOK, "main", left)
				b.wants(http.StatusOK, "figure.cut", c.words)
				b.wants(http.StatusOK, "main", "1 × Mold, "+c.fill)
				drawing := b.page.Find("figure.cut svg")
				for sel, want := range map[string]int{".poured": c.poured, ".empty": c.empty, ".spot": c.spots, ".knife": c.knives} {
					if got := drawing.Find(sel).Length(); got != want {
						t.Errorf("%s draws %d of %s, want %d", page, got, sel, want)
					}
				}
				if got := drawing.Find(".poured").First().AttrOr("width", ""); got != strconv.Itoa(c.filled) {
					t.Errorf("%s: poured over %s, want %d", page, got, c.filled)
				}
				if at := drawing.Find(".divider").AttrOr("x1", "none"); c.mold.Kind != calc.MoldCavity && at != strconv.Itoa(c.filled) {
					t.Errorf("%s: the divider is drawn at %s, want %d", page, at, c.filled)
				}
			}
		})
	}
}

// TestMoldsFilledUnlikeAreDrawnApart pours 39 bars into two loaves of 24: one is
// full and one is not, and what holds of both is said once. Changed to give
// two bars a slice, they do not give 39 any more.
func TestMoldsFilledUnlikeAreDrawnApart(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 37, 60)
	batch := w.batch(a, orders.BatchPlanned)
	part := "1 × Long loaf, full height up to a divider, for 15 of its 24 slices"
	for page, each := range map[string]string{"": ", ", "/sheet": ""} {
		b.get("/batches/" + batch.ID + page)
		sheet, err := w.book.Sheet(t.Context(), a, batch.ID)
		w.must(err)
		b.wants(http.StatusOK, "main", "1 × Long loaf, full"+each+sheet.Fills[0].Batter.Mass.Grams(0)+" g")
		b.wants(http.StatusOK, "main", part+each+sheet.Fills[1].Batter.Mass.Grams(0)+" g")
		b.wants(http.StatusOK, "figure.cut:nth-of-type(1)", "Long loaf: 24 pieces")
		b.wants(http.StatusOK, "figure.cut:nth-of-type(2)", "Long loaf: 15 pieces")
		if said := b.page.Find(`figure.cut li:contains("Each piece")`).Length(); said != 1 || b.page.Find("figure.cut .divider").Length() != 1 {
			t.Errorf("%s says %d times how large a piece is: %s", page, said, b.text("#cuts ~ figure"))
		}
	}
	batch, _, err := w.book.Pin(t.Context(), a, batch.ID, batch.Version, true)
	w.must(err)
	g.design.Cut.PiecesPerSlice = 2
	g.design, err = w.book.Designs.Change(t.Context(), a, g.design)
	w.must(err)
	for _, page := range []string{"", "/sheet"} {
		b.get("/batches/" + batch.ID + page)
		b.wants(http.StatusOK, ".problems", "poured like this it gives 1 piece more than its batch has")
	}
}

// TestMoldsFilledAlikeAreDrawnOnce says how much goes into each of two full loaves.
func TestMoldsFilledAlikeAreDrawnOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 46, 60)
	batch := w.batch(a, orders.BatchPlanned)
	sheet, err := w.book.Sheet(t.Context(), a, batch.ID)
	w.must(err)
	each := (sheet.Fills[0].Batter.Mass / 2).Grams(0) + " g"
	for page, words := range map[string]string{"": "2 × Long loaf, full, " + each + " each", "/sheet": "2 × Long loaf, full, into each" + each} {
		b.get("/batches/" + batch.ID + page)
		b.wants(http.StatusOK, "main", words)
		if got := b.text("figure.cut figcaption"); got != "Long loaf: 24 pieces, in each of 2" {
			t.Errorf("%s draws %q", page, got)
		}
	}
}
