package calc

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// bar loses 12 % in the end, half of that in the first 8.7 days (invented, in
// the range of 8 to 15 % that is common practice).
func bar() DryingCurve { return DryingCurve{Start: 120 * Gram, End: 105_600, Rate: 0.08} }

func TestDryingCurve(t *testing.T) { // derived from the law M(t) = Me + (M0 - Me) e^(-kt), published
	for _, c := range []struct {
		days float64
		want Mass
	}{
		{0, 120_000},
		{math.Ln2 / 0.08, 112_800}, // half of the 14.4 g
		{1 / 0.08, 110_897},        // 1/e of it left: 5.2974 g
		{42, 106_100},              // e^-3.36 of it left: 0.5001 g
		{10_000, 105_600},
	} {
		if got := bar().At(c.days); got != c.want {
			t.Errorf("after %.2f days %s, want %s", c.days, got, c.want)
		}
	}
	if got := bar().LossAt(10_000); got != 12*Percent {
		t.Errorf("loss %s, want 12 %%", got)
	}
}

func weekly(c DryingCurve, n int) []Weighing {
	out := make([]Weighing, n)
	for i := range out {
		out[i] = Weighing{Days: float64(7 * i), Mass: c.At(float64(7 * i))}
	}
	return out
}

// TestFourWeighingsPredict42Days asks for 0.5 % at 42 days from four weekly
// weighings on a scale that shows 0.1 g, over many bars.
func TestFourWeighingsPredict42Days(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		truth := DryingCurve{Start: Mass(80_000 + rng.IntN(80_000)), Rate: 0.05 + 0.1*rng.Float64()}
		truth.End = truth.Start * Mass(850+rng.IntN(70)) / 1000
		ws := weekly(truth, 4)
		for i := range ws {
			ws[i].Mass = (ws[i].Mass + 50) / 100 * 100
		}
		fit := must[CureFit](t)(FitCure(ws))
		if fit.Few {
			t.Error("four weighings are enough to check a curve by")
		}
		got, want := fit.Curve.At(42), truth.At(42)
		if off := math.Abs(float64(got-want)) / float64(want); off > 0.005 {
			t.Errorf("%+v: predicted %s, is %s, off by %.2f %%", truth, got, want, 100*off)
		}
	}
}

func TestFitFindsTheCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		truth := DryingCurve{
			Start: Mass(rapid.Int64Range(50_000, 2_000_000).Draw(t, "start")),
			Rate:  rapid.Float64Range(0.03, 0.3).Draw(t, "rate"),
		}
		truth.End = truth.Start * Mass(rapid.Int64Range(80, 93).Draw(t, "end")) / 100
		fit, err := FitCure(weekly(truth, 6))
		if err != nil {
			t.Fatal(err)
		}
		if fit.N != 6 || fit.Few || fit.Flat {
			t.Fatalf("%+v", fit)
		}
		for _, day := range []float64{0, 10, 42, 90} {
			if off := fit.Curve.At(day) - truth.At(day); off < -30 || off > 30 {
				t.Fatalf("day %v: %s, want %s; fit %+v", day, fit.Curve.At(day), truth.At(day), fit)
			}
		}
		if fit.Residual > 2 { // the weighings are rounded to the milligram
			t.Fatalf("residual standard error %v mg", fit.Residual)
		}
	})
}

// TestResidual adds a known pattern to a curve: the residual standard error
// must come out near the root of its squares over n - 3.
func TestResidual(t *testing.T) {
	ws := weekly(bar(), 12)
	for i := range ws {
		ws[i].Mass += Mass(200 * (1 - 2*(i%2)))
	}
	fit := must[CureFit](t)(FitCure(ws))
	if most := 200 * math.Sqrt(12.0/9); fit.Residual < 180 || fit.Residual > most {
		t.Errorf("residual %v mg, want between 180 and %v", fit.Residual, most)
	}
}

func TestFewWeighings(t *testing.T) {
	fit := must[CureFit](t)(FitCure(weekly(bar(), 3)))
	if !fit.Few || fit.Residual != 0 || fit.N != 3 {
		t.Errorf("%+v: three weighings fit exactly and are few", fit)
	}
	if off := fit.Curve.At(42) - bar().At(42); off < -20 || off > 20 {
		t.Errorf("day 42: %s, want %s", fit.Curve.At(42), bar().At(42))
	}
}

func TestStraightFallIsFlat(t *testing.T) {
	fit := must[CureFit](t)(FitCure([]Weighing{{Mass: 120_000}, {Days: 7, Mass: 119_000}, {Days: 14, Mass: 118_000}, {Days: 21, Mass: 117_000}}))
	if !fit.Flat {
		t.Errorf("%+v: four weights on a straight line show no bend", fit)
	}
}

func TestFitRefuses(t *testing.T) {
	for _, c := range []struct {
		field     string
		weighings []Weighing
	}{
		{"weighings", weekly(bar(), 2)},
		{"weighings", []Weighing{{Mass: 100, Mark: "a"}, {Days: 7, Mass: 99, Mark: "b"}, {Days: 14, Mass: 98, Mark: "c"}}},
		{"weighings", []Weighing{{Mass: 100}, {Mass: 99}, {Days: 7, Mass: 98}, {Days: 7, Mass: 97}}},
		{"weighings", []Weighing{{Mass: 100}, {Days: 7, Mass: 100}, {Days: 14, Mass: 100}}},
		{"weighings", []Weighing{{Mass: 100_000}, {Days: 7, Mass: 110_000}, {Days: 14, Mass: 115_000}}},
		{"weighings[0].days", append([]Weighing{{Days: math.NaN(), Mass: 100_000}}, weekly(bar(), 4)...)},
		{"weighings[0].days", append([]Weighing{{Days: -1, Mass: 100_000}}, weekly(bar(), 4)...)},
		{"weighings[0].mass", append([]Weighing{{Days: 3, Mass: -1}}, weekly(bar(), 4)...)},
	} {
		_, err := FitCure(c.weighings)
		wantField(t, err, c.field)
	}
}

func TestStableAfter(t *testing.T) {
	day, ok := bar().StableAfter(Percent)
	lost := func(d int) float64 {
		now, later := bar().At(float64(d)), bar().At(float64(d+7))
		return float64(now-later) / float64(now)
	}
	if !ok || lost(day) > 0.01 || lost(day-1) <= 0.01 {
		t.Errorf("day %d: %.4f that week, %.4f the week from a day before", day, lost(day), lost(day-1))
	}
	if day, ok := bar().StableAfter(20 * Percent); !ok || day != 0 {
		t.Errorf("a fall of 12 %% in all is below 20 %% a week from the start, got day %d", day)
	}
	if _, ok := bar().StableAfter(0); ok {
		t.Error("a bar never stops losing weight altogether")
	}
	if _, ok := (DryingCurve{}).StableAfter(Percent); ok {
		t.Error("no curve, yet a day")
	}
}

// TestWeighingsOfOneDayLeadNoCurve has a marked bar that dries by a known curve, and
// another that was only weighed within an hour of its cut, on a scale of a tenth
// of a gram: nothing of how it dries is in that.
func TestWeighingsOfOneDayLeadNoCurve(t *testing.T) {
	t.Parallel()
	truth := DryingCurve{Start: 120 * Gram, End: 105 * Gram, Rate: 0.1}
	var weighings []Weighing
	for week := range 5 {
		days := float64(7 * week)
		weighings = append(weighings, Weighing{Days: days, Mass: truth.At(days), Mark: "blue"})
	}
	for i, mass := range []Mass{120_000, 119_900, 119_900} {
		weighings = append(weighings, Weighing{Days: float64(i) / 48, Mass: mass, Mark: "red"})
	}
	fit, err := FitCure(weighings)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fit.Curve.At(42), truth.At(42); fit.Marks != 1 || max(got-want, want-got) > want/200 {
		t.Errorf("on day 42 it weighs %s by the fit of %d marks, %s by its curve", got, fit.Marks, want)
	}
	if _, err := FitCure(weighings[5:]); err == nil {
		t.Error("three weighings of one hour make a curve")
	}
}

// TestCurveThatNothingChecksIsOfFewWeighings has as many unknowns as weighings, though
// they are of four days and more.
func TestCurveThatNothingChecksIsOfFewWeighings(t *testing.T) {
	t.Parallel()
	truth := bar()
	for name, days := range map[string]map[string][]float64{
		"a bar weighed once":    {"blue": {0, 7, 14}, "red": {3}},
		"a bar weighed twice":   {"blue": {0, 7, 14}, "red": {3, 10}},
		"a bar of one day only": {"blue": {0, 7, 14}, "red": {3, 3.1, 3.2}},
	} {
		var weighings []Weighing
		for _, mark := range []string{"blue", "red"} {
			for _, d := range days[mark] {
				weighings = append(weighings, Weighing{Days: d, Mass: truth.At(d), Mark: mark})
			}
		}
		fit, err := FitCure(weighings)
		if err != nil || !fit.Few {
			t.Errorf("%s: few is %t, %v", name, fit.Few, err)
		}
	}
}
