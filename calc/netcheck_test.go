package calc

import "testing"

// TestCheckNet weighs 120 g bars, which may fall short by 5.4 g (Directive 76/211/EEC
// Annex I 2.4, published): exactly the error is not more than it.
func TestCheckNet(t *testing.T) {
	got := must[NetCheck](t)(CheckNet(120*Gram, []Mass{120 * Gram, 114_600, 114_599, 109_200, 109_199}))
	want := []PackWeight{{120 * Gram, false, false}, {114_600, false, false}, {114_599, true, false}, {109_200, true, false}, {109_199, true, true}}
	for i, p := range got.Packs {
		if p != want[i] {
			t.Errorf("pack %d: %+v, want %+v", i, p, want[i])
		}
	}
	if got.Tolerable != 5_400 || got.Mean != 113_519 || !got.MeanShort {
		t.Errorf("in all: %+v", got)
	}
	if even := must[NetCheck](t)(CheckNet(120*Gram, []Mass{119 * Gram, 121 * Gram})); even.MeanShort || even.Packs[0].Short {
		t.Errorf("119 and 121 g against 120 g: %+v", even)
	}
	for _, c := range []struct {
		nominal Mass
		packs   []Mass
		field   string
	}{{Gram, []Mass{Gram}, "net_weight"}, {120 * Gram, nil, "weights"}, {120 * Gram, []Mass{0}, "weights[0]"}, {120 * Gram, make([]Mass, maxEntries+1), "weights"}} {
		_, err := CheckNet(c.nominal, c.packs)
		wantField(t, err, c.field)
	}
}
