package orders

import (
	"testing"
	"time"

	"ripeline/schedule"
)

// TestFactsAhead: what a clock wrote down that was far ahead keeps nothing from
// being planned.
func TestFactsAhead(t *testing.T) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	ahead := func(d time.Duration) schedule.Interval {
		return schedule.Interval{From: now.Add(d - time.Hour), To: now.Add(d)}
	}
	s := &Snapshot{
		Workshop: Workshop{Zone: "Europe/Lisbon", Hands: 1},
		Molds:    []Mold{{Meta: Meta{ID: "m"}, Name: "loaf", Count: 1}},
		Designs:  []Design{{Meta: Meta{ID: "d"}, Name: "Oat", MoldIDs: []string{"m"}}},
	}
	batch := Batch{DesignID: "d", Pieces: 10, Sound: 10, Molds: []schedule.MoldUse{{MoldID: "m", Units: 1, Pieces: 10}}}
	for _, x := range []struct {
		id        string
		state     BatchState
		pour, cut time.Duration
	}{
		{"planned", BatchPlanned, 80 * time.Hour, 100 * time.Hour},
		{"poured", BatchPoured, 80 * time.Hour, 100 * time.Hour},
		{"curing", BatchCuring, -time.Hour, 80 * time.Hour},
		{"soon", BatchCuring, -time.Hour, time.Hour},
	} {
		b := batch
		b.ID, b.State, b.Make, b.Cut = x.id, x.state, ahead(x.pour), ahead(x.cut)
		s.Batches = append(s.Batches, b)
	}
	p, err := s.problem(now)
	if err != nil {
		t.Fatal(err)
	}
	want := [][2]schedule.Interval{
		{ahead(80 * time.Hour), ahead(100 * time.Hour)},
		{ahead(0), ahead(100 * time.Hour)},
		{ahead(-time.Hour), ahead(0)},
		{ahead(-time.Hour), ahead(time.Hour)},
	}
	for i, b := range p.Batches {
		if got := [2]schedule.Interval{b.Make, b.Cut}; got != want[i] {
			t.Errorf("%s: %v, want %v", b.ID, got, want[i])
		}
	}
	if err := p.Validate(); err != nil {
		t.Error(err)
	}
}
