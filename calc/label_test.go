package calc

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestTolerableNegativeError(t *testing.T) { // Directive 76/211/EEC Annex I 2.4, published
	for _, c := range []struct{ nominal, want Mass }{
		{25 * Gram, 2_300},
		{80 * Gram, 4_500},
		{110 * Gram, 5_000},
		{120 * Gram, 5_400},
		{5 * Gram, 500}, // 0.45, up
		{50 * Gram, 4_500},
		{100 * Gram, 4_500},
		{200 * Gram, 9 * Gram},
		{300 * Gram, 9 * Gram},
		{500 * Gram, 15 * Gram},
		{Kilogram, 15 * Gram},
		{10 * Kilogram, 150 * Gram},
	} {
		if got := must[Mass](t)(TolerableNegativeError(c.nominal)); got != c.want {
			t.Errorf("%s: %s, want %s", c.nominal, got, c.want)
		}
	}
	for _, nominal := range []Mass{-1, 0, 5*Gram - 1, 10*Kilogram + 1} {
		_, err := TolerableNegativeError(nominal)
		wantField(t, err, "net_weight")
	}
}

// TestTolerableErrorTable checks the middle of every published band against the
// table, and that neighbouring bands agree where they meet.
func TestTolerableErrorTable(t *testing.T) {
	bands := 0
	for _, row := range table(t, "tolerable_negative_error.csv") {
		if row[5] != "published" {
			continue
		}
		bands++
		from, to := tableNumber(row[0], int64(Gram)), tableNumber(row[1], int64(Gram))
		for _, nominal := range []int64{from, (from + to) / 2, to} {
			var want int64
			if row[2] == "" {
				want = tableNumber(row[3], int64(Gram))
			} else {
				share := tableNumber(row[2], int64(Percent))
				want = mulDivUp(nominal*share, 1, int64(Whole)*100) * 100
			}
			if got := must[Mass](t)(TolerableNegativeError(Mass(nominal))); int64(got) != want {
				t.Errorf("%s: %s, want %s", Mass(nominal), got, Mass(want))
			}
		}
	}
	if bands != len(tneBands()) {
		t.Errorf("%d published bands, %d in the program", bands, len(tneBands()))
	}
}

func TestTolerableErrorNeverFalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Mass(rapid.Int64Range(int64(5*Gram), int64(10*Kilogram)).Draw(t, "a"))
		b := Mass(rapid.Int64Range(int64(a), int64(min(a+10*Gram, 10*Kilogram))).Draw(t, "b"))
		ta, errA := TolerableNegativeError(a)
		tb, errB := TolerableNegativeError(b)
		if errA != nil || errB != nil || tb < ta || tb-ta > Gram {
			t.Fatalf("%s: %s, %s: %s (%v, %v)", a, ta, b, tb, errA, errB)
		}
	})
}

func TestOrderIngredients(t *testing.T) {
	got := OrderIngredients([]LabelItem{
		{Name: "Mica", Mass: 900, Colourant: true},
		{Name: "Aqua", Mass: 300},
		{Name: "Olea Europaea Fruit Oil", Mass: 400},
		{Name: "Parfum", Mass: 30},
		{Name: "aqua ", Mass: 200},
		{Name: "CI 77491", Mass: 1, Colourant: true},
		{Name: "Kaolin", Mass: 0, Colourant: true}, // also a filler, so it stays among the others
		{Name: "Kaolin", Mass: 30},
	})
	want := []LabelItem{
		{"Aqua", 500, false},
		{"Olea Europaea Fruit Oil", 400, false},
		{"Kaolin", 30, false},
		{"Parfum", 30, false},
		{"Mica", 900, true},
		{"CI 77491", 1, true},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
}

func TestIngredientOrderMatchesWeights(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) LabelItem {
			return LabelItem{
				Name:      fmt.Sprintf("i%d", rapid.IntRange(0, 9).Draw(t, "name")),
				Mass:      Mass(rapid.Int64Range(1, 1000).Draw(t, "mg")),
				Colourant: rapid.Bool().Draw(t, "colourant"),
			}
		}), 0, 20).Draw(t, "items")
		var before, after Mass
		for _, it := range items {
			before += it.Mass
		}
		out := OrderIngredients(items)
		for i, it := range out {
			after += it.Mass
			if i == 0 {
				continue
			}
			last := out[i-1]
			if last.Colourant && !it.Colourant || last.Colourant == it.Colourant && last.Mass < it.Mass {
				t.Fatalf("%v stands before %v", last, it)
			}
		}
		if before != after {
			t.Fatalf("%s became %s", before, after)
		}
	})
}

func TestCautions(t *testing.T) {
	all := ""
	for _, c := range Cautions() {
		if c.Source == "" || c.Topic == "" || !strings.HasSuffix(c.Text, ".") {
			t.Errorf("%+v lacks a source or topic, or is no sentence", c)
		}
		all += c.Text + "\n"
	}
	for _, must := range []string{
		"never pour water onto lye", "goggles", "gloves", "long sleeves", "aluminium, tin and zinc", "running water",
		"15 minutes", "medical help", "do not bring on vomiting", "vinegar", "flame", "Children and animals", "locked",
		"neither sold nor given away",
	} {
		if !strings.Contains(strings.ToLower(all), strings.ToLower(must)) {
			t.Errorf("no caution says %q", must)
		}
	}
}
