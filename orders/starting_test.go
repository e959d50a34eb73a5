package orders_test

import (
	"strconv"
	"strings"
	"testing"

	"ripeline/orders"
)

// TestStartingDensitiesAreShownAsTheEstimatesTheyAre wants no more digits of them
// than an estimate has, and the word.
func TestStartingDensitiesAreShownAsTheEstimatesTheyAre(t *testing.T) {
	t.Parallel()
	known, err := orders.KnownOils()
	if err != nil || len(known) == 0 {
		t.Fatalf("%d oils, %v", len(known), err)
	}
	for _, o := range known {
		text := strconv.FormatFloat(o.Density, 'f', -1, 64)
		if _, digits, _ := strings.Cut(text, "."); len(digits) > 3 || o.Density < 0.8 || o.Density > 1.1 {
			t.Errorf("the density of %s is %s", o.Name, text)
		}
		if !strings.Contains(o.SVSource, "an estimate to confirm") || len([]rune(o.SVSource)) > 200 {
			t.Errorf("%s is said to come of %q", o.Name, o.SVSource)
		}
	}
}
