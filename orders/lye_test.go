package orders_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// kilo is what the recipe takes for a kilogram of oils.
func (s *shop) kilo(r orders.Recipe) orders.RecipeWeights {
	s.t.Helper()
	got, err := s.book.RecipeWeights(s.ctx, s.owner, r.ID)
	s.must(err)
	if got.Weights == nil {
		s.t.Fatalf("no weights: %s", got.Trouble)
	}
	return got
}

// TestWaterInThreeWays asks for the worked batch's water, 287.087 g to
// 143.543 g of pure NaOH (derived), by each basis.
func TestWaterInThreeWays(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	for name, alter := range map[string]func(*orders.Recipe){
		"ratio":         func(r *orders.Recipe) { r.WaterBasis, r.Water, r.LyeConcentration = calc.WaterByRatio, 2*calc.Whole, 0 },
		"concentration": func(r *orders.Recipe) { r.WaterBasis = calc.WaterByConcentration },
		"oils":          func(r *orders.Recipe) { r.WaterBasis, r.Water, r.LyeConcentration = calc.WaterByOils, 287_087, 0 },
	} {
		l := s.kilo(s.worked(func(r *orders.Recipe) { r.Name = name; alter(r) })).Weights.Lye
		if off := l.Water - 287_087; off < -2 || off > 2 || l.NaOH != 143_543 || l.FullNaOH != 151_098 || l.FullKOH != 211_950 {
			t.Errorf("%s: %+v", name, l)
		}
	}
}

// TestWorkedBatchFigures holds the worked batch against every figure of it
// (derived): volumes at the densities given at 40 C, lye solution of 1.3618 g/mL.
func TestWorkedBatchFigures(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	w := s.kilo(s.worked(func(r *orders.Recipe) { r.WaterBasis, r.Water = calc.WaterByRatio, 2*calc.Whole })).Weights
	near := func(what string, got, want, off int64) {
		if got < want-off || got > want+off {
			t.Errorf("%s: %d, want %d", what, got, want)
		}
	}
	near("oils", int64(w.OilsVolume), 1_108_910, 5)
	near("solution", int64(w.Lye.Solution), 430_630, 1)
	near("solution's density", int64(w.Lye.Density), 1_361_800, 100)
	near("solution's volume", int64(w.Lye.Volume), 316_230, 15)
	near("batter", int64(w.Batter.Mass), 1_430_630, 1)
	near("batter's volume", int64(w.Batter.Volume), 1_425_140, 15)
}

// TestPotashShares parts the saponification. KOH alone: 211.950 g of it less
// 5 %, at 90 % purity 223.725 g. Half and half: half of that, and half of 143.543 g
// of NaOH (derived).
func TestPotashShares(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	for _, c := range []struct {
		share     calc.PPM
		naoh, koh calc.Mass
	}{{calc.Whole, 0, 223_725}, {50 * calc.Percent, 71_772, 111_863}} {
		r := s.worked(func(r *orders.Recipe) {
			r.KOHShare, r.KOHPurity, r.LyeConcentration = c.share, 90*calc.Percent, 30*calc.Percent
		})
		l := s.kilo(r).Weights.Lye
		if l.NaOH != c.naoh || l.KOH < c.koh-1 || l.KOH > c.koh+1 || l.Solution != l.NaOH+l.KOH+l.Water || l.Glycerol == 0 {
			t.Errorf("%s of KOH: %+v, want %s and %s", c.share, l, c.naoh, c.koh)
		}
	}
}

// TestWaxGivesNoGlycerol replaces the palm oil of the worked batch by a wax of
// the same value: a fifth of the glycerol by weight of KOH goes (published: wax
// esters give none).
func TestWaxGivesNoGlycerol(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	fat := s.kilo(s.worked(func(*orders.Recipe) {})).Weights.Lye
	r := s.worked(func(r *orders.Recipe) {
		wax, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: "Wax", Kind: orders.KindOil, SVUsed: 200, WaxEster: true})
		s.must(err)
		r.Parts[2].IngredientID = wax.ID
	})
	waxed := s.kilo(r).Weights.Lye
	lost := float64(fat.Glycerol-waxed.Glycerol) / float64(fat.Glycerol)
	if math.Abs(lost-40/211.95) > 1e-4 || waxed.NaOH != fat.NaOH {
		t.Errorf("glycerol %s with a wax, %s without", waxed.Glycerol, fat.Glycerol)
	}
}

// TestStockAndBlendOnTheSheet keeps lye and two oils ready-mixed: the sheet
// has the stock, its extra water and the blend to weigh, and they add up.
func TestStockAndBlendOnTheSheet(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	r := s.worked(func(r *orders.Recipe) {
		r.LyeStock, r.LyePurity = 50*calc.Percent, 99*calc.Percent
		r.Parts[0].Blended, r.Parts[2].Blended = true, true
	})
	got := s.kilo(r)
	if b := got.Ready.Blend; len(b) != 2 || b[0].Mass+b[1].Mass != calc.Kilogram || b[0].Mass != 714_286 || got.Ready.StockLye != 505_051 {
		t.Errorf("ready-mixed: %+v", got.Ready)
	}
	sheet := s.sheet(s.pourOf(r, tray))
	w := sheet.Weights
	if w.Lye.Stock == nil || w.Lye.Stock.Mass+w.Lye.Stock.Water != w.Lye.Solution || w.BlendMass != w.Oils[0].Mass+w.Oils[2].Mass {
		t.Fatalf("lye %+v, blend %s", w.Lye, w.BlendMass)
	}
	weighed := map[string]calc.Mass{}
	for _, stage := range sheet.Work {
		for _, item := range stage.Items {
			weighed[item.Item] = item.Mass
		}
	}
	if weighed["stock"] != w.Lye.Stock.Mass || weighed["water"] != w.Lye.Stock.Water || weighed["blend"] != w.BlendMass || weighed["oil:"+w.Oils[1].IngredientID] != w.Oils[1].Mass {
		t.Errorf("the work weighs %v", weighed)
	}
	if _, fresh := weighed["naoh"]; fresh || len(weighed) < 8 {
		t.Errorf("fresh lye is weighed beside the stock: %v", weighed)
	}
}

// TestOneLyeOfEachAlkali refuses a recipe that names two lyes of one alkali. Two
// that became so later are not both drawn in full.
func TestOneLyeOfEachAlkali(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	lye := func(name string, alkali orders.Alkali) orders.Ingredient {
		i, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: name, Kind: orders.KindLye, Alkali: alkali, OnHand: 50 * calc.Kilogram})
		s.must(err)
		return i
	}
	flakes, pearls, potash := lye("Lye flakes", ""), lye("Lye pearls", orders.AlkaliNaOH), lye("Potash", orders.AlkaliKOH)
	names := func(lyes ...orders.Ingredient) func(*orders.Recipe) {
		return func(r *orders.Recipe) {
			for _, l := range lyes {
				r.Parts = append(r.Parts, orders.RecipePart{IngredientID: l.ID, Share: 10 * calc.Percent})
			}
		}
	}
	bad := s.worked(names(flakes, potash))
	bad.Parts = slices.Clone(bad.Parts)
	bad.Parts[4].IngredientID = pearls.ID
	_, err := s.book.Recipes.Change(s.ctx, s.owner, bad)
	invalidAt(t, err, "parts[4].ingredient_id")

	b := s.pourOf(s.worked(names(flakes, potash)), tray)
	potash.Alkali = orders.AlkaliNaOH
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, potash)
	s.must(err)
	want := s.weights(b).Lye.NaOH
	s.now = b.Make.To
	b, _, err = s.book.Pour(s.ctx, s.owner, b.ID, b.Version, orders.PourFact{})
	s.must(err)
	var took calc.Mass
	for _, u := range b.Uses {
		if u.IngredientID == flakes.ID || u.IngredientID == potash.ID {
			took += u.Mass
		}
	}
	if took != want {
		t.Errorf("%s of lye was drawn, the sheet asks for %s: %+v", took, want, b.Uses)
	}
}

func TestBadRecipesAreRefusedAtTheField(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	good := s.worked(func(*orders.Recipe) {})
	for _, c := range []struct {
		field string
		spoil func(*orders.Recipe)
	}{
		{"parts", func(r *orders.Recipe) { r.Parts[0].Share = 49 * calc.Percent }},
		{"parts[0].share_ppm", func(r *orders.Recipe) { r.Parts[0].Share = -1 }},
		{"parts[1].ingredient_id", func(r *orders.Recipe) { r.Parts[1].IngredientID = "" }},
		{"lye_concentration_ppm", func(r *orders.Recipe) { r.LyeConcentration = 51 * calc.Percent }},
		{"lye_concentration_ppm", func(r *orders.Recipe) { r.LyeConcentration = 0 }},
		{"water_ppm", func(r *orders.Recipe) { r.WaterBasis, r.Water = calc.WaterByRatio, 90*calc.Percent }}, // 52.6 %, above solubility
		{"water_ppm", func(r *orders.Recipe) { r.WaterBasis, r.Water = calc.WaterByOils, 10*calc.Percent }},
		{"water_ppm", func(r *orders.Recipe) { r.WaterBasis, r.Water = calc.WaterByOils, 0 }},
		{"water_basis", func(r *orders.Recipe) { r.WaterBasis = "a bucket" }},
		{"superfat_ppm", func(r *orders.Recipe) { r.Superfat = -1 }},
		{"lye_purity_ppm", func(r *orders.Recipe) { r.LyePurity = 0 }},
		{"koh_share_ppm", func(r *orders.Recipe) { r.KOHShare = 101 * calc.Percent }},
		{"koh_purity_ppm", func(r *orders.Recipe) { r.KOHShare = 10 * calc.Percent }},
		{"lye_stock_ppm", func(r *orders.Recipe) { r.LyeStock = 20 * calc.Percent }},
		{"lye_stock_ppm", func(r *orders.Recipe) { r.LyeStock = 55 * calc.Percent }},
		{"mix_temp_mc", func(r *orders.Recipe) { r.MixTemp = -1 }},
	} {
		bad := good
		bad.Parts = append([]orders.RecipePart{}, good.Parts...)
		c.spoil(&bad)
		_, err := s.book.Recipes.Change(s.ctx, s.owner, bad)
		invalidAt(t, err, c.field)
	}
	for field, bad := range map[string]orders.Ingredient{
		"sv_used":           {Name: "No value", Kind: orders.KindOil},
		"sv_low":            {Name: "Upside down", Kind: orders.KindOil, SVUsed: 190, SVLow: 200},
		"density_g_per_ml":  {Name: "Feather", Kind: orders.KindOil, SVUsed: 190, Density: math.NaN()},
		"density_g_per_ml ": {Name: "Foam", Kind: orders.KindFragrance, Density: 0.4},
		"on_hand_mg":        {Name: "Owed", Kind: orders.KindOil, SVUsed: 190, OnHand: -1},
		"alkali":            {Name: "Odd lye", Kind: orders.KindLye, Alkali: "lime"},
		"wax_ester":         {Name: "Waxy water", Kind: orders.KindLiquid, WaxEster: true},
	} {
		_, err := s.book.Ingredients.Create(s.ctx, s.owner, bad)
		invalidAt(t, err, strings.TrimSpace(field))
	}
	_, err := s.book.Molds.Create(s.ctx, s.owner, orders.Mold{Name: "Flat", Kind: calc.MoldLoaf, Length: 300 * calc.Millimetre, Width: 90 * calc.Millimetre, Count: 1})
	invalidAt(t, err, "depth_um")
	if now, err := s.book.Recipes.Get(s.ctx, s.owner, good.ID); err != nil || now.Version != good.Version {
		t.Errorf("a refused change was written: %+v, %v", now, err)
	}
}

// TestPouredBatchKeepsItsRecipe changes everything about a batch after its
// pour.
func TestPouredBatchKeepsItsRecipe(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	r := s.worked(func(*orders.Recipe) {})
	b := s.pourOf(r, tray, orders.Colour{Name: "Kelp", Share: calc.Whole})
	s.now = b.Make.To
	b, _, err := s.book.Pour(s.ctx, s.owner, b.ID, b.Version, orders.PourFact{})
	s.must(err)
	before := s.sheet(b)
	if !before.AsPoured || before.Changed {
		t.Errorf("just poured: as poured %v, changed %v", before.AsPoured, before.Changed)
	}
	r.Superfat, r.LyePurity, r.Notes = 8*calc.Percent, 97*calc.Percent, "stir longer"
	_, err = s.book.Recipes.Change(s.ctx, s.owner, r)
	s.must(err)
	oil, err := s.book.Ingredients.Get(s.ctx, s.owner, r.Parts[0].IngredientID)
	s.must(err)
	oil.SVUsed, oil.Name = 185, "Another olive"
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, oil)
	s.must(err)
	d, err := s.book.Designs.Get(s.ctx, s.owner, b.DesignID)
	s.must(err)
	d.Colours, d.Cut.PiecesPerSlice = nil, 6
	_, err = s.book.Designs.Change(s.ctx, s.owner, d)
	s.must(err)
	after := s.sheet(b)
	if !after.Changed {
		t.Error("the sheet does not say that the recipe has changed since")
	}
	after.Changed, after.Steps = false, before.Steps
	sameJSON(t, "the sheet of a poured batch", after, before)
}
