package orders

import (
	"math"
	"testing"

	"ripeline/calc"
)

// The expected values are worked out by hand from the prior of 200 pieces and
// of 3 % in 20 batches.
func TestRates(t *testing.T) {
	for _, c := range []struct {
		name        string
		spoil       calc.PPM
		history     FailureCount
		wantSpoil   float64
		wantFailure float64
	}{
		{"no history gives the prior", 5 * calc.Percent, FailureCount{}, 0.05, 0.03},
		{"history moves it", 5 * calc.Percent, FailureCount{Batches: 20, Failed: 5, PiecesPoured: 200, PiecesSpoiled: 30}, 40.0 / 400, 5.6 / 40},
		{"all lost stays plannable", 0, FailureCount{Batches: 1000, Failed: 1000, PiecesPoured: 10_000, PiecesSpoiled: 10_000}, 0.5, 1000.6 / 1020},
	} {
		spoil, fail := rates(Design{Spoil: c.spoil}, c.history)
		if math.Abs(spoil-c.wantSpoil) > 1e-12 || math.Abs(fail-c.wantFailure) > 1e-12 {
			t.Errorf("%s: rates %v, %v; want %v, %v", c.name, spoil, fail, c.wantSpoil, c.wantFailure)
		}
	}
}
