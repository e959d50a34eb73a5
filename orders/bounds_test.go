package orders

import (
	"strings"
	"testing"

	"ripeline/calc"
)

// TestBoundsOfWeightsCanBeTyped types both ends of a range as the message has them.
func TestBoundsOfWeightsCanBeTyped(t *testing.T) {
	t.Parallel()
	low, high := calc.Mass(61_499), calc.Mass(245_501)
	for units, unit := range map[string]calc.Unit{"metric": calc.UnitGram, "imperial": calc.UnitOunce} {
		said := strings.Fields(Workshop{Units: units}.between(low, high))
		for _, i := range []int{1, 4} {
			if typed, err := calc.ParseMass("mass_mg", said[i], unit); err != nil || typed < low || typed > high {
				t.Errorf("%s: %v is %s of %v: %v", units, said[i], typed, said, err)
			}
		}
	}
}
