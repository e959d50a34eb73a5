package calc

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func limited(name string, share, limit PPM) FragranceOil {
	return FragranceOil{Name: name, Share: share, Limit: Limit{LimitMax, limit}}
}

func TestSafeUse(t *testing.T) { // derived: U <= 1 / sum(x / L)
	for _, c := range []struct {
		name  string
		blend []FragranceOil
		want  string
	}{
		{"50/50 of 5 and 5", []FragranceOil{limited("a", 50*Percent, 5*Percent), limited("b", 50*Percent, 5*Percent)}, "5.000"},
		{"70/30 of 4 and 10", []FragranceOil{limited("a", 70*Percent, 4*Percent), limited("b", 30*Percent, 10*Percent)}, "4.878"},
		{"one of 3", []FragranceOil{limited("a", Whole, 3*Percent)}, "3.000"},
		{"half of it without limit", []FragranceOil{
			limited("a", 50*Percent, 5*Percent),
			{Name: "b", Share: 50 * Percent, Limit: Limit{Kind: NoLimit}},
		}, "10.000"},
	} {
		got := must[Blend](t)(SafeUse(c.blend))
		if got.MaxUse.Percent(3) != c.want || !got.Limited {
			t.Errorf("%s: %s, want %s %%", c.name, got.MaxUse, c.want)
		}
	}
}

func TestSafeUseWithoutLimits(t *testing.T) {
	got := must[Blend](t)(SafeUse([]FragranceOil{
		{Name: "plain", Share: 40 * Percent, Limit: Limit{Kind: NoLimit}},
		{Name: "unproven", Share: 60 * Percent, Limit: Limit{Kind: NoCertificate}},
	}))
	if got.Limited || got.MaxUse != Whole || !reflect.DeepEqual(got.Uncertified, []string{"unproven"}) {
		t.Errorf("got %+v, want no limit and one oil without a certificate", got)
	}
}

func TestFragranceRefuses(t *testing.T) {
	for _, c := range []struct {
		field string
		blend []FragranceOil
	}{
		{"fragrance", nil},
		{"fragrance", []FragranceOil{limited("a", 99*Percent, 5*Percent)}},
		{"fragrance[0].share", []FragranceOil{limited("a", 0, 5*Percent)}},
		{"fragrance[0].limit", []FragranceOil{limited("a", Whole, 0)}},
		{"fragrance[0].limit", []FragranceOil{{Name: "a", Share: Whole}}},
		{"fragrance[0].limit", []FragranceOil{{Name: "a", Share: Whole, Limit: Limit{Kind: NotPermitted}}}},
		{"fragrance[0].allergens[0]", []FragranceOil{{
			Name: "a", Share: Whole, Limit: Limit{Kind: NoLimit}, Allergens: []Allergen{{"", 1}},
		}}},
	} {
		_, err := SafeUse(c.blend)
		wantField(t, err, c.field)
		_, err = CheckUse(Percent, 0, c.blend)
		wantField(t, err, c.field)
	}
	five := []FragranceOil{limited("a", Whole, 5*Percent)}
	_, err := CheckUse(-1, 0, five)
	wantField(t, err, "use")
	_, err = CheckUse(1, Whole, five)
	wantField(t, err, "loss")
}

func TestOnCuredMass(t *testing.T) { // derived: 3.00 % of batter is 3.41 % after 12 % loss
	if got := OnCured(3*Percent, 12*Percent); got.Percent(2) != "3.41" {
		t.Errorf("got %s, want 3.41 %%", got)
	}
	blend := []FragranceOil{limited("a", Whole, 34*Percent/10)}
	_, err := CheckUse(3*Percent, 12*Percent, blend)
	wantField(t, err, "use")
	if !strings.Contains(err.Error(), "2.992 %") { // 3.4 x 0.88
		t.Errorf("%q does not name the largest safe use, 2.992 %%", err)
	}
	if _, err := CheckUse(29_920, 12*Percent, blend); err != nil {
		t.Errorf("the largest safe use is refused: %v", err)
	}
}

func TestAllergenThreshold(t *testing.T) { // Regulation (EC) 1223/2009 Annex III, published: above 0.01 % of a rinse-off product
	blend := []FragranceOil{
		{Name: "a", Share: 50 * Percent, Allergens: []Allergen{{"Linalool", 1 * Percent}, {"Limonene", 2 * Percent}}},
		{Name: "b", Share: 50 * Percent, Allergens: []Allergen{{" linalool", 1*Percent + 1}, {"Citral", Percent / 10}}},
	}
	for _, c := range []struct {
		use  PPM
		want []string
	}{
		{1 * Percent, []string{"Linalool"}}, // limonene is at 0.01 % exactly, linalool just above
		{1*Percent - 1, nil},
		{1*Percent + 1, []string{"Limonene", "Linalool"}},
		{20*Percent + 1, []string{"Citral", "Limonene", "Linalool"}},
		{20 * Percent, []string{"Limonene", "Linalool"}},
	} {
		if got := AllergensToName(c.use, blend); !reflect.DeepEqual(got, c.want) {
			t.Errorf("at %s: %v, want %v", c.use, got, c.want)
		}
	}
}

// TestSafeUseHoldsEveryLimit also checks that the rule's whole promise holds:
// even if all oils were the same restricted substance, each at its own limit.
func TestSafeUseHoldsEveryLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		first := PPM(rapid.Int64Range(1, int64(Whole)-1).Draw(t, "share"))
		blend := []FragranceOil{
			limited("a", first, PPM(rapid.Int64Range(1, int64(Whole)).Draw(t, "a"))),
			limited("b", Whole-first, PPM(rapid.Int64Range(1, int64(Whole)).Draw(t, "b"))),
		}
		loss := PPM(rapid.Int64Range(0, int64(50*Percent)).Draw(t, "loss"))
		safe, err := SafeUse(blend)
		if err != nil {
			t.Fatal(err)
		}
		load := 0.0
		for _, f := range blend {
			load += float64(f.Share) / float64(Whole) * float64(safe.MaxUse) / float64(f.Limit.Max)
		}
		if load > 1+1e-9 {
			t.Fatalf("at %s the limits are used to %v", safe.MaxUse, load)
		}
		if _, err := CheckUse(safe.LargestUse(loss), loss, blend); err != nil {
			t.Fatalf("the largest use offered is refused: %v", err)
		}
		if over := safe.LargestUse(loss) + 1; over <= Whole && OnCured(over, loss) > safe.MaxUse {
			if _, err := CheckUse(over, loss, blend); err == nil {
				t.Fatalf("%s of the batter passes", over)
			}
		}
	})
}
