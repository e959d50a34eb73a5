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
		{"spoiled pieces move it", 5 * calc.Percent, FailureCount{Batches: 10, PiecesPoured: 300, PiecesSpoiled: 40}, 50.0 / 500, 0.6 / 30},
		{"failed batches do not count twice", 5 * calc.Percent, FailureCount{Batches: 20, Failed: 5, PiecesPoured: 200, PiecesSpoiled: 65}, 25.0 / 350, 5.6 / 40},
		{"never more than the planner takes", 0, FailureCount{Batches: 10, PiecesPoured: 10_000, PiecesSpoiled: 9_000}, 0.5, 0.6 / 30},
	} {
		spoil, fail := rates(Design{Spoil: c.spoil}, c.history)
		if math.Abs(spoil-c.wantSpoil) > 1e-12 || math.Abs(fail-c.wantFailure) > 1e-12 {
			t.Errorf("%s: rates %v, %v; want %v, %v", c.name, spoil, fail, c.wantSpoil, c.wantFailure)
		}
	}
}

// The expected values are worked out by hand from the prior of 7 in 10 failures.
func TestRisksLearnWhenBatchesFail(t *testing.T) {
	for _, c := range []struct {
		name    string
		history []FailureCount
		want    float64
	}{
		{"no history gives the prior", nil, 0.7},
		{"all on the rack", []FailureCount{{Batches: 40, Failed: 4}}, 7.0 / 14},
		{"designs are taken together", []FailureCount{{Batches: 9, Failed: 3, FailedByCut: 3}, {Batches: 5, Failed: 2, FailedByCut: 1}}, 11.0 / 15},
	} {
		if got := risks(c.history).BeforeCut; math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %v by the cut; want %v", c.name, got, c.want)
		}
	}
}
