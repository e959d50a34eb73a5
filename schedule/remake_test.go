package schedule_test

import (
	"testing"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TestMarginOfMoreThanExpected: a loaf that left every piece sound, more than a
// loaf is expected to give, can be made again all the same; where all of them are
// owed that takes a second pour, and so has to be known earlier.
func TestMarginOfMoreThanExpected(t *testing.T) {
	margin := func(owed int) time.Time {
		at := func(month time.Month, day int) time.Time {
			return time.Date(2026, month, day, 18, 0, 0, 0, eveningShop().Zone)
		}
		p := unripe(at(1, 27), at(1, 29), at(3, 31))
		b := &p.Batches[0]
		b.State, b.Sound, b.For = schedule.Curing, b.Pieces, []schedule.Share{{LineID: "o1", Pieces: owed}}
		p.Orders = []schedule.Order{{
			ID: "o", Accepted: true, Weight: 1, NeededBy: civil.Of(at(5, 30)),
			Lines: []schedule.Line{{ID: "o1", DesignID: "oat", Pieces: owed}},
		}}
		return planned(t, p).Orders[0].RemakeBy
	}
	some, all := margin(20), margin(24)
	if some.IsZero() || all.IsZero() || !all.Before(some) {
		t.Errorf("20 of 24 sound pieces can be made again until %s, all 24 until %s", some, all)
	}
}
