package schedule

import (
	"context"
	"testing"
	"time"

	"ripeline/schedule/civil"
)

// manyFillings is a workshop whose only mold holds a single piece, an order for many of
// them by the first day, and a bounder.
func manyFillings(t *testing.T) (*Problem, *bounder) {
	t.Helper()
	today := civil.Date{Year: 2026, Month: time.March, Day: 2}
	p := &Problem{
		Now: civil.At(today, 0, time.UTC), Zone: time.UTC, Hands: 1, Rack: 1 << 30,
		Molds: []Mold{{ID: "pot", Count: 1}},
		Designs: []Design{{
			ID: "d", Name: "oat", MakeFixed: 1, CutFixed: 1, WrapFixed: 1, CutWindow: CutWindow{Max: 48},
			Fits: []Fit{{MoldID: "pot", Full: 1, Min: 1, Step: 1}},
		}},
		Orders: []Order{{
			ID: "o", Accepted: true, NeededBy: today, Weight: 1,
			Lines: []Line{{ID: "l", DesignID: "d", Pieces: mostFills + 100}},
		}},
	}
	for day := range 7 {
		p.Hours = append(p.Hours, Window{Weekday: time.Weekday(day), From: 8 * 60, To: 18 * 60})
	}
	pl, err := newPlanner(p)
	if err != nil {
		t.Fatal(err)
	}
	return p, newBounder(pl, func(*Design) debts { return nil })
}

// TestBoundOfManyFillings: a bound that stopped counting claims no more than it
// counted. A filling takes two minutes, so 300 fit into a day.
func TestBoundOfManyFillings(t *testing.T) {
	p, b := manyFillings(t)
	if late := b.leastLate(t.Context(), &p.Orders[0]); late != mostFills/300 {
		t.Errorf("at least %d days late, want %d", late, mostFills/300)
	}
}

// TestBoundWithoutTime: a bound that was not finished claims nothing.
func TestBoundWithoutTime(t *testing.T) {
	p, b := manyFillings(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if late := b.leastLate(ctx, &p.Orders[0]); late != 0 {
		t.Errorf("at least %d days late, without having looked", late)
	}
}
