package calc

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func scented(name string, m Mass, l Limit, allergens ...Allergen) FragranceDose {
	return FragranceDose{FragranceOil{Name: name, Limit: l, Allergens: allergens}, m}
}

func most(p PPM) Limit { return Limit{LimitMax, p} }

func TestUseOf(t *testing.T) { // derived: U <= 1 / sum(x / L), on the cured bar; 3.00 % of batter is 3.41 % after 12 % loss
	for _, c := range []struct {
		name          string
		doses         []FragranceDose
		loss          PPM
		cured, maxUse string
		safe          bool
	}{
		{"3 % of the batter after 12 % loss", []FragranceDose{scented("a", 30*Gram, most(5*Percent))}, 12 * Percent, "3.41", "5.000", true},
		{"the same above 3.4 %", []FragranceDose{scented("a", 30*Gram, most(34*Percent/10))}, 12 * Percent, "3.41", "3.400", false},
		{"2.992 % of the batter, 3.4 x 0.88", []FragranceDose{scented("a", 29_920, most(34*Percent/10))}, 12 * Percent, "3.40", "3.400", true},
		{"at its limit", []FragranceDose{scented("a", 50*Gram, most(5*Percent))}, 0, "5.00", "5.000", true},
		{"a milligram more", []FragranceDose{scented("a", 50*Gram+1, most(5*Percent))}, 0, "5.00", "5.000", false},
		{"50/50 of 5 and 5", []FragranceDose{scented("a", 25*Gram, most(5*Percent)), scented("b", 25*Gram, most(5*Percent))}, 0, "5.00", "5.000", true},
		{"70/30 of 4 and 10", []FragranceDose{scented("a", 35*Gram, most(4*Percent)), scented("b", 15*Gram, most(10*Percent))}, 0, "5.00", "4.878", false},
		{"half of it without limit", []FragranceDose{scented("a", 50*Gram, most(5*Percent)), scented("b", 50*Gram, Limit{Kind: NoLimit})}, 0, "10.00", "10.000", true},
		{"each under its own limit, not together", []FragranceDose{scented("a", 30*Gram, most(4*Percent)), scented("b", 90*Gram, most(10*Percent))}, 0, "12.00", "7.273", false},
		{"without limit", []FragranceDose{scented("a", 90*Gram, Limit{Kind: NoLimit})}, 0, "9.00", "100.000", true},
	} {
		use := must[FragranceUse](t)(UseOf(c.doses, Kilogram, c.loss))
		if use.Cured.Percent(2) != c.cured || use.MaxUse.Percent(3) != c.maxUse || use.Safe != c.safe || use.Limited == (c.maxUse == "100.000") {
			t.Errorf("%s: %+v, want %s of at most %s, safe %v", c.name, use, c.cured, c.maxUse, c.safe)
		}
	}
}

// TestMostKeepsTheRestOfTheBatch: 29.917 g in 970 g of other batter is 2.992 %
// of the whole and 3.4 % after 12 % loss (derived).
func TestMostKeepsTheRestOfTheBatch(t *testing.T) {
	use := must[FragranceUse](t)(UseOf([]FragranceDose{scented("a", 30*Gram, most(34*Percent/10))}, Kilogram, 12*Percent))
	if !slices.Equal(use.Most, []Mass{29_917}) {
		t.Errorf("at most %v, want 29.917 g", use.Most)
	}
	use = must[FragranceUse](t)(UseOf([]FragranceDose{scented("a", 30*Gram, most(Whole))}, Kilogram, 0))
	if !slices.Equal(use.Most, []Mass{-1}) {
		t.Errorf("at most %v, want no bound from a limit of all the bar", use.Most)
	}
}

// TestMaxUseHoldsEveryLimit uses the largest share: even if all oils were the
// same restricted substance, each at its own limit, the bar holds no more of it.
func TestMaxUseHoldsEveryLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dose := func(name string) FragranceDose {
			return scented(name, Mass(rapid.Int64Range(1, 300_000).Draw(t, name)), most(PPM(rapid.Int64Range(1, int64(Whole)).Draw(t, name+" limit"))))
		}
		doses := []FragranceDose{dose("a"), dose("b")}
		use, err := UseOf(doses, Kilogram, PPM(rapid.Int64Range(0, int64(50*Percent)).Draw(t, "loss")))
		if err != nil {
			t.Fatal(err)
		}
		load := 0.0
		for _, d := range doses {
			load += float64(d.Mass) / float64(doses[0].Mass+doses[1].Mass) * float64(use.MaxUse) / float64(d.Limit.Max)
		}
		if load > 1+1e-9 {
			t.Errorf("at %s the limits are used to %v", use.MaxUse, load)
		}
		if use.Cured <= use.MaxUse && !use.Safe || use.Cured > use.MaxUse+1 && use.Safe {
			t.Errorf("%s of at most %s: safe is %v", use.Cured, use.MaxUse, use.Safe)
		}
	})
}

func TestUseOfTellsForbiddenAndUnproven(t *testing.T) {
	use := must[FragranceUse](t)(UseOf([]FragranceDose{
		scented("a", Gram, Limit{Kind: NoCertificate}), scented("b", Gram, Limit{Kind: NotPermitted}), scented("c", Gram, Limit{Kind: NoLimit}),
	}, Kilogram, 0))
	if use.Safe || use.MaxUse != 0 || !slices.Equal(use.Forbidden, []int{1}) || !slices.Equal(use.Unproven, []int{0}) {
		t.Errorf("got %+v", use)
	}
}

func TestUseOfWithoutAnyLimit(t *testing.T) {
	use := must[FragranceUse](t)(UseOf([]FragranceDose{
		scented("plain", 40*Gram, Limit{Kind: NoLimit}), scented("unproven", 60*Gram, Limit{Kind: NoCertificate}),
	}, Kilogram, 0))
	if use.Limited || !use.Safe || use.MaxUse != Whole || !slices.Equal(use.Unproven, []int{1}) || !slices.Equal(use.Most, []Mass{-1, -1}) {
		t.Errorf("got %+v, want no limit and one oil without a certificate", use)
	}
}

func TestUseOfRefuses(t *testing.T) {
	for _, c := range []struct {
		field  string
		doses  []FragranceDose
		batter Mass
		loss   PPM
	}{
		{"batter", nil, 0, 0},
		{"batter", []FragranceDose{scented("a", 2*Gram, Limit{Kind: NoLimit})}, Gram, 0},
		{"loss", nil, Gram, 51 * Percent},
		{"loss", nil, Gram, -1},
		{"fragrance[0].mass", []FragranceDose{scented("a", 0, Limit{Kind: NoLimit})}, Gram, 0},
		{"fragrance[0].limit", []FragranceDose{scented("a", 1, Limit{})}, Gram, 0},
		{"fragrance[0].limit", []FragranceDose{scented("a", 1, most(0))}, Gram, 0},
		{"fragrance", make([]FragranceDose, maxEntries+1), Gram, 0},
	} {
		_, err := UseOf(c.doses, c.batter, c.loss)
		wantField(t, err, c.field)
		_, err = AllergensIn(c.doses, c.batter, c.loss)
		wantField(t, err, c.field)
	}
}

// TestMostIsTheLargestSafeDose takes the doses that are said to be the largest,
// all together and each alone: they are safe, and one milligram more is not.
func TestMostIsTheLargestSafeDose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var doses []FragranceDose
		var total Mass
		for range rapid.IntRange(1, 4).Draw(t, "doses") {
			d := scented("x", Mass(rapid.Int64Range(1, 300_000).Draw(t, "mg")), Limit{Kind: NoLimit})
			if rapid.Bool().Draw(t, "limited") {
				d.Limit = most(PPM(rapid.Int64Range(1, int64(40*Percent)).Draw(t, "limit"))) // nearer to all of the bar, the most is tons
			}
			doses, total = append(doses, d), total+d.Mass
		}
		rest := Mass(rapid.Int64Range(1, 2_000_000).Draw(t, "rest"))
		loss := PPM(rapid.Int64Range(1, int64(50*Percent)).Draw(t, "loss"))
		use, err := UseOf(doses, rest+total, loss)
		if err != nil {
			t.Fatal(err)
		}
		if !use.Limited {
			return
		}
		safe := func(masses []Mass) bool {
			var changed []FragranceDose
			batter := rest
			for i, d := range doses {
				if d.Mass = masses[i]; d.Mass > 0 {
					changed, batter = append(changed, d), batter+d.Mass
				}
			}
			got, err := UseOf(changed, batter, loss)
			if err != nil {
				t.Fatal(err)
			}
			return got.Safe
		}
		if use.Most[0] >= 0 {
			j := slices.IndexFunc(doses, func(d FragranceDose) bool { return d.Limit.Kind == LimitMax })
			above := slices.Clone(use.Most)
			for i, d := range doses { // the limited ones up, and the others down: rounding makes none of it safe
				above[i] = d.Mass * (use.Most[j] + 6) / doses[j].Mass
				if d.Limit.Kind == LimitMax {
					above[i]++
				}
			}
			if !safe(use.Most) || use.Safe != (use.Most[j] >= doses[j].Mass) || safe(above) {
				t.Errorf("largest doses %v of %v: %v safe, %v for %v above", use.Most, doses, safe(use.Most), safe(above), above)
			}
		}
		for i, one := range use.Alone {
			if one < 0 {
				continue
			}
			masses := make([]Mass, len(doses))
			for j, d := range doses {
				masses[j] = d.Mass
			}
			masses[i] = one
			at := safe(masses)
			masses[i]++
			if one > 0 && !at || safe(masses) {
				t.Errorf("dose %d alone of %v: %s is safe: %v, a milligram more: %v", i, doses, one, at, safe(masses))
			}
		}
	})
}

func TestAllergensInNamesWhatIsAboveTheThreshold(t *testing.T) { // Regulation (EC) 1223/2009 Annex III: above 0.01 %
	limonene := func(share PPM) Allergen { return Allergen{"Limonene", share} }
	for _, c := range []struct {
		name  string
		doses []FragranceDose
		loss  PPM
		named bool
	}{
		{"exactly 0.01 %", []FragranceDose{scented("a", 10*Gram, Limit{Kind: NoLimit}, limonene(Percent))}, 0, false},
		{"a ten-thousandth of a percent more of it", []FragranceDose{scented("a", 10*Gram, Limit{Kind: NoLimit}, limonene(Percent+1))}, 0, true},
		{"a milligram more of the oil", []FragranceDose{scented("a", 10*Gram+1, Limit{Kind: NoLimit}, limonene(Percent))}, 0, true},
		{"exactly, but on the cured bar", []FragranceDose{scented("a", 10*Gram, Limit{Kind: NoLimit}, limonene(Percent))}, Percent, true},
		{"two halves", []FragranceDose{
			scented("a", 5*Gram, Limit{Kind: NoLimit}, limonene(Percent)), scented("b", 5*Gram, Limit{Kind: NoLimit}, Allergen{" limonene", Percent}),
		}, 0, false},
		{"more than two halves", []FragranceDose{
			scented("a", 5*Gram, Limit{Kind: NoLimit}, limonene(Percent)), scented("b", 6*Gram, Limit{Kind: NoLimit}, Allergen{"LIMONENE", Percent}),
		}, 0, true},
	} {
		got := must[[]AllergenAmount](t)(AllergensIn(c.doses, Kilogram, c.loss))
		if len(got) != 1 || got[0].Name != "Limonene" || got[0].Named() != c.named {
			t.Errorf("%s: %+v, want named %v", c.name, got, c.named)
		}
	}
}

// TestAllergensOfABlend adds up what two oils hold, a dose of each in a kilogram.
func TestAllergensOfABlend(t *testing.T) { // Regulation (EC) 1223/2009 Annex III, published: above 0.01 % of a rinse-off product
	none := Limit{Kind: NoLimit}
	for _, c := range []struct {
		dose Mass
		want []string
	}{
		{5 * Gram, []string{"Linalool"}}, // limonene is at 0.01 % exactly, linalool just above
		{5*Gram - 1, nil},
		{5*Gram + 1, []string{"Limonene", "Linalool"}},
		{100 * Gram, []string{"Limonene", "Linalool"}},
		{100*Gram + 1, []string{"Citral", "Limonene", "Linalool"}},
	} {
		var names []string
		for _, a := range must[[]AllergenAmount](t)(AllergensIn([]FragranceDose{
			scented("a", c.dose, none, Allergen{"Linalool", Percent}, Allergen{"Limonene", 2 * Percent}),
			scented("b", c.dose, none, Allergen{" linalool", Percent + 1}, Allergen{"Citral", Percent / 10}),
		}, Kilogram, 0)) {
			if a.Named() {
				names = append(names, a.Name)
			}
		}
		slices.Sort(names)
		if !slices.Equal(names, c.want) {
			t.Errorf("%s of each: %v, want %v", c.dose, names, c.want)
		}
	}
}

func TestSaponified(t *testing.T) { // derived: what goes in comes out
	batch := LyeRecipe{
		Oils: []Oil{
			{Name: "olive", Mass: 500 * Gram, SV: SVRange{Used: 190_000}},
			{Name: "coconut", Mass: 300 * Gram, SV: SVRange{Used: 256_500}},
			{Name: "palm", Mass: 200 * Gram, SV: SVRange{Used: 200_000}},
		},
		NaOHShare: Whole, NaOHPurity: Whole, Superfat: 5 * Percent, Water: WaterRule{Basis: WaterByRatio, Value: 2 * Whole},
	}
	lye := must[Lye](t)(ComputeLye(batch))
	soaps, glycerol, err := Saponified(batch)
	if err != nil {
		t.Fatal(err)
	}
	total := glycerol
	for _, m := range soaps {
		total += m
	}
	if total != Kilogram+lye.PureNaOH || max(glycerol-lye.Glycerol, lye.Glycerol-glycerol) > 3 {
		t.Errorf("%v and %s of glycerol make %s, want %s; the batch sets %s free", soaps, glycerol, total, Kilogram+lye.PureNaOH, lye.Glycerol)
	}
	if free := 50 * Gram; max(total-glycerol-free-lye.Soap, lye.Soap+free+glycerol-total) > 3 {
		t.Errorf("soap %s with its free fat, want %s", total-glycerol, lye.Soap+free)
	}
	_, _, err = Saponified(LyeRecipe{NaOHShare: Whole, NaOHPurity: Whole, Water: batch.Water})
	wantField(t, err, "oils")
}

func TestCostForPartsAddsUp(t *testing.T) { // derived
	whole := Cost{Materials: 1000, Packaging: 90, Labour: 500, Total: 1590, Piece: 53}
	got := whole.For(7, 30)
	if want := (Cost{Materials: 233, Packaging: 21, Labour: 117, Total: 371, Piece: 53}); got != want {
		t.Errorf("7 of 30 cost %+v, want %+v", got, want)
	}
	for _, c := range []struct {
		total  Money
		markup PPM
		n      int
		want   Money
	}{{371, 0, 7, 53}, {371, 50 * Percent, 7, 80}, {0, Whole, 3, 0}, {100, 0, 3, 34}} {
		if got := PriceFor(c.total, c.markup, c.n); got != c.want {
			t.Errorf("%d pieces that cost %d at %s on top: %d each, want %d", c.n, c.total, c.markup, got, c.want)
		}
	}
}
