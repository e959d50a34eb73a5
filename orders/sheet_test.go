package orders_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/uuid"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// worked is the worked batch: 500 g of olive oil (saponification value 190),
// 300 g of coconut oil (256.5) and 200 g of palm oil (200), with their densities
// at 40 C. The values are published ranges' middles; every figure the tests
// expect of it is derived from them by hand.
func (s *shop) worked(alter func(*orders.Recipe)) orders.Recipe {
	s.t.Helper()
	r := orders.Recipe{
		Name: "Worked batch", Superfat: 5 * calc.Percent, LyePurity: calc.Whole, LyeConcentration: 333_333, // 1 part in 3: water 2:1
		CutMin: 18, CutMax: 48, CureMin: 28, CureTarget: 28, MakeFixed: 90, CutFixed: 20, WrapFixed: 20, WrapPer: 60,
	}
	for _, o := range []struct {
		name        string
		sv, density float64
		share       calc.PPM
	}{{"Olive", 190, 0.8992, 50}, {"Coconut", 256.5, 0.9089, 30}, {"Palm", 200, 0.8977, 20}} {
		ing, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{
			Name: o.name + " of " + uuid.NewString(), Kind: orders.KindOil, SVUsed: o.sv, Density: o.density, OnHand: 50 * calc.Kilogram,
		})
		s.must(err)
		r.Parts = append(r.Parts, orders.RecipePart{IngredientID: ing.ID, Share: o.share * calc.Percent})
	}
	alter(&r)
	r, err := s.book.Recipes.Create(s.ctx, s.owner, r)
	s.must(err)
	return r
}

// pourOf is a planned batch of the recipe, 12 pieces cast in one hollow that
// holds so much.
func (s *shop) pourOf(r orders.Recipe, hollow calc.Volume, colours ...orders.Colour) orders.Batch {
	s.t.Helper()
	mold, err := s.book.Molds.Create(s.ctx, s.owner, orders.Mold{
		Name: "Tray", Kind: calc.MoldCavity, Length: 200 * calc.Millimetre, Width: 150 * calc.Millimetre,
		Cavities: 1, CavityVolume: hollow, Count: 1,
	})
	s.must(err)
	s.design, err = s.book.Designs.Create(s.ctx, s.owner, orders.Design{
		Name: r.Name, LotCode: "WB", RecipeID: r.ID, MoldIDs: []string{mold.ID}, Colours: colours,
		Cut: orders.CutPlan{PiecesPerSlice: 12, Spacing: 5 * calc.Millimetre},
	})
	s.must(err)
	s.take(s.wants(12, 60))
	for _, b := range s.batches(orders.BatchPlanned) {
		if b.DesignID == s.design.ID {
			return b
		}
	}
	s.t.Fatal("no batch was planned")
	return orders.Batch{}
}

func (s *shop) sheet(b orders.Batch) orders.Sheet {
	s.t.Helper()
	sheet, err := s.book.Sheet(s.ctx, s.owner, b.ID)
	s.must(err)
	return sheet
}

// weights is the sheet's, which must be there.
func (s *shop) weights(b orders.Batch) orders.Weights {
	s.t.Helper()
	sheet := s.sheet(b)
	if sheet.Weights == nil {
		s.t.Fatalf("no weights: %s", sheet.Trouble)
	}
	return *sheet.Weights
}

// tray is the worked batch's volume, 1425.14 mL, to the microlitre.
const tray calc.Volume = 1_425_140

func TestSheetOfTheWorkedBatch(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b := s.pourOf(s.worked(func(*orders.Recipe) {}), tray)
	sheet, w := s.sheet(b), s.weights(b)
	within := func(what string, got, want, off calc.Mass) {
		if got < want-off || got > want+off {
			t.Errorf("%s: %s, want %s", what, got, want)
		}
	}
	// Derived by hand. The tray is the batch's volume rounded to a hundredth of
	// a millilitre, and the recipe's share of lye is a third rounded to a millionth,
	// so a weight may stray by 10 mg.
	const off = 10 * calc.Milligram
	within("olive", w.Oils[0].Mass, 500*calc.Gram, off)
	within("coconut", w.Oils[1].Mass, 300*calc.Gram, off)
	within("palm", w.Oils[2].Mass, 200*calc.Gram, off)
	within("pure NaOH without superfat", w.Lye.FullNaOH, 151_098, off)
	within("NaOH at 5 % superfat", w.Lye.NaOH, 143_543, off)
	within("water", w.Lye.Water, 287_087, off)
	within("solution", w.Lye.Solution, 430_630, off)
	within("batter", w.Batter.Mass, 1_430_630, off)
	if w.Batter.Volume < tray || w.Batter.Volume > tray+10 {
		t.Errorf("batter takes %s, want 1425.14 mL", w.Batter.Volume)
	}
	if f := sheet.Fills; len(f) != 1 || f[0].Fill != calc.Whole || f[0].Units != 1 || f[0].Batter.Volume != tray || sheet.Missing.Mass != 0 || sheet.Left.Mass > off {
		t.Errorf("fills %+v, left %+v, missing %+v", f, sheet.Left, sheet.Missing)
	}
	if sheet.Fills[0].Batter.Mass+sheet.Left.Mass != w.Total.Mass {
		t.Errorf("poured %s and left %s of %s", sheet.Fills[0].Batter.Mass, sheet.Left.Mass, w.Total.Mass)
	}
}

// TestSheetOfImpureLye is the worked batch with lye of 97 %: 147.983 g of it
// (derived).
func TestSheetOfImpureLye(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	r := s.worked(func(r *orders.Recipe) { r.LyePurity = 97 * calc.Percent })
	got, err := s.book.RecipeWeights(s.ctx, s.owner, r.ID)
	s.must(err)
	if w := got.Weights; w == nil || w.OilsMass != calc.Kilogram || w.Lye.NaOH != 147_983 || w.Lye.Solution != w.Lye.NaOH+w.Lye.Water {
		t.Errorf("weights of a kilogram of oils: %+v, want 147.983 g of lye", got)
	}
}

func TestSheetAddsUp(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	var scent, petals orders.Ingredient
	var err error
	scent, err = s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: "Cedar", Kind: orders.KindFragrance, Density: 0.95, OnHand: calc.Kilogram})
	s.must(err)
	petals, err = s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: "Petals", Kind: orders.KindBotanical, OnHand: calc.Kilogram})
	s.must(err)
	r := s.worked(func(r *orders.Recipe) {
		r.Parts = append(r.Parts, orders.RecipePart{IngredientID: scent.ID, Share: 3 * calc.Percent}, orders.RecipePart{IngredientID: petals.ID, Share: calc.Percent})
	})
	b := s.pourOf(r, 3_333_333, orders.Colour{Name: "Sand", Share: 333_333}, orders.Colour{Name: "Kelp", Share: 333_333}, orders.Colour{Name: "Foam", Share: 333_334})
	sheet, w := s.sheet(b), s.weights(b)
	var oils, pots calc.Mass
	for _, o := range w.Oils {
		oils += o.Mass
	}
	for _, p := range sheet.Pots {
		pots += p.Mass
	}
	switch {
	case oils != w.OilsMass || oils == 0:
		t.Errorf("oils add up to %s, not %s", oils, w.OilsMass)
	case w.Lye.NaOH+w.Lye.Water != w.Lye.Solution || oils+w.Lye.Solution != w.Batter.Mass:
		t.Errorf("oils %s, lye %s and water %s are not the batter of %s", oils, w.Lye.NaOH, w.Lye.Water, w.Batter.Mass)
	case len(sheet.Pots) != 3 || pots != w.Batter.Mass:
		t.Errorf("pots add up to %s, not %s", pots, w.Batter.Mass)
	case len(w.Added) != 2 || w.Added[0].Mass != (3*calc.Percent).Of(oils) || w.Added[1].Mass != calc.Percent.Of(oils):
		t.Errorf("added %+v to %s of oils, want 3 %% and 1 %%", w.Added, oils)
	case w.Total.Mass != w.Batter.Mass+w.Added[0].Mass: // petals lie on top
		t.Errorf("total %s of batter %s and fragrance %s", w.Total.Mass, w.Batter.Mass, w.Added[0].Mass)
	case w.Total.Volume < 3_333_333 || w.Total.Volume > 3_333_343:
		t.Errorf("total takes %s, the mold %s", w.Total.Volume, calc.Volume(3_333_333))
	case sheet.Fills[0].Batter.Mass+sheet.Left.Mass != w.Total.Mass:
		t.Errorf("poured %s, left %s of %s", sheet.Fills[0].Batter.Mass, sheet.Left.Mass, w.Total.Mass)
	}
}

func TestSheetScalesWithTheMold(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	r := s.worked(func(*orders.Recipe) {})
	small, large := s.weights(s.pourOf(r, tray)), s.weights(s.pourOf(r, 3*tray))
	const off = 10 * calc.Milligram // rounding of the small one, thrice
	for what, pair := range map[string][2]calc.Mass{
		"oils":  {small.OilsMass, large.OilsMass},
		"lye":   {small.Lye.NaOH, large.Lye.NaOH},
		"water": {small.Lye.Water, large.Lye.Water},
	} {
		if d := pair[1] - 3*pair[0]; d < -off || d > off {
			t.Errorf("%s: %s for the mold, %s for one three times its size", what, pair[0], pair[1])
		}
	}
}

// A loaf of 600 x 90 x 65 mm holds 3510 mL (derived); 25 mm slices leave
// nothing of it.
func TestSheetSaysHowToCutAndWhen(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	sheet := s.sheet(b)
	cut := sheet.Cuts[0]
	if cut.Trouble != "" || cut.Pieces != b.Pieces || cut.Slices != b.Pieces || cut.Full != 24 || cut.Waste > 10 || len(cut.Across) != b.Pieces-1 ||
		cut.Across[0] != 25*calc.Millimetre || len(cut.Along) != 0 || cut.Filled != calc.Length(b.Pieces)*25*calc.Millimetre || !cut.Part() {
		t.Errorf("cut %+v, want the %d of 24 slices that are poured, the first cut at 25 mm", cut, b.Pieces)
	}
	if full := orders.CutOf(s.mold, s.design); full.Pieces != 24 || full.Waste != 0 || len(full.Across) != 23 || full.Filled != s.mold.Length || full.Part() {
		t.Errorf("a full mold is cut %+v, want 24 slices by 23 cuts", full)
	}
	if cut.Piece != (orders.PieceSize{Long: 90 * calc.Millimetre, Middle: 65 * calc.Millimetre, Short: 25 * calc.Millimetre}) {
		t.Errorf("a piece is %+v", cut.Piece)
	}
	if f := sheet.Fills[0]; f.Batter.Volume != f.Fill.OfVolume(3_510_000) {
		t.Errorf("fill %+v of a loaf of 3510 mL", f)
	}
	var kinds []orders.TaskKind
	for _, step := range sheet.Steps {
		kinds = append(kinds, step.Kind)
	}
	if len(kinds) != 4 || !sheet.Steps[0].From.Equal(b.Make.From) || !sheet.Steps[1].To.Equal(b.Cut.To) || !sheet.Steps[3].From.Equal(b.Wrap.From) {
		t.Errorf("steps %+v", sheet.Steps)
	}
	sources := 0
	for _, c := range sheet.Cautions {
		if c.Text != "" && c.Source != "" {
			sources++
		}
	}
	if sources < 9 || sources != len(sheet.Cautions) || sheet.Notice != calc.DeferNotice {
		t.Errorf("%d of %d cautions name their source; notice %q", sources, len(sheet.Cautions), sheet.Notice)
	}
}

func TestSheetTellsWhatIsImpossible(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	recipe, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	oil, err := s.book.Ingredients.Get(s.ctx, s.owner, recipe.Parts[0].IngredientID)
	s.must(err)
	troubled := func(words string) {
		t.Helper()
		sheet := s.sheet(b)
		if !strings.Contains(sheet.Trouble, words) || sheet.Weights != nil || len(sheet.Fills) > 0 || len(sheet.Pots) > 0 || len(sheet.Cautions) == 0 {
			t.Errorf("trouble is %q with %d fills, want %q", sheet.Trouble, len(sheet.Fills), words)
		}
	}
	oil.Kind, oil.SVUsed = orders.KindOther, 0
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, oil)
	s.must(err)
	troubled("the oils of Oat and honey add up to 0 %, not 100 %")
	s.mold.Length = 20 * calc.Millimetre
	s.mold, err = s.book.Molds.Change(s.ctx, s.owner, s.mold)
	s.must(err)
	troubled("the cut does not fit Long loaf any more: thickness: is more than")
	if cuts, err := s.book.DesignCuts(s.ctx, s.owner, s.design.ID); err != nil || len(cuts) != 1 || !strings.Contains(cuts[0].Trouble, "thickness") {
		t.Errorf("cuts %+v, %v", cuts, err)
	}
	if _, err := s.book.Sheet(s.ctx, s.owner, s.design.ID); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("sheet of no batch: %v", err)
	}
}

// The pieces dry along 88 + 12 e^(-0.1 t) grams, t in days from the cut
// (derived), so the fit is known beforehand.
func TestSheetFitsTheCure(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	var err error
	s.now = b.Make.To
	b, _, err = s.book.Pour(s.ctx, s.owner, b.ID, b.Version, orders.PourFact{})
	s.must(err)
	s.now = b.Cut.To
	b, _, err = s.book.Cut(s.ctx, s.owner, b.ID, b.Version, orders.CutFact{})
	s.must(err)
	if c := s.sheet(b).Cure; c.Curve != nil || !contains(c.Note, "Not weighed yet") {
		t.Errorf("not weighed: %+v", c)
	}
	for i, each := range []calc.Mass{100_000, 93_959, 90_959, 89_469} {
		s.now = b.CutAt.AddDate(0, 0, 7*i)
		b, _, err = s.book.Weigh(s.ctx, s.owner, b.ID, b.Version, orders.Weighing{Pieces: 2, Mass: 2 * each})
		s.must(err)
		c := s.sheet(b).Cure
		note := []string{"Too few", "Too few", "nothing checks", "own weighings"}[i]
		if len(c.Weighings) != i+1 || c.Weighings[i].Each != each || !contains(c.Note, note) || (c.Curve != nil) != (i > 1) {
			t.Errorf("after %d weighings: %+v", i+1, c)
		}
	}
	c := s.sheet(b).Cure
	near := func(got, want calc.Mass) bool { return got > want-30 && got < want+30 }
	if k := c.Curve; !near(k.Start, 100_000) || !near(k.End, 88_000) || k.Rate < 0.099 || k.Rate > 0.101 || k.Residual > 20 || k.Few || k.Flat {
		t.Errorf("curve %+v, want 100 g to 88 g at 0.1 a day", *k)
	}
	if c.Weighings[3].Lost != 105_310 { // 10.531 g of 100 g
		t.Errorf("lost %s", c.Weighings[3].Lost)
	}
	if k := c.Curve; len(k.ByDay) < 28 || k.ByDay[0] != k.Start || !near(k.ByDay[7], 93_959) || c.Weighings[1].Day != 7 {
		t.Errorf("day by day %v; the second weighing is on day %v", k.ByDay, c.Weighings[1].Day)
	}
	if k := c.Curve; k.LostThen != calc.ShareOf(k.Start-k.AtWrap, k.Start) || k.AtWrap >= c.Weighings[3].Each {
		t.Errorf("at the wrap %s, %s less", k.AtWrap, k.LostThen)
	}
	if c.StableOn != b.CureUntil || c.StableOn == (civil.Date{}) {
		t.Errorf("stable on %s, the batch waits until %s", c.StableOn, b.CureUntil)
	}
}
