package calc

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// noisy is weekly weighings of n weeks on a scale that strays by sd.
func noisy(rng *rand.Rand, c DryingCurve, n int, sd float64) []Weighing {
	ws := weekly(c, n)
	for i := range ws {
		ws[i].Mass += Mass(math.Round(sd * rng.NormFloat64()))
	}
	return ws
}

// TestSpreadHoldsNineTimesInTen weighs the same bar many times over with
// errors of a known size: the truth must lie within the spread about as often as it
// claims. A linearised spread is not exact, hence the room; days are rounded outward.
func TestSpreadHoldsNineTimesInTen(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const tries = 400
	for _, weeks := range []int{5, 8} {
		weight, ready := 0, 0
		truth, _ := bar().StableAfter(Percent)
		for range tries {
			fit := must[CureFit](t)(FitCure(noisy(rng, bar(), weeks, 150)))
			within, ok := fit.Around(42)
			if off := fit.Curve.At(42) - bar().At(42); ok && off >= -within && off <= within {
				weight++
			}
			if early, late, ok := fit.StableBetween(Percent); ok && early <= truth && truth <= late {
				ready++
			}
		}
		for what, hits := range map[string]int{"weight": weight, "day": ready} {
			if share := float64(hits) / tries; share < 0.82 || (what == "weight" && share > 0.99) {
				t.Errorf("%d weighings: the %s lies within its spread in %.0f %% of the tries, want about 90 %%", weeks, what, 100*share)
			}
		}
	}
}

func TestSpreadNarrowsWithWeighings(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	ws := noisy(rng, bar(), 10, 100)
	few, _ := must[CureFit](t)(FitCure(ws[:4])).Around(42)
	many, ok := must[CureFit](t)(FitCure(ws)).Around(42)
	if !ok || many >= few || many < scaleError/2 {
		t.Errorf("four weighings leave %s, ten %s", few, many)
	}
	three := must[CureFit](t)(FitCure(ws[:3]))
	if _, ok := three.Around(42); ok {
		t.Error("three weighings fit exactly, yet a spread is claimed")
	}
	if _, _, ok := three.StableBetween(Percent); ok {
		t.Error("three weighings fit exactly, yet days are claimed")
	}
}

// TestMarksShareTheRate weighs two bars of different size, one of them from
// the second week on, and a third only once.
func TestMarksShareTheRate(t *testing.T) {
	large := DryingCurve{Start: 150 * Gram, End: 132 * Gram, Rate: 0.08}
	var ws []Weighing
	for i := range 5 {
		at := float64(7 * i)
		ws = append(ws, Weighing{at, bar().At(at), "a"})
		if i > 0 {
			ws = append(ws, Weighing{at, large.At(at), "b"})
		}
	}
	ws = append(ws, Weighing{7, 50 * Gram, "c"})
	fit := must[CureFit](t)(FitCure(ws))
	mean := (bar().At(42) + large.At(42)) / 2
	if off := fit.Curve.At(42) - mean; fit.Marks != 2 || fit.N != 9 || fit.Few || off < -5 || off > 5 || math.Abs(fit.Curve.Rate-0.08) > 1e-3 {
		t.Errorf("%+v: at 42 days %s, want %s", fit.Curve, fit.Curve.At(42), mean)
	}
}

// TestCureFitOfLateWeighings: weighings that begin weeks after the cut say little of
// the weight at the cut, and must not be led back to tonnes. Weights of our own.
func TestCureFitOfLateWeighings(t *testing.T) {
	for _, from := range []float64{30, 90, 300} {
		fit, err := FitCure([]Weighing{
			{Days: from, Mass: 110 * Gram}, {Days: from + 7, Mass: 100 * Gram}, {Days: from + 14, Mass: 100 * Gram},
		})
		var fault FieldErrors
		if errors.As(err, &fault) {
			continue
		}
		if c := fit.Curve; c.Start < 110*Gram || c.Start > 220*Gram || c.End <= 0 || c.LossAt(from) < 0 || c.LossAt(from) > Whole {
			t.Errorf("from day %.0f: it starts at %s and ends at %s, %v", from, c.Start, c.End, err)
		}
	}
}
