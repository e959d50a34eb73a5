package schedule

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestFills(t *testing.T) {
	tray := Fit{Full: 20, Min: 5, Step: 1}
	for _, c := range []struct {
		name          string
		fit           Fit
		units, pieces int
		want          []Filling
	}{
		{"one part full", tray, 2, 37, []Filling{{1, 20}, {1, 17}}},
		{"all full", tray, 3, 60, []Filling{{3, 20}}},
		{"all at their least", tray, 2, 10, []Filling{{2, 5}}},
		{"one in between", tray, 4, 52, []Filling{{2, 20}, {1, 7}, {1, 5}}},
		{"none in between", tray, 3, 30, []Filling{{1, 20}, {2, 5}}},
		{"halves", Fit{Full: 24, Min: 12, Step: 2}, 2, 38, []Filling{{1, 24}, {1, 14}}},
		{"full only", Fit{Full: 12, Min: 12}, 2, 24, []Filling{{2, 12}}},
		{"full off the steps", Fit{Full: 11, Min: 4, Step: 3}, 3, 24, []Filling{{2, 10}, {1, 4}}},
		{"an odd piece of halves", Fit{Full: 24, Min: 12, Step: 2}, 2, 37, []Filling{{1, 24}, {1, 14}}},
		{"more than they hold", tray, 2, 41, []Filling{{2, 20}}},
		{"too few for the least", tray, 2, 7, []Filling{{1, 4}, {1, 3}}},
		{"too few halves for the least", Fit{Full: 24, Min: 12, Step: 2}, 3, 21, []Filling{{2, 8}, {1, 6}}},
		{"fewer than molds", tray, 3, 1, []Filling{{3, 1}}},
		{"no mold", tray, 0, 1, nil},
	} {
		if got := c.fit.Fills(c.units, c.pieces); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// drawFit is any mold, its full fill on the steps or off them.
func drawFit(t *rapid.T) Fit {
	full := rapid.IntRange(1, 60).Draw(t, "full")
	return Fit{Full: full, Min: rapid.IntRange(1, full).Draw(t, "min"), Step: rapid.IntRange(0, 6).Draw(t, "step")}
}

// TestFillsAreWhatIsPlanned: whatever a plan may put into molds is what their fills
// come to, and each of them is one that the mold allows.
func TestFillsAreWhatIsPlanned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, units := drawFit(t), rapid.IntRange(1, mostUnits).Draw(t, "units")
		pieces := rapid.IntRange(0, units*f.Full+5).Draw(t, "pieces")
		molds, sum, between := 0, 0, 0
		step := max(1, f.Step)
		most := (f.Full - f.Min) / step * step
		fills := f.Fills(units, pieces)
		for i, x := range fills {
			molds, sum = molds+x.Units, sum+x.Units*x.Each
			if x.Units < 1 || x.Each > f.Full || i > 0 && x.Each >= fills[i-1].Each {
				t.Fatalf("%+v: %v", f, fills)
			}
			if pieces >= units*f.Min && x.Each != f.Full && (x.Each < f.Min || (x.Each-f.Min)%step != 0) {
				t.Fatalf("%+v: no fill for %d in %v", f, x.Each, fills)
			}
			if x.Each != f.Full && x.Each != f.Min && x.Each != f.Min+most {
				between += x.Units
			}
		}
		switch {
		case molds != units:
			t.Fatalf("%+v: %d molds are filled as %v", f, units, fills)
		case f.attainable(units, pieces) && (sum != pieces || between > 1):
			t.Fatalf("%+v: %d pieces are filled as %v", f, pieces, fills)
		case sum < min(pieces, units*f.Full):
			t.Fatalf("%+v: %v is too few for %d", f, fills, pieces)
		}
	})
}
