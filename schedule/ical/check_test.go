package ical_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

func TestPublishRefusesAndNamesTheField(t *testing.T) {
	day := civil.Of(changed)
	bad := civil.Date{Year: 2026, Month: time.February, Day: 30}
	for want, spoil := range map[string]func(f *ical.Feed, e *ical.Event){
		"id: ":                     func(f *ical.Feed, _ *ical.Event) { f.ID = "feed" },
		"id: \"\"":                 func(f *ical.Feed, _ *ical.Event) { f.ID = "" },
		"name: must not be empty":  func(f *ical.Feed, _ *ical.Event) { f.Name = " \r\n\x00" },
		"zone: must be a named":    func(f *ical.Feed, _ *ical.Event) { f.Zone = nil },
		"use one like Europe":      func(f *ical.Feed, _ *ical.Event) { f.Zone = time.Local },
		"page URL: \"/plan\"":      func(f *ical.Feed, _ *ical.Event) { f.PageURL = "/plan" },
		"page URL: \"javascript:":  func(f *ical.Feed, _ *ical.Event) { f.PageURL = "javascript:alert(1)" },
		"page URL: \"https://u:p@": func(f *ical.Feed, _ *ical.Event) { f.PageURL = "https://u:p@soap.example/" },
		"is not a web address":     func(f *ical.Feed, _ *ical.Event) { f.PageURL = "https://soap.example/\r\nX-EVIL:1" },
		"must be percent-encoded":  func(f *ical.Feed, _ *ical.Event) { f.PageURL = "https://soap.example/?q=a b" },
		"color: \"sea green\"":     func(f *ical.Feed, _ *ical.Event) { f.Color = "sea green" },
		"alarm: -1m0s":             func(f *ical.Feed, _ *ical.Event) { f.Alarm = -time.Minute },
		"alarm: 30s must be whole": func(f *ical.Feed, _ *ical.Event) { f.Alarm = 30 * time.Second },
		"modified: must be given":  func(f *ical.Feed, _ *ical.Event) { f.Modified = time.Time{} },

		"event 1 (\"7\"): uid: ":                 func(_ *ical.Feed, e *ical.Event) { e.UID = "7" },
		"uid: \"5B0C":                            func(_ *ical.Feed, e *ical.Event) { e.UID = strings.ToUpper(e.UID) },
		"uid: \"00000000-":                       func(_ *ical.Feed, e *ical.Event) { e.UID = "00000000-0000-0000-0000-000000000000" },
		"uid: is already used":                   func(f *ical.Feed, e *ical.Event) { f.Events = append(f.Events, *e) },
		"sequence: -1":                           func(_ *ical.Feed, e *ical.Event) { e.Sequence = -1 },
		uid(1) + "\"): modified: must be given":  func(_ *ical.Feed, e *ical.Event) { e.Modified = time.Time{} },
		"status: \"\" must be confirmed":         func(_ *ical.Feed, e *ical.Event) { e.Status = "" },
		uid(1) + "\"): alarm: 192h":              func(_ *ical.Feed, e *ical.Event) { e.Alarm = 192 * time.Hour },
		"start: must be given":                   func(_ *ical.Feed, e *ical.Event) { e.Start = time.Time{} },
		"end: must be given":                     func(_ *ical.Feed, e *ical.Event) { e.End = time.Time{} },
		"start: the year 1850 is outside":        func(_ *ical.Feed, e *ical.Event) { e.Start = e.Start.AddDate(-176, 0, 0) },
		"end: 2026-11-20T09:15:30Z must be at l": func(_ *ical.Feed, e *ical.Event) { e.End = e.Start.Add(time.Millisecond) },
		"from: a timed event":                    func(_ *ical.Feed, e *ical.Event) { e.From = day },
		"start: an all-day event":                func(_ *ical.Feed, e *ical.Event) { e.AllDay, e.From, e.To = true, day, day },
		"to: 2026-11-19 must not be":             func(_ *ical.Feed, e *ical.Event) { *e = allDay(1, "Cure", day, day.AddDays(-1)) },
		"days: \"2026-02-30\" to":                func(_ *ical.Feed, e *ical.Event) { *e = allDay(1, "Cure", bad, day) },
		"are not both days of the calendar":      func(_ *ical.Feed, e *ical.Event) { *e = allDay(1, "Cure", day, civil.Date{}) },
	} {
		f := feed(zone(t, "Europe/Lisbon"), timed(1, "Cut", changed, time.Hour))
		spoil(&f, &f.Events[0])
		out, err := ical.Publish(f, day)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want one with %q", err, want)
		}
		if out != nil {
			t.Errorf("%s: there is output beside the error", want)
		}
	}
	if _, err := ical.Publish(feed(zone(t, "Europe/Lisbon")), civil.Date{}); err == nil || !strings.Contains(err.Error(), "today") {
		t.Errorf("no today: %v", err)
	}
}

func TestTooLarge(t *testing.T) {
	f := feed(zone(t, "Europe/Lisbon"))
	for n := range 4000 {
		f.Events = append(f.Events, timed(n, fmt.Sprintf("Cut %d", n), changed.Add(time.Duration(n)*time.Hour), time.Hour))
	}
	out, err := ical.Publish(f, civil.Of(changed))
	var large *ical.TooLargeError
	if !errors.As(err, &large) || out != nil {
		t.Fatalf("%d bytes, error %v; want a TooLargeError and nothing", len(out), err)
	}
	if large.Events != 4000 || large.Size <= ical.MaxBytes || !strings.Contains(err.Error(), "one kind of work") {
		t.Errorf("%+v: %v", large, err)
	}

	f.Events = f.Events[:2000]
	if out, err := ical.Publish(f, civil.Of(changed)); err != nil || len(out) > ical.MaxBytes {
		t.Errorf("2000 events: %d bytes, %v", len(out), err)
	}
}

// TestInjection puts into every text what would start a line, a parameter, a
// property or a component of its own.
func TestInjection(t *testing.T) {
	for _, attack := range []string{
		"x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:evil\r\nATTENDEE:mailto:a@evil.example",
		"x\nMETHOD:CANCEL", "x\rMETHOD:CANCEL", "x\u2028METHOD:CANCEL", "x\u0085METHOD:CANCEL", "x\vMETHOD:CANCEL", "x\fMETHOD:CANCEL",
		"x\x00\r\n\x00METHOD:CANCEL", "x\x1b[2J\a", "x\xff\xfe\r\nMETHOD:CANCEL", "\uFEFFx", `x\`, `x\n\,\;`, `x";METHOD="CANCEL`,
		"x" + strings.Repeat(" ", 300) + "y", strings.Repeat("\u00a0", 100) + "x", strings.Repeat("🧼", 60), "x\r\n \r\n\t\r\ny",
	} {
		f := feed(zone(t, "Europe/Lisbon"), timed(1, attack, changed, time.Hour), timed(2, attack, changed, time.Hour))
		f.Name, f.Description, f.Alarm = attack, attack, time.Hour
		e := &f.Events[0]
		e.Description, e.Location, e.Kind, e.Ref = attack, attack, attack, attack
		cal := publish(t, f, "2026-11-20")
		if n := len(cal.components("VEVENT")); n != 2 {
			t.Errorf("%q made %d events", attack, n)
		}
		for _, name := range []string{"SUMMARY", "LOCATION", "CATEGORIES"} {
			if got := cal.components("VEVENT")[0].one(t, name); strings.Contains(strings.ReplaceAll(got, `\\`, ""), `\n`) {
				t.Errorf("%q made several lines of %s: %s", attack, name, got)
			}
		}
	}
}

func TestANamelessEventStillShows(t *testing.T) {
	e := timed(1, "\x00\r\n", changed, time.Hour)
	if got := summaries(t, publish(t, feed(zone(t, "Europe/Lisbon"), e), "2026-11-20")); got[0] != "cut" {
		t.Errorf("summary %q, want its kind", got[0])
	}
	e.Kind = ""
	if got := summaries(t, publish(t, feed(zone(t, "Europe/Lisbon"), e), "2026-11-20")); got[0] != "(no title)" {
		t.Errorf("summary %q", got[0])
	}
}
