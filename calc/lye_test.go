package calc

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func sv(text string) SV { return SV(tableNumber(text, int64(MilligramPerGram))) }

// workedOils is the worked batch: 500 g olive (190), 300 g coconut (256.5),
// 200 g palm (200); ranges from the table in testdata.
func workedOils() []Oil {
	return []Oil{
		{Name: "olive oil", Mass: 500 * Gram, SV: SVRange{sv("184"), sv("190"), sv("196")}},
		{Name: "coconut oil", Mass: 300 * Gram, SV: SVRange{sv("248"), sv("256.5"), sv("265")}},
		{Name: "palm oil", Mass: 200 * Gram, SV: SVRange{sv("195"), sv("200"), sv("205")}},
	}
}

func workedRecipe() LyeRecipe {
	return LyeRecipe{
		Oils: workedOils(), NaOHShare: Whole, Superfat: 5 * Percent, NaOHPurity: Whole,
		Water: WaterRule{WaterByRatio, 2 * Whole},
	}
}

func TestWorkedBatch(t *testing.T) { // derived from the inputs in workedOils
	lye := must[Lye](t)(ComputeLye(workedRecipe()))
	impure := workedRecipe()
	impure.NaOHPurity = 97 * Percent
	at97 := must[Lye](t)(ComputeLye(impure))
	for _, c := range []struct {
		what      string
		got, want Mass
	}{
		{"KOH, full need", lye.FullKOH, 211_950},
		{"NaOH, full need", lye.FullNaOH, 151_098},
		{"NaOH at 5 % superfat", lye.NaOH, 143_543},
		{"NaOH at 97 % purity", at97.NaOH, 147_983},
		{"pure NaOH at 97 % purity", at97.PureNaOH, 143_543},
		{"water 2:1 on pure NaOH", lye.Water, 287_087},
		{"water at 97 % purity", at97.Water, 287_087},
		{"solution", lye.Solution, 430_630},
	} {
		if c.got != c.want {
			t.Errorf("%s: %s, want %s", c.what, c.got, c.want)
		}
	}
	if lye.Concentration != 333_333 {
		t.Errorf("concentration %s, want 33.3333 %%", lye.Concentration)
	}
	if len(lye.Warnings) != 0 {
		t.Errorf("warnings %v, want none: 5 %% outlasts the spread", lye.Warnings)
	}
}

// TestPureTriglycerides dissolves one mole of fat: three moles of alkali make
// one mole of glycerol, whatever the fat. The value has two decimals, hence the tolerance.
func TestPureTriglycerides(t *testing.T) { // derived from IUPAC abridged atomic weights
	for _, c := range []struct {
		name  string
		mole  Mass
		value string
	}{
		{"tristearin C57H110O6", 891_501, "188.80"},
		{"trilaurin C39H74O6", 639_015, "263.40"},
		{"triolein C57H104O6", 885_453, "190.09"},
		{"tripalmitin C51H98O6", 807_339, "208.48"},
		{"trimyristin C45H86O6", 723_177, "232.74"},
		{"trilinolein C57H98O6", 879_405, "191.40"},
	} {
		lye := must[Lye](t)(ComputeLye(pure(c.name, c.mole, sv(c.value))))
		off := c.mole*5/1_000_000 + 1 // 0.005 mg of KOH per g
		near(t, c.name+": KOH", lye.FullKOH, 168_315, off)
		near(t, c.name+": NaOH", lye.FullNaOH, 119_991, off)
		near(t, c.name+": glycerol", lye.Glycerol, 92_094, off)
		near(t, c.name+": soap", lye.Soap, c.mole+119_991-92_094, off)
	}
}

// pure is a recipe of one fat with no superfat.
func pure(name string, m Mass, value SV) LyeRecipe {
	return LyeRecipe{
		Oils:      []Oil{{Name: name, Mass: m, SV: SVRange{Used: value}}},
		NaOHShare: Whole, NaOHPurity: Whole, Water: WaterRule{WaterByRatio, 2 * Whole},
	}
}

func near(t *testing.T, what string, got, want, off Mass) {
	t.Helper()
	if got < want-off || got > want+off {
		t.Errorf("%s %s, want %s within %s", what, got, want, off)
	}
}

// TestTristearinProducts checks 0.13459 g NaOH, 0.10330 g glycerol and 1.03129
// g soap per g (derived), on 100 g with no superfat.
func TestTristearinProducts(t *testing.T) {
	lye := must[Lye](t)(ComputeLye(pure("tristearin", 100*Gram, sv("188.80"))))
	if lye.NaOH != 13_459 || lye.Glycerol != 10_330 || lye.Soap != 103_129 {
		t.Errorf("NaOH %s, glycerol %s, soap %s; want 13.459 g, 10.33 g, 103.129 g", lye.NaOH, lye.Glycerol, lye.Soap)
	}
}

// TestExamGlycerol is an exam answer (published): 0.06 mol of NaOH that give
// 1.84 g of glycerol come from 17.24 g of fat and make 17.80 g of soap. The
// exam has round molar masses of 40 and 92, hence the tolerance of 0.01 g.
func TestExamGlycerol(t *testing.T) {
	fat := Mass(17_240)
	value := SV(mulDiv(6*molarKOH, 10_000, int64(fat))) // 0.06 mol of KOH on the fat
	lye := must[Lye](t)(ComputeLye(pure("fat", fat, value)))
	near(t, "NaOH", lye.NaOH, 2_400, 10)
	near(t, "glycerol", lye.Glycerol, 1_840, 10)
	near(t, "soap", lye.Soap, 17_800, 10)
}

// TestTitratedFat is an exam question (published): 1.5 g of oil take up what 25 -
// 15 mL of 0.5 N acid would, 5 mmol, which is a value of 186.67 with an equivalent
// weight of 56, and 187.02 with 56.105 (derived). A thousand times the oil needs 5 mol.
func TestTitratedFat(t *testing.T) {
	const oil = 1_500 * Gram
	for _, c := range []struct {
		value string
		koh   Mass
	}{{"186.67", 5 * 56_000}, {"187.02", 5 * molarKOH}} {
		lye := must[Lye](t)(ComputeLye(pure("oil", oil, sv(c.value))))
		near(t, c.value+": KOH", lye.FullKOH, c.koh, 8) // 0.005 mg per g
		near(t, c.value+": NaOH", lye.FullNaOH, Mass(mulDiv(int64(c.koh), 39_997, 56_105)), 6)
	}
}

func TestMixedLye(t *testing.T) {
	mixed := workedRecipe()
	mixed.NaOHShare, mixed.KOHPurity = 60*Percent, 90*Percent
	lye := must[Lye](t)(ComputeLye(mixed))
	// Derived: 60 % of 143.5433 g, and 40 % of 201.3525 g of KOH.
	if lye.PureNaOH != 86_126 || lye.PureKOH != 80_541 {
		t.Errorf("pure NaOH %s and KOH %s, want 86.126 g and 80.541 g", lye.PureNaOH, lye.PureKOH)
	}
	if lye.KOH != 89_490 { // 80.541 / 0.9
		t.Errorf("KOH as bought %s, want 89.49 g", lye.KOH)
	}
	mixed.NaOHShare, mixed.NaOHPurity = 0, 0
	if lye := must[Lye](t)(ComputeLye(mixed)); lye.NaOH != 0 || lye.PureKOH != 201_353 { // 211.95 x 0.95 = 201.3525
		t.Errorf("NaOH %s, pure KOH %s; want 0 and 201.353 g", lye.NaOH, lye.PureKOH)
	}
}

func TestWaterRules(t *testing.T) {
	r := workedRecipe()
	for _, c := range []struct {
		rule WaterRule
		want Mass // derived
	}{
		{WaterRule{WaterByOils, 30 * Percent}, 300_000},
		{WaterRule{WaterByConcentration, 50 * Percent}, 143_543},
		{WaterRule{WaterByConcentration, 25 * Percent}, 430_630},
		{WaterRule{WaterByRatio, Whole + Whole/2}, 215_315},
	} {
		r.Water = c.rule
		if lye := must[Lye](t)(ComputeLye(r)); lye.Water != c.want {
			t.Errorf("%v: water %s, want %s", c.rule, lye.Water, c.want)
		}
	}
	r.NaOHPurity, r.Water = 97*Percent, WaterRule{WaterByConcentration, 25 * Percent}
	// 574.173 g of solution (143.543 / 0.25) less the 147.983 g weighed.
	if lye := must[Lye](t)(ComputeLye(r)); lye.Water != 426_190 || lye.Concentration != 25*Percent {
		t.Errorf("impure lye at 25 %%: water %s, concentration %s; want 426.19 g, 25 %%", lye.Water, lye.Concentration)
	}
}

func warned(l Lye, code WarningCode) bool {
	for _, w := range l.Warnings {
		if w.Code == code {
			return true
		}
	}
	return false
}

func TestLyeWarnings(t *testing.T) {
	heavy := workedRecipe()
	heavy.Superfat = 2 * Percent
	lye := must[Lye](t)(ComputeLye(heavy))
	if !warned(lye, WarnLyeHeavy) {
		t.Fatal("2 % superfat does not outlast a spread of 3.1 %, and nothing warns of it")
	}
	// Least need: 500 x 184 + 300 x 248 + 200 x 195 = 205.4 g of 211.95 g: 3.0903 % less.
	if !strings.Contains(lye.Warnings[0].Message, "3.1 %") {
		t.Errorf("message %q does not name the superfat of 3.1 %%", lye.Warnings[0].Message)
	}
	heavy.Superfat = 31 * Percent / 10
	if lye := must[Lye](t)(ComputeLye(heavy)); warned(lye, WarnLyeHeavy) {
		t.Error("the superfat that the warning named is itself warned of")
	}
	heavy.NaOHPurity = 95 * Percent
	if lye := must[Lye](t)(ComputeLye(heavy)); !warned(lye, WarnPurity) {
		t.Error("alkali bought as 95 % may be purer, and nothing warns of it")
	}
	heavy.Superfat, heavy.NaOHPurity = 5*Percent, 97*Percent // 0.95 x 100.5 / 97 = 0.984 of the need
	if lye := must[Lye](t)(ComputeLye(heavy)); len(lye.Warnings) != 0 {
		t.Errorf("5 %% superfat outlasts both doubts, yet %v", lye.Warnings)
	}
	strong := workedRecipe()
	strong.Water = WaterRule{WaterByConcentration, 40 * Percent}
	if lye := must[Lye](t)(ComputeLye(strong)); warned(lye, WarnConcentration) {
		t.Error("40 % is not above 40 %")
	}
	strong.Water.Value++
	if lye := must[Lye](t)(ComputeLye(strong)); !warned(lye, WarnConcentration) {
		t.Error("nothing warns above 40 %")
	}
	strong.NaOHShare, strong.KOHPurity = Whole/2, Whole
	if lye := must[Lye](t)(ComputeLye(strong)); !warned(lye, WarnPotashSolution) {
		t.Error("nothing says that the density of potash lye is an estimate")
	}
}

// TestWarningsBeginAbove checks the edges of the two doubts: lye equal to the
// least need does not warn, one millionth less superfat does (derived).
func TestWarningsBeginAbove(t *testing.T) {
	spread := SVRange{Low: sv("190"), Used: sv("200")} // 5 %
	single := SVRange{Used: sv("200")}
	for _, c := range []struct {
		name             string
		values           SVRange
		superfat, purity PPM
		code             WarningCode
		want             bool
	}{
		{"the spread to a hair", spread, 5 * Percent, Whole, WarnLyeHeavy, false},
		{"less than the spread", spread, 5*Percent - 1, Whole, WarnLyeHeavy, true},
		{"no range, no superfat", single, 0, Whole, WarnLyeHeavy, false},
		{"96.5 % sold, 100 % held", single, 35 * Percent / 10, 965_000, WarnPurity, false},
		{"the same with less superfat", single, 35*Percent/10 - 1, 965_000, WarnPurity, true},
		{"never purer than 100.5 %", single, 2 * Percent, 995_000, WarnPurity, false},
	} {
		lye := must[Lye](t)(ComputeLye(LyeRecipe{
			Oils:      []Oil{{Name: "oil", Mass: Kilogram, SV: c.values}},
			NaOHShare: Whole, Superfat: c.superfat, NaOHPurity: c.purity, Water: WaterRule{WaterByRatio, 2 * Whole},
		}))
		if warned(lye, c.code) != c.want {
			t.Errorf("%s: warnings %v, want %s %v", c.name, lye.Warnings, c.code, c.want)
		}
	}
}

func TestLyeRefuses(t *testing.T) {
	for _, c := range []struct {
		field  string
		change func(*LyeRecipe)
	}{
		{"oils", func(r *LyeRecipe) { r.Oils = nil }},
		{"oils[1].mass", func(r *LyeRecipe) { r.Oils[1].Mass = -1 }},
		{"oils[1].mass", func(r *LyeRecipe) { r.Oils[1].Mass = 0 }},
		{"oils[1].mass", func(r *LyeRecipe) { r.Oils[1].Mass = 1 << 62 }},
		{"oils[2].sv", func(r *LyeRecipe) { r.Oils[2].SV = SVRange{} }},
		{"oils[2].sv", func(r *LyeRecipe) { r.Oils[2].SV.Used = 190 }},
		{"oils[2].sv", func(r *LyeRecipe) { r.Oils[2].SV.Low = r.Oils[2].SV.Used + 1 }},
		{"oils[2].sv", func(r *LyeRecipe) { r.Oils[2].SV.High = r.Oils[2].SV.Used - 1 }},
		{"superfat", func(r *LyeRecipe) { r.Superfat = -1 }},
		{"superfat", func(r *LyeRecipe) { r.Superfat = Whole }},
		{"naoh_share", func(r *LyeRecipe) { r.NaOHShare = Whole + 1 }},
		{"naoh_purity", func(r *LyeRecipe) { r.NaOHPurity = 0 }},
		{"koh_purity", func(r *LyeRecipe) { r.NaOHShare = Whole / 2 }},
		{"water", func(r *LyeRecipe) { r.Water = WaterRule{} }},
		{"water", func(r *LyeRecipe) { r.Water = WaterRule{WaterByConcentration, 50*Percent + 1} }},
		{"water", func(r *LyeRecipe) { r.Water = WaterRule{WaterByRatio, Whole - 1} }},
		{"water", func(r *LyeRecipe) { r.Water = WaterRule{WaterByRatio, -1} }},
		{"water", func(r *LyeRecipe) { r.Water = WaterRule{WaterByOils, -1} }},
		{"water", func(r *LyeRecipe) { r.Water = WaterRule{WaterByOils, 5 * Percent} }},
	} {
		r := workedRecipe()
		c.change(&r)
		if r.NaOHShare > Whole {
			r.KOHPurity = Whole
		}
		_, err := ComputeLye(r)
		wantField(t, err, c.field)
	}
}

func TestWaxGivesNoGlycerol(t *testing.T) {
	r := workedRecipe()
	plain := must[Lye](t)(ComputeLye(r))
	r.Oils = append(r.Oils, Oil{Name: "beeswax", Mass: 20 * Gram, SV: SVRange{Used: sv("95.5")}, WaxEster: true})
	waxed := must[Lye](t)(ComputeLye(r))
	if waxed.Glycerol != plain.Glycerol || waxed.Soap != plain.Soap {
		t.Errorf("wax changed glycerol %s to %s, soap %s to %s", plain.Glycerol, waxed.Glycerol, plain.Soap, waxed.Soap)
	}
	if waxed.NaOH <= plain.NaOH {
		t.Error("wax takes no lye")
	}
}

func drawOils(t *rapid.T) []Oil {
	known := KnownOils()
	n := rapid.IntRange(1, 6).Draw(t, "oils")
	oils := make([]Oil, n)
	for i := range oils {
		k := known[rapid.IntRange(0, len(known)-1).Draw(t, "oil")]
		oils[i] = Oil{Name: k.Name, Mass: Mass(rapid.Int64Range(1, 5_000_000).Draw(t, "mg")), SV: k.SV, WaxEster: k.WaxEster}
	}
	return oils
}

func TestMoreSuperfatNeverMoreLye(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := LyeRecipe{
			Oils:       drawOils(t),
			NaOHShare:  PPM(rapid.Int64Range(0, int64(Whole)).Draw(t, "share")),
			NaOHPurity: 97 * Percent, KOHPurity: 90 * Percent,
			Superfat: PPM(rapid.Int64Range(0, int64(maxSuperfat)).Draw(t, "superfat")),
			Water:    WaterRule{WaterByConcentration, 33 * Percent},
		}
		less, err := ComputeLye(r)
		if err != nil {
			t.Fatal(err)
		}
		r.Superfat = PPM(rapid.Int64Range(int64(r.Superfat), int64(maxSuperfat)).Draw(t, "more"))
		more, err := ComputeLye(r)
		if err != nil {
			t.Fatal(err)
		}
		if more.NaOH > less.NaOH || more.KOH > less.KOH {
			t.Fatalf("more superfat, more lye: %+v after %+v", more, less)
		}
		if less.Solution != less.NaOH+less.KOH+less.Water {
			t.Fatalf("the solution is not the sum of its parts: %+v", less)
		}
	})
}

func TestLyeScalesLinearly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		factor := Mass(rapid.Int64Range(2, 50).Draw(t, "factor"))
		r := workedRecipe()
		r.Oils = drawOils(t)
		one, err := ComputeLye(r)
		if err != nil {
			t.Fatal(err)
		}
		for i := range r.Oils {
			r.Oils[i].Mass *= factor
		}
		many, err := ComputeLye(r)
		if err != nil {
			t.Fatal(err)
		}
		for _, pair := range [][2]Mass{
			{one.NaOH, many.NaOH}, {one.Water, many.Water}, {one.Glycerol, many.Glycerol}, {one.Soap, many.Soap},
		} {
			// Rounding once each leaves half a milligram times the factor, and half.
			if d := 2 * (pair[1] - factor*pair[0]); d > factor+1 || d < -factor-1 {
				t.Fatalf("%d times %s is %s", factor, pair[0], pair[1])
			}
		}
	})
}
