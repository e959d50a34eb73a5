package ical_test

import (
	"strings"
	"testing"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

// The examples of RFC 5545 itself, section by section.

func TestFolding31(t *testing.T) { // RFC 5545 section 3.1
	const long = "This is a long description that exists on a long line."
	folded := "DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
	if got := unfold(t, []byte(folded)); len(got) != 1 || got[0] != "DESCRIPTION:"+long {
		t.Fatalf("the strict reader unfolds the section's example to %q", got)
	}

	e := timed(1, "Cut", changed, time.Hour)
	e.Description, e.Ref = strings.Repeat(long+" ", 8)+long, "L1"
	data := verify(t, feed(zone(t, "Europe/Lisbon"), e), civil.Of(changed))
	if !strings.Contains(string(data), "\r\n ") {
		t.Fatal("nothing was folded")
	}
	if got := text(t, parsedEvent(t, parse(t, data), e.UID).Props, "DESCRIPTION"); got != e.Description {
		t.Errorf("unfolded to %q", got)
	}
}

func TestText3311(t *testing.T) { // RFC 5545 section 3.3.11
	for _, c := range []struct{ in, written string }{
		{"Project XYZ Final Review\nConference Room - 3B\nCome Prepared.", `Project XYZ Final Review\nConference Room - 3B\nCome Prepared.`},
		{`back\slash; semicolon, comma: colon "quote"`, `back\\slash\; semicolon\, comma: colon "quote"`},
		{`\n is not a line break`, `\\n is not a line break`},
	} {
		e := timed(1, "Cut", changed, time.Hour)
		e.Description, e.Ref = c.in, "Cut"
		data := verify(t, feed(zone(t, "Europe/Lisbon"), e), civil.Of(changed))
		if got := read(t, data).event(t, "Cut").one(t, "DESCRIPTION"); got != ":"+c.written {
			t.Errorf("%q is written %q, want %q", c.in, got, c.written)
		}
		if got := text(t, parsedEvent(t, parse(t, data), e.UID).Props, "DESCRIPTION"); got != c.in {
			t.Errorf("%q is read as %q", c.in, got)
		}
	}
}

func TestMinimalObject34(t *testing.T) { // RFC 5545 section 3.4
	start := time.Date(1997, time.July, 14, 17, 0, 0, 0, time.UTC)
	e := timed(1, "Bastille Day Party", start, 11*time.Hour)
	cal := publish(t, feed(time.UTC, e), "1997-07-01")
	got := cal.event(t, "Bastille Day Party")
	if s := got.one(t, "DTSTART"); s != ":19970714T170000Z" {
		t.Errorf("DTSTART%s", s)
	}
	if s := got.one(t, "DTEND"); s != ":19970715T040000Z" {
		t.Errorf("DTEND%s", s)
	}
	if n := len(cal.components("VTIMEZONE")); n != 0 {
		t.Errorf("%d VTIMEZONE in a calendar of UTC times", n)
	}
}

func TestExclusiveEnd361(t *testing.T) { // RFC 5545 section 3.6.1
	e := allDay(1, "Festival", date(t, "2007-06-28"), date(t, "2007-07-08"))
	got := publish(t, feed(zone(t, "Europe/Lisbon"), e), "2007-06-01").event(t, "Festival")
	if s := got.one(t, "DTSTART"); s != ";VALUE=DATE:20070628" {
		t.Errorf("DTSTART%s", s)
	}
	if s := got.one(t, "DTEND"); s != ";VALUE=DATE:20070709" {
		t.Errorf("DTEND%s, want the day after the last of 11", s)
	}
}

func TestFormsOfTime335(t *testing.T) { // RFC 5545 section 3.3.5
	newYork := zone(t, "America/New_York")
	at := func(day, clock string) time.Time {
		m, err := civil.ParseMinute(clock)
		if err != nil {
			t.Fatal(err)
		}
		return civil.At(date(t, day), m, newYork)
	}
	for _, c := range []struct {
		why        string
		start      time.Time
		length     time.Duration
		wantS, wnE string
	}{
		{"an ordinary time is local", at("1998-01-19", "02:00"), time.Hour, ";TZID=America/New_York:19980119T020000", ";TZID=America/New_York:19980119T030000"},
		{"a start that comes twice is UTC", at("2007-11-04", "01:30"), 2 * time.Hour, ":20071104T053000Z", ":20071104T073000Z"},
		{"its second coming too", at("2007-11-04", "01:30").Add(time.Hour), 2 * time.Hour, ":20071104T063000Z", ":20071104T083000Z"},
		{"an end that comes twice is UTC", at("2007-11-04", "00:30"), time.Hour, ":20071104T043000Z", ":20071104T053000Z"},
		{"a span over the change is local", at("2007-11-04", "00:30"), 4 * time.Hour, ";TZID=America/New_York:20071104T003000", ";TZID=America/New_York:20071104T033000"},
		{"a time in a gap is the time after it", at("2007-03-11", "02:30"), time.Hour, ";TZID=America/New_York:20070311T033000", ";TZID=America/New_York:20070311T043000"},
		{"so is an end at the gap", at("2007-03-11", "01:00"), time.Hour, ";TZID=America/New_York:20070311T010000", ";TZID=America/New_York:20070311T030000"},
	} {
		e := publish(t, feed(newYork, timed(1, "Cut", c.start, c.length)), "1998-01-01").event(t, "Cut")
		if got := e.one(t, "DTSTART"); got != c.wantS {
			t.Errorf("%s: DTSTART%s, want %s", c.why, got, c.wantS)
		}
		if got := e.one(t, "DTEND"); got != c.wnE {
			t.Errorf("%s: DTEND%s, want %s", c.why, got, c.wnE)
		}
	}
}

func TestAlarm366(t *testing.T) { // RFC 5545 section 3.6.6
	work := timed(1, "Breakfast meeting", changed, time.Hour)
	early := timed(2, "Early", changed, time.Hour)
	early.Alarm = 26 * time.Hour
	cure := timed(3, "Not busy", changed, time.Hour)
	cure.Busy = false
	gone := timed(4, "Gone", changed, time.Hour)
	gone.Status = ical.Cancelled
	day := allDay(5, "Whole day", civil.Of(changed), civil.Of(changed))
	day.Busy = true

	f := feed(zone(t, "Europe/Lisbon"), work, early, cure, gone, day)
	f.Alarm = 30 * time.Minute
	cal := parse(t, verify(t, f, civil.Of(changed)))
	for n, want := range map[int]time.Duration{1: -30 * time.Minute, 2: -26 * time.Hour} {
		alarms := parsedEvent(t, cal, uid(n)).Children
		if len(alarms) != 1 || alarms[0].Name != "VALARM" || alarms[0].Props.Get("ACTION").Value != "DISPLAY" {
			t.Fatalf("event %d has not one DISPLAY alarm", n)
		}
		if got, err := alarms[0].Props.Get("TRIGGER").Duration(); err != nil || got != want {
			t.Errorf("event %d: the trigger is %v, %v; want %v", n, got, err, want)
		}
		if got := text(t, alarms[0].Props, "DESCRIPTION"); got == "" {
			t.Errorf("event %d: the alarm shows nothing", n)
		}
	}
	for n := 3; n <= 5; n++ {
		if got := parsedEvent(t, cal, uid(n)).Children; len(got) != 0 {
			t.Errorf("event %d has an alarm", n)
		}
	}

	f.Alarm = 0
	for _, e := range parse(t, verify(t, f, civil.Of(changed))).Events() {
		if len(e.Children) != 0 {
			t.Errorf("an alarm that the feed did not ask for")
		}
	}
}
