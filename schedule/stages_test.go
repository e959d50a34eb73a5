package schedule_test

import (
	"testing"

	"ripeline/schedule"
)

// TestNoStagesWithoutPieces: where nothing can be poured for an enquiry there is no
// time to divide, and nothing is on the shelf.
func TestNoStagesWithoutPieces(t *testing.T) {
	p := eveningShop()
	p.Designs[0].Blocked = "its fragrance is over its limit"
	a := promised(t, p, asking(p, 5, 90))
	if a.Verdict != schedule.No || len(a.Stages) != 0 {
		t.Errorf("5 pieces of what may not be poured: %s with the stages %v", a.Verdict, a.Stages)
	}
}
