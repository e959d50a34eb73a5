package orders

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

var noon = time.Date(2026, time.December, 3, 12, 0, 0, 0, time.UTC)

func openTask(id string, kind TaskKind, batch string, from time.Time) Task {
	return Task{
		ID: id, Kind: kind, BatchID: batch, From: from, To: from.Add(time.Hour),
		Day: civil.Of(from), LastDay: civil.Of(from), Title: "work", Status: TaskOpen,
	}
}

func cancelAll(t Task) (Task, error) { t.Status = TaskCancelled; return t, nil }

func TestMergedTasks(t *testing.T) {
	kept, moved := openTask("kept", TaskCut, "b1", noon), openTask("moved", TaskWrap, "b1", noon)
	moved.Sequence = 4
	gone := openTask("gone", TaskMake, "b2", noon)
	later := openTask("", TaskWrap, "b1", noon.Add(time.Hour))
	fresh := openTask("", TaskMake, "b3", noon)
	out, err := merged([]Task{kept, moved, gone}, []Task{openTask("", TaskCut, "b1", noon), later, fresh}, cancelAll, noon, 7)
	if err != nil {
		t.Fatal(err)
	}
	byBatch := make(map[string]Task)
	for _, x := range out {
		if x.Revision != 7 || !x.ChangedAt.Equal(noon) {
			t.Errorf("%s: revision %d, changed %s; want 7, %s", x.ID, x.Revision, x.ChangedAt, noon)
		}
		byBatch[x.BatchID] = x
	}
	if len(out) != 3 {
		t.Fatalf("%d tasks to store, want 3: the unchanged one stays out: %+v", len(out), out)
	}
	if got := byBatch["b1"]; got.ID != "moved" || got.Sequence != 5 || !got.From.Equal(noon.Add(time.Hour)) {
		t.Errorf("moved task: %+v; want the same id, sequence 5, an hour later", got)
	}
	if got := byBatch["b2"]; got.ID != "gone" || got.Sequence != 1 || got.Status != TaskCancelled {
		t.Errorf("task no longer wanted: %+v; want it cancelled with sequence 1", got)
	}
	if got := byBatch["b3"]; got.ID == "" || got.Sequence != 0 || got.Status != TaskOpen {
		t.Errorf("new task: %+v; want an id and sequence 0", got)
	}
}

// TestMergedTasksKeepTheirWord plays random plans one after the other and
// checks what calendars rely on.
func TestMergedTasksKeepTheirWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stored := make(map[string]Task)
		for round := range 8 {
			var open, wanted []Task
			for _, x := range stored {
				if x.Status == TaskOpen {
					open = append(open, x)
				}
			}
			for b := range 3 {
				if rapid.Bool().Draw(t, "wanted") {
					at := noon.Add(time.Duration(rapid.IntRange(0, 3).Draw(t, "hours")) * time.Hour)
					wanted = append(wanted, openTask("", TaskMake, fmt.Sprint(b), at))
				}
			}
			out, err := merged(open, wanted, cancelAll, noon, round)
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range out {
				was, known := stored[x.ID]
				switch {
				case !known && x.Sequence != 0:
					t.Fatalf("new task %+v begins above 0", x)
				case known && was.Status != TaskOpen:
					t.Fatalf("task %+v came back", x)
				case known && x.Sequence != was.Sequence+1:
					t.Fatalf("sequence went from %d to %d", was.Sequence, x.Sequence)
				}
				stored[x.ID] = x
			}
			count := 0
			for _, x := range stored {
				if x.Status == TaskOpen {
					count++
				}
			}
			if count != len(wanted) {
				t.Fatalf("%d tasks are open, %d wanted", count, len(wanted))
			}
		}
	})
}

func TestWantedTasks(t *testing.T) {
	at := func(days, hour int) time.Time {
		return noon.AddDate(0, 0, days).Add(time.Duration(hour-12) * time.Hour)
	}
	span := func(days, hour int) schedule.Interval {
		return schedule.Interval{From: at(days, hour), To: at(days, hour+1)}
	}
	s := &Snapshot{
		Workshop: Workshop{Zone: "UTC"},
		Designs:  []Design{{Meta: Meta{ID: "oat"}, Name: "Oat"}},
		Molds:    []Mold{{Meta: Meta{ID: "loaf"}, Name: "Long loaf"}},
		Batches: []Batch{{
			Meta: Meta{ID: "b"}, Lot: "OAT-261204-1", DesignID: "oat", State: BatchPlanned, Pieces: 20, Sound: 19,
			Molds: []schedule.MoldUse{{MoldID: "loaf", Units: 2, Pieces: 20}},
			Make:  span(1, 18), Cut: span(2, 18), Wrap: schedule.Interval{From: at(30, 18), To: at(31, 19)},
			WrapParts: []schedule.Interval{span(30, 18), span(31, 18)},
		}},
		Orders: []Order{
			{Meta: Meta{ID: "o"}, Title: "Naming day", Status: Accepted, NeededBy: civil.Of(at(40, 0)), HandOver: 3, Lines: []OrderLine{{DesignID: "oat", Pieces: 15}}},
			{Meta: Meta{ID: "e"}, Title: "Enquiry", Status: Enquiry, NeededBy: civil.Of(at(40, 0))},
		},
	}
	got, err := s.wanted(&schedule.Plan{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		kind      TaskKind
		title     string
		day, last int
	}{
		{TaskMake, "Pour OAT-261204-1 · 20 pieces", 1, 1},
		{TaskCut, "Cut OAT-261204-1 · 20 pieces", 2, 2},
		{TaskCure, "OAT-261204-1 cures · 19 pieces", 2, 30},
		{TaskWrap, "Wrap OAT-261204-1 · 19 pieces, part 1 of 2", 30, 30},
		{TaskWrap, "Wrap OAT-261204-1 · 19 pieces, part 2 of 2", 31, 31},
		{TaskHandOver, "Hand over Naming day", 37, 37},
	}
	if len(got) != len(want) {
		t.Fatalf("%d tasks, want %d: %+v", len(got), len(want), got)
	}
	for i, w := range want {
		g := got[i]
		if g.Kind != w.kind || g.Title != w.title || g.Day != civil.Of(at(w.day, 0)) || g.LastDay != civil.Of(at(w.last, 0)) {
			t.Errorf("task %d is %s %q %s to %s, want %+v", i, g.Kind, g.Title, g.Day, g.LastDay, w)
		}
	}
	late, err := s.wanted(&schedule.Plan{}, []schedule.OrderOutcome{{OrderID: "o", Ready: civil.Of(at(38, 0))}})
	if err != nil {
		t.Fatal(err)
	}
	if got := late[len(late)-1].Day; got != civil.Of(at(38, 0)) {
		t.Errorf("an order that is late is handed over on %s, want the day it is ready", got)
	}
}
