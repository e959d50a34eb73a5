package ical_test

import (
	"fmt"
	"testing"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

// changed is when everything in these feeds was last changed, unless a test
// says otherwise.
var changed = time.Date(2026, time.November, 20, 9, 15, 30, 0, time.UTC)

// uid returns the n-th of a fixed series of UUIDs.
func uid(n int) string { return fmt.Sprintf("5b0c1e7a-93d4-4f28-a6b1-%012x", n) }

func date(t testing.TB, s string) civil.Date {
	t.Helper()
	d, err := civil.Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := civil.LoadZone(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func feed(loc *time.Location, events ...ical.Event) ical.Feed {
	return ical.Feed{ID: uid(0xfeed), Name: "Workshop plan", Zone: loc, Modified: changed, Events: events}
}

// timed is a confirmed event of hands-on work.
func timed(n int, summary string, start time.Time, length time.Duration) ical.Event {
	return ical.Event{
		UID: uid(n), Kind: "cut", Summary: summary, Start: start, End: start.Add(length),
		Modified: changed, Status: ical.Confirmed, Busy: true,
	}
}

func allDay(n int, summary string, from, to civil.Date) ical.Event {
	return ical.Event{
		UID: uid(n), Kind: "cure", Summary: summary, AllDay: true, From: from, To: to,
		Modified: changed, Status: ical.Confirmed,
	}
}

// publish verifies and reads a feed as it stands on a day.
func publish(t testing.TB, f ical.Feed, today string) *part {
	t.Helper()
	return read(t, verify(t, f, date(t, today)))
}
