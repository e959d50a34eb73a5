package ical_test

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	goical "github.com/emersion/go-ical"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

// parse reads a calendar with a parser other than the library it was written
// with.
func parse(t fataler, data []byte) *goical.Calendar {
	t.Helper()
	cal, err := goical.NewDecoder(bytes.NewReader(data)).Decode()
	if err != nil {
		t.Fatalf("the parser: %v", err)
	}
	return cal
}

// parsedEvent finds an event by its UID.
func parsedEvent(t fataler, cal *goical.Calendar, uid string) goical.Event {
	t.Helper()
	for _, e := range cal.Events() {
		if e.Props.Get("UID").Value == uid {
			return e
		}
	}
	t.Fatalf("no event %s", uid)
	return goical.Event{}
}

// text returns a TEXT property's value, "" when it is absent.
func text(t fataler, props goical.Props, name string) string {
	t.Helper()
	p := props.Get(name)
	if p == nil {
		return ""
	}
	s, err := p.Text()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return s
}

// verify publishes the feed, reads the result in every way the tests know, and
// compares the times of each event with the input. It returns the bytes.
func verify(t fataler, f ical.Feed, today civil.Date) []byte {
	t.Helper()
	data, err := ical.Publish(f, today)
	if err != nil {
		t.Fatalf("publish: %v", err)
	}
	cal := read(t, data)
	checkTimes(t, cal)
	parsed := parse(t, data)
	if len(parsed.Events()) != len(cal.components("VEVENT")) {
		t.Fatalf("the two readers see %d and %d events", len(parsed.Events()), len(cal.components("VEVENT")))
	}
	byUID := map[string]ical.Event{}
	for _, e := range f.Events {
		byUID[e.UID] = e
	}
	for _, e := range cal.components("VEVENT") {
		if want, given := byUID[e.all("UID")[0].value]; given {
			checkSpan(t, cal, e, want, f.Zone)
			checkParsedSpan(t, parsedEvent(t, parsed, want.UID), want)
		}
	}
	return data
}

// checkSpan compares an event's ends with the input, by the VTIMEZONE alone.
func checkSpan(t fataler, cal, e *part, want ical.Event, zone *time.Location) {
	t.Helper()
	start, end := e.all("DTSTART")[0], e.all("DTEND")[0]
	if want.AllDay {
		days := fmt.Sprintf("%s to %s", compact(want.From), compact(want.To.AddDays(1)))
		if got := start.value + " to " + end.value; got != days {
			t.Fatalf("all-day event from %s, want %s", got, days)
		}
		return
	}
	for _, c := range []struct {
		got  property
		want time.Time
	}{{start, want.Start}, {end, want.End}} {
		if got := instant(t, cal, c.got); !got.Equal(c.want.Truncate(time.Second)) {
			t.Fatalf("%s%s:%s is %v by its VTIMEZONE, want %v", c.got.name, c.got.params, c.got.value, got, c.want.UTC())
		}
		checkLocal(t, c.got, zone)
	}
}

func compact(d civil.Date) string { return strings.ReplaceAll(d.String(), "-", "") }

func instant(t fataler, cal *part, p property) time.Time {
	t.Helper()
	if p.params != "" {
		return interpret(t, cal.components("VTIMEZONE")[0], p.value)
	}
	at, err := time.Parse("20060102T150405Z", p.value)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return at
}

// checkLocal wants a local time to be one that the zone's clocks show exactly
// once, so that no reader can take it for another.
func checkLocal(t fataler, p property, zone *time.Location) {
	t.Helper()
	if p.params == "" {
		return
	}
	wall, err := time.Parse("20060102T150405", p.value)
	if err != nil {
		t.Fatalf("%v", err)
	}
	d, m := civil.Of(wall), civil.ClockOf(wall)
	if civil.ClockOf(civil.At(d, m, zone).In(zone)) != m {
		t.Fatalf("%s %s is in a gap of %v", d, m, zone)
	}
	if civil.ShownTwice(civil.At(d, m, zone)) {
		t.Fatalf("%s %s comes twice in %v", d, m, zone)
	}
}

// checkParsedSpan compares an event's ends with the input, by the other
// parser, which knows the TZID only.
func checkParsedSpan(t fataler, e goical.Event, want ical.Event) {
	t.Helper()
	if want.AllDay {
		return
	}
	start, err := e.DateTimeStart(nil)
	if err != nil || !start.Equal(want.Start.Truncate(time.Second)) {
		t.Fatalf("the parser has the start at %v, %v; want %v", start, err, want.Start.UTC())
	}
	end, err := e.DateTimeEnd(nil)
	if err != nil || !end.Equal(want.End.Truncate(time.Second)) {
		t.Fatalf("the parser has the end at %v, %v; want %v", end, err, want.End.UTC())
	}
}
