package ical

import (
	"cmp"
	"slices"
	"testing"
	"time"

	"ripeline/schedule/civil"
)

// newYorkRule is one observance of the New York time zone as RFC 5545 section
// 3.6.5 prints it: at 02:00 on the n-th Sunday of a month (-1: the last), in
// each of the years.
type newYorkRule struct {
	daylight  bool
	month     time.Month
	sunday    int
	from, to  int
	exceptDay int // the section gives a date instead of a rule: the day of the month
}

var newYorkRules = []newYorkRule{
	{daylight: true, month: time.April, sunday: -1, from: 1967, to: 1973},
	{month: time.October, sunday: -1, from: 1967, to: 2006},
	{daylight: true, month: time.January, from: 1974, to: 1974, exceptDay: 6},
	{daylight: true, month: time.February, from: 1975, to: 1975, exceptDay: 23},
	{daylight: true, month: time.April, sunday: -1, from: 1976, to: 1986},
	{daylight: true, month: time.April, sunday: 1, from: 1987, to: 2006},
	{daylight: true, month: time.March, sunday: 2, from: 2007, to: 2040},
	{month: time.November, sunday: 1, from: 2007, to: 2040},
}

// day returns the day of the rule's Sunday in a year.
func (r newYorkRule) day(year int) int {
	if r.exceptDay != 0 {
		return r.exceptDay
	}
	if r.sunday < 0 {
		last := time.Date(year, r.month+1, 0, 0, 0, 0, 0, time.UTC)
		return last.Day() - int(last.Weekday())
	}
	first := time.Date(year, r.month, 1, 0, 0, 0, 0, time.UTC)
	return 1 + (7-int(first.Weekday()))%7 + 7*(r.sunday-1)
}

// expand lists the observances that the rules stand for, in order of time.
func expand(rules []newYorkRule) []observance {
	const summer, winter = -4 * time.Hour, -5 * time.Hour
	var out []observance
	for _, r := range rules {
		for year := r.from; year <= r.to; year++ {
			o := observance{onset: time.Date(year, r.month, r.day(year), 2, 0, 0, 0, time.UTC), from: summer, to: winter, name: "EST"}
			if r.daylight {
				o.daylight, o.from, o.to, o.name = true, winter, summer, "EDT"
			}
			out = append(out, o)
		}
	}
	slices.SortFunc(out, func(a, b observance) int { return a.onset.Compare(b.onset) })
	return out
}

func TestNewYork365(t *testing.T) { // RFC 5545 section 3.6.5
	newYork, err := civil.LoadZone("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	got := observances(newYear(1967, newYork), newYear(2041, newYork))
	first, changes := got[0], got[1:]
	if first.daylight || first.name != "EST" || first.from != first.to || first.from != -5*time.Hour {
		t.Errorf("the first observance is %+v, want winter time", first)
	}
	want := expand(newYorkRules)
	if len(changes) != len(want) {
		t.Fatalf("%d observances, want %d", len(changes), len(want))
	}
	for i := range want {
		if changes[i] != want[i] {
			t.Errorf("observance %d is %+v, want %+v", i, changes[i], want[i])
		}
	}
}

// TestDaylightIsAhead checks the zones whose summer time the zone database
// calls standard, and some ordinary ones.
func TestDaylightIsAhead(t *testing.T) {
	for _, name := range []string{"Europe/Dublin", "Africa/Casablanca", "Europe/Lisbon", "Australia/Sydney", "Antarctica/Troll"} {
		loc, err := civil.LoadZone(name)
		if err != nil {
			t.Fatal(err)
		}
		all := observances(newYear(2026, loc), newYear(2029, loc))
		ahead := slices.MaxFunc(all, func(a, b observance) int { return cmp.Compare(a.to, b.to) }).to
		for _, o := range all {
			if o.daylight != (o.to == ahead) {
				t.Errorf("%s: %+v", name, o)
			}
		}
	}
}

func TestUTCOffset(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "+0000", 5*time.Hour + 45*time.Minute: "+0545", -(3*time.Hour + 30*time.Minute): "-0330",
		-(44*time.Minute + 30*time.Second): "-004430", 14 * time.Hour: "+1400",
	} {
		if got := utcOffset(d); got != want {
			t.Errorf("%v is written %s, want %s", d, got, want)
		}
	}
}

func TestColors(t *testing.T) {
	for name, want := range map[string]bool{
		"seagreen": true, "aliceblue": true, "yellowgreen": true, "": false, " ": false, "tan teal": false, "SeaGreen": false, "#2e8b57": false, "sea": false,
	} {
		if isColor(name) != want {
			t.Errorf("%q is a colour: %v", name, !want)
		}
	}
}
