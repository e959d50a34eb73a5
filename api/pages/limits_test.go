package pages

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ripeline/calc"
)

func TestLimitsAreWrittenInTheInputsUnit(t *testing.T) {
	t.Parallel()
	metric, imperial := wordsFor(t, "en-GB", "metric"), wordsFor(t, "en-GB", "imperial")
	for said, want := range map[string]string{ // an inch is 25.4 mm and an ounce 28.349523125 g by definition
		"must lie between 10 mm and 5000 mm, measured inside": "must lie between 0.4 in and 196.8 in, measured inside",
		"must lie between 0 and 3000 mm":                      "must lie between 0 and 118.1 in",
		"must lie between 1 cm and 20 m":                      "must lie between 0.4 in and 787.4 in",
		"must lie between 254 mm and 254 mm":                  "must lie between 10 in and 10 in",
		"must be more than 0 and at most 10,000 kg":           "must be more than 0 and at most 352700 oz",
		"at most 20 kg a piece":                               "at most 705.4 oz a piece",
		"is too large; the most is 5000 mm":                   "is too large; the most is 196.8 in",
		"must lie between 1 g and 0.5 g":                      "must lie between 0.036 oz and 0.017 oz",
		"is more than the 21.4 mm left; cut thinner":          "is more than the 0.84 in left; cut thinner",
		"makes pieces only 4.99 mm thin; the least is 5 mm":   "makes pieces only 0.19 in thin; the least is 0.2 in",
		"on a top of 25 mm by 80 mm":                          "on a top of 0.98 in by 3.15 in",
		"0.3 to 3 g per ml, 3 g/ml, 50 to 400 mg KOH per g":   "0.3 to 3 g per ml, 3 g/ml, 50 to 400 mg KOH per g",
	} {
		if got := imperial.limits(said); got != want {
			t.Errorf("imperial: %q, want %q", got, want)
		}
		if got := metric.limits(said); got != said {
			t.Errorf("metric: %q, want it as it was", got)
		}
	}
}

// TestLimitsCanBeTyped types what the message about every length says is the
// least and the most of it.
func TestLimitsCanBeTyped(t *testing.T) {
	t.Parallel()
	w := wordsFor(t, "en-GB", "imperial")
	rapid.Check(t, func(t *rapid.T) {
		low := calc.Length(rapid.IntRange(100, 3_000_000).Draw(t, "low"))
		high := low + low/4 + calc.Length(rapid.IntRange(0, 900_000).Draw(t, "more"))
		said := strings.Fields(w.limits(fmt.Sprintf("between %s and %s", low, high)))
		for _, i := range []int{1, 4} {
			typed, err := calc.ParseLength("side", said[i], calc.UnitInch)
			if err != nil || typed < low || typed > high {
				t.Fatalf("%v is %s: %v", said, typed, err)
			}
		}
	})
}
