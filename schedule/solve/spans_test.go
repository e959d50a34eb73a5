package solve

import "testing"

// TestSpansFreeAtOnce: a job that waits for two resources which become free at the
// same time begins then, even where the hours have no minute to spare.
func TestSpansFreeAtOnce(t *testing.T) {
	taken := []Reservation{{From: 0, To: 100, Amount: 1}}
	span := func(resource int) Span { return Span{Resource: resource, Amount: 1, From: 0, To: 0} }
	p := &Problem{
		Grid: []Time{0, 1000}, Budget: 1,
		Calendars: [][]Window{{{From: 0, To: 160}}},
		Resources: []Resource{{Capacity: 1, Taken: taken}, {Capacity: 1, Taken: taken}},
		Jobs: []Job{{Due: Never, Modes: []Mode{{
			Tasks: []Task{{Calendar: 0, Duration: 60}}, Spans: []Span{span(0), span(1)},
		}}}},
	}
	if pl := solved(t, p).Jobs[0]; pl == nil || pl.Starts[0] != 100 {
		t.Errorf("both are free from minute 100 to the end of the hours, but the job is placed at %v", pl)
	}
}
