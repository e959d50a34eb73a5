package ical_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

var update = flag.Bool("update", false, "write the golden files in testdata/ical instead of comparing with them")

// coast is the feed of an invented workshop with one event of every sort.
func coast(t testing.TB) ical.Feed {
	t.Helper()
	lisbon := zone(t, "Europe/Lisbon")
	at := func(day string, m civil.Minute) time.Time { return civil.At(date(t, day), m, lisbon) }
	event := func(n int, kind, summary string, e ical.Event) ical.Event {
		e.UID, e.Kind, e.Summary, e.Modified = uid(n), kind, summary, changed.Add(-time.Duration(n)*time.Hour)
		if e.Status == "" {
			e.Status = ical.Confirmed
		}
		return e
	}
	f := feed(lisbon,
		event(1, "pour", "Pour 2 loaves of Salt Marsh", ical.Event{
			Start: at("2026-12-01", 18*60), End: at("2026-12-01", 20*60+30), Busy: true, Ref: "SM-0141",
			Description: "Lye from the list for 2 × 24 pieces; goggles, gloves, sleeves, window open.\nMolds: tall loaf A, tall loaf B.\nOils melted by 17:15; scent: rosemary, bay.",
		}),
		event(2, "cut", "Cut Salt Marsh", ical.Event{Start: at("2026-12-03", 18*60+30), End: at("2026-12-03", 19*60+15), Busy: true, Ref: "SM-0141", Sequence: 2}),
		event(3, "cut", "Cut Salt Marsh", ical.Event{Start: at("2026-12-03", 18*60+30), End: at("2026-12-03", 19*60+15), Busy: true, Ref: "SM-0142"}),
		event(4, "cure", "Cure Salt Marsh, 44 pieces", ical.Event{AllDay: true, From: date(t, "2026-12-03"), To: date(t, "2027-01-13")}),
		event(5, "wrap", "Wrap Salt Marsh — Öland linen bands, naïve knots; 44 pieces", ical.Event{
			Start: at("2027-01-14", 9*60), End: at("2027-01-14", 12*60), Busy: true, Alarm: 15 * time.Hour, Location: "Long table, drying room",
		}),
		event(6, "hand-over", "Hand over order 27", ical.Event{AllDay: true, From: date(t, "2027-01-16"), To: date(t, "2027-01-16"), Status: ical.Tentative}),
		event(7, "pour", "Pour 1 loaf of Harbour Fog", ical.Event{Start: at("2026-12-05", 10*60), End: at("2026-12-05", 12*60), Busy: true, Sequence: 1, Status: ical.Cancelled}),
		event(8, "wrap", "Wrap Pine Landing", ical.Event{Start: at("2026-08-29", 9*60), End: at("2026-08-29", 11*60), Busy: true}),
		event(9, "supplies", "Order olive oil: 12 kg; coconut oil: 5 kg", ical.Event{AllDay: true, From: date(t, "2026-11-24"), To: date(t, "2026-11-24")}),
	)
	f.Name, f.Description = "Plan of the Tidewall soap shed", "Pour, cut, cure, wrap, hand over, supplies"
	f.PageURL, f.Color, f.Alarm = "https://soap.example/plan", "seagreen", 30*time.Minute
	return f
}

// autumn is a feed of New York around the end of summer time.
func autumn(t testing.TB) ical.Feed {
	t.Helper()
	newYork := zone(t, "America/New_York")
	first := civil.At(date(t, "2026-11-01"), 90, newYork)
	return feed(newYork,
		timed(1, "Before the change", first.Add(-4*time.Hour), time.Hour),
		timed(2, "The first half past one", first, 20*time.Minute),
		timed(3, "The second half past one", first.Add(time.Hour), 20*time.Minute),
		timed(4, "Over the change", first.Add(-time.Hour), 4*time.Hour),
		timed(5, "After the change", first.Add(8*time.Hour), time.Hour),
	)
}

// customer is one order's feed: the customer's own dates and nothing else.
func customer(t testing.TB) ical.Feed {
	t.Helper()
	ready := allDay(1, "Your soaps are ready to be handed over", date(t, "2027-01-16"), date(t, "2027-01-18"))
	ready.Kind = ""
	f := feed(zone(t, "Pacific/Chatham"), ready)
	f.Name = "Your order"
	return f
}

// TestGolden compares whole calendars, byte for byte. After a wanted change run
// it with -update and read the difference.
func TestGolden(t *testing.T) {
	for name, f := range map[string]ical.Feed{
		"plan.ics": coast(t), "autumn.ics": autumn(t), "order.ics": customer(t), "empty.ics": feed(zone(t, "Europe/Lisbon")),
	} {
		t.Run(name, func(t *testing.T) {
			got := verify(t, f, date(t, "2026-11-20"))
			path := filepath.Join("..", "..", "testdata", "ical", name)
			if *update {
				if err := os.WriteFile(path, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("%s differs; published:\n%s", path, got)
			}
		})
	}
}
