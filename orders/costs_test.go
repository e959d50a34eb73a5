package orders

import (
	"testing"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TestCostOfALateOrder: who is told of a new day is told as well that it is too late.
func TestCostOfALateOrder(t *testing.T) {
	r := &round{snap: &Snapshot{Orders: []Order{{Meta: Meta{ID: "o"}, Title: "Wedding favours"}}}}
	told, ready := civil.Date{Year: 2027, Month: 1, Day: 9}, civil.Date{Year: 2027, Month: 1, Day: 21}
	for late, want := range map[int]string{
		0: "Wedding favours is ready on Thu 21 Jan 2027 instead of Sat 9 Jan 2027, which the customer was told; tell them.",
		6: "Wedding favours is ready on Thu 21 Jan 2027, 6 days late, instead of Sat 9 Jan 2027, which the customer was told; tell them.",
	} {
		got := r.costOf(schedule.OrderChange{OrderID: "o", OldReady: told, NewReady: ready, NewLate: late, Promised: true})
		if got != want {
			t.Errorf("%d days late: %q, want %q", late, got, want)
		}
	}
}
