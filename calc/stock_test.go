package calc

import (
	"testing"

	"pgregory.net/rapid"
)

// The worked batch needs 143.543 g of pure NaOH in 430.630 g of solution
// (derived): of a 50 % stock that is 287.086 g, and 143.544 g of water.
func TestWorkedBatchFromStock(t *testing.T) {
	lye := Lye{PureNaOH: 143_543, NaOH: 143_543, Water: 287_087, Solution: 430_630, Concentration: 333_333}
	if got := must[StockDose](t)(lye.FromStock(50 * Percent)); got != (StockDose{287_086, 143_544}) {
		t.Errorf("%+v", got)
	}
	_, err := lye.FromStock(30 * Percent)
	wantField(t, err, "lye_stock")
	_, err = lye.FromStock(60 * Percent)
	wantField(t, err, "lye_stock")
	lye.PureKOH = 1
	_, err = lye.FromStock(50 * Percent)
	wantField(t, err, "lye_stock")
}

func TestStockAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := LyeRecipe{
			Oils:      []Oil{{Mass: Mass(rapid.Int64Range(1, int64(100*Kilogram)).Draw(t, "oil")), SV: SVRange{Used: 190 * MilligramPerGram}}},
			NaOHShare: Whole, NaOHPurity: PPM(rapid.Int64Range(int64(minPurity), int64(maxPurity)).Draw(t, "purity")),
			Water: WaterRule{WaterByConcentration, PPM(rapid.Int64Range(int64(20*Percent), int64(40*Percent)).Draw(t, "concentration"))},
		}
		lye, err := ComputeLye(r)
		if err != nil {
			t.Skip(err)
		}
		c := PPM(rapid.Int64Range(int64(lye.Concentration), int64(maxConcentration)).Draw(t, "stock"))
		dose, err := lye.FromStock(c)
		if err != nil {
			t.Fatal(err)
		}
		off := c.Of(dose.Stock) - lye.PureNaOH
		if dose.Stock+dose.Extra != lye.Solution || dose.Extra < 0 || off < -1 || off > 1 {
			t.Fatalf("%+v of %+v at %s", dose, lye, c)
		}
	})
}

// 1 kg of a 50 % solution takes 500 g of pure NaOH: 505.051 g at 99 % (derived).
func TestStockRecipe(t *testing.T) {
	naoh, water, err := StockRecipe(Kilogram, 50*Percent, 99*Percent)
	if err != nil || naoh != 505_051 || water != 494_949 {
		t.Errorf("%s and %s, %v", naoh, water, err)
	}
	for field, bad := range map[string]struct {
		total     Mass
		c, purity PPM
	}{
		"total": {0, 50 * Percent, Whole}, "lye_stock": {Kilogram, 51 * Percent, Whole}, "naoh_purity": {Kilogram, 50 * Percent, 0},
	} {
		_, _, err := StockRecipe(bad.total, bad.c, bad.purity)
		wantField(t, err, field)
	}
}
