package solve

import "testing"

// TestLatestOverMidnight: a task that works over midnight counts for the cell it
// began in, so that the one after it may begin sooner than a whole cell later.
func TestLatestOverMidnight(t *testing.T) {
	p := &Problem{Grid: []Time{0, 100, 200, 300, 400}, Budget: 1, Calendars: [][]Window{{{From: 0, To: 400}}}}
	s := solved(t, p)
	job := Job{Due: 205, Modes: []Mode{{
		Tasks: []Task{{Calendar: 0, Duration: 40}, {Calendar: 0, Duration: 5}},
		Lags:  []Lag{{From: 0, To: 1, Cells: true, Min: 2, Max: -1}},
	}}}
	if latest, ok := s.Latest(job); !ok || latest != 99 {
		t.Errorf("begun at 99 it goes on at 200 and ends at 205, in time; the latest is said to be %d, %v", latest, ok)
	}
}
