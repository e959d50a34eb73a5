package civil_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"ripeline/schedule/civil"
)

// TestAt holds the facts of RFC 5545 section 3.3.5 and clock changes of zones
// with unusual ones, as tzdata records them.
func TestAt(t *testing.T) {
	for _, c := range []struct {
		zone, date, clock string
		want              string
		why               string
	}{
		{"Europe/Lisbon", "2026-12-03", "18:30", "2026-12-03T18:30:00Z", "an ordinary evening"},
		{"Europe/Lisbon", "2026-07-03", "18:30", "2026-07-03T17:30:00Z", "an ordinary summer evening"},
		{"Europe/Lisbon", "2026-12-03", "24:00", "2026-12-04T00:00:00Z", "24:00 is the next midnight"},

		{"America/New_York", "2007-11-04", "01:30", "2007-11-04T05:30:00Z", "RFC 5545 3.3.5: twice, so the first"},
		{"America/New_York", "2007-03-11", "02:30", "2007-03-11T07:30:00Z", "RFC 5545 3.3.5: never, so with the offset before"},
		{"America/New_York", "2026-03-08", "02:00", "2026-03-08T07:00:00Z", "the gap's first minute"},
		{"America/New_York", "2026-03-08", "02:30", "2026-03-08T07:30:00Z", "inside the gap"},
		{"America/New_York", "2026-03-08", "03:00", "2026-03-08T07:00:00Z", "the first minute after the gap"},
		{"America/New_York", "2026-03-08", "01:59", "2026-03-08T06:59:00Z", "the last minute before the gap"},
		{"Europe/Berlin", "2026-03-29", "02:30", "2026-03-29T01:30:00Z", "inside the gap, east of Greenwich"},
		{"Europe/Berlin", "2026-10-25", "02:30", "2026-10-25T00:30:00Z", "twice, so the first"},
		{"Europe/Berlin", "2026-10-25", "02:00", "2026-10-25T00:00:00Z", "twice, the first minute of it"},
		{"Europe/Berlin", "2026-10-25", "03:00", "2026-10-25T02:00:00Z", "the first minute after the overlap"},
		{"Australia/Sydney", "2026-04-05", "02:30", "2026-04-04T15:30:00Z", "twice, so the first, south of the equator"},
		{"Australia/Sydney", "2026-10-04", "02:30", "2026-10-03T16:30:00Z", "inside the gap"},

		{"Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:45:00Z", "a gap of half an hour"},
		{"Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04T14:45:00Z", "an overlap of half an hour"},
		{"Africa/Casablanca", "2026-02-15", "02:30", "2026-02-15T01:30:00Z", "summer time ends for Ramadan"},
		{"Africa/Casablanca", "2026-03-22", "02:30", "2026-03-22T02:30:00Z", "and begins again after it"},
		{"Pacific/Apia", "2011-12-30", "12:00", "2011-12-30T22:00:00Z", "a day that was skipped"},
		{"Pacific/Apia", "2011-12-31", "00:00", "2011-12-30T10:00:00Z", "the day after it"},
		{"Pacific/Apia", "2011-12-29", "24:00", "2011-12-30T10:00:00Z", "the end of the day before it"},
		{"Pacific/Kwajalein", "1993-08-21", "12:00", "1993-08-22T00:00:00Z", "another skipped day"},

		{"Africa/Cairo", "2026-04-24", "00:30", "2026-04-23T22:30:00Z", "a gap at midnight"},
		{"Africa/Cairo", "2026-10-29", "23:30", "2026-10-29T20:30:00Z", "an overlap before midnight"},
		{"Africa/Cairo", "2026-10-30", "00:00", "2026-10-29T22:00:00Z", "the midnight after it comes once"},
		{"Asia/Beirut", "2026-03-29", "00:30", "2026-03-28T22:30:00Z", "a gap at midnight"},
		{"America/Havana", "2026-03-08", "00:30", "2026-03-08T05:30:00Z", "a gap at midnight"},
		{"America/Havana", "2026-11-01", "00:30", "2026-11-01T04:30:00Z", "an overlap after midnight"},
		{"America/Santiago", "2026-09-06", "00:30", "2026-09-06T04:30:00Z", "a gap at midnight"},
		{"America/Santiago", "2026-04-04", "23:30", "2026-04-05T02:30:00Z", "an overlap before midnight"},
	} {
		m, err := civil.ParseMinute(c.clock)
		if err != nil {
			t.Fatal(err)
		}
		loc := zone(t, c.zone)
		got := civil.At(date(t, c.date), m, loc)
		if utc := got.UTC().Format(time.RFC3339); utc != c.want {
			t.Errorf("%s %s %s = %s, want %s (%s)", c.zone, c.date, c.clock, utc, c.want, c.why)
		}
		if got.Location() != loc {
			t.Errorf("the instant is in %v, want %v", got.Location(), loc)
		}
	}
}

func TestStartOfDay(t *testing.T) {
	for _, c := range []struct{ zone, date, want string }{
		{"Europe/Lisbon", "2026-12-03", "2026-12-03T00:00:00Z"},
		{"Africa/Cairo", "2026-04-24", "2026-04-23T22:00:00Z"},
		{"Asia/Beirut", "2026-03-29", "2026-03-28T22:00:00Z"},
		{"America/Santiago", "2026-09-06", "2026-09-06T04:00:00Z"},
		{"America/Havana", "2026-03-08", "2026-03-08T05:00:00Z"},
		{"America/Havana", "2026-11-01", "2026-11-01T04:00:00Z"},
		{"America/Santiago", "2026-04-05", "2026-04-05T04:00:00Z"},
		// Clocks went from 23:30 to 00:30: the day began half an hour after a midnight that never was.
		{"America/Toronto", "1919-03-31", "1919-03-31T04:30:00Z"},
		// The zone crossed the date line: there was no 30 December.
		{"Pacific/Apia", "2011-12-30", "2011-12-30T10:00:00Z"},
		{"Pacific/Apia", "2011-12-31", "2011-12-30T10:00:00Z"},
	} {
		got := civil.StartOfDay(date(t, c.date), zone(t, c.zone)).UTC().Format(time.RFC3339)
		if got != c.want {
			t.Errorf("%s began in %s at %s, want %s", c.date, c.zone, got, c.want)
		}
	}
}

func TestExists(t *testing.T) {
	newYork, spring := zone(t, "America/New_York"), date(t, "2026-03-08")
	for m, want := range map[civil.Minute]bool{119: true, 120: false, 179: false, 180: true} {
		if civil.Exists(spring, m, newYork) != want {
			t.Errorf("%v on %v exists: %v", m, spring, !want)
		}
	}
}

func TestShownTwice(t *testing.T) {
	for _, c := range []struct {
		zone, instant string
		want          bool
	}{
		{"Europe/Berlin", "2026-10-24T23:59:59Z", false}, // 01:59:59, the last second before
		{"Europe/Berlin", "2026-10-25T00:00:00Z", true},  // 02:00, the first time
		{"Europe/Berlin", "2026-10-25T00:59:59Z", true},  // 02:59:59
		{"Europe/Berlin", "2026-10-25T01:00:00Z", true},  // 02:00, the second time
		{"Europe/Berlin", "2026-10-25T01:59:59Z", true},  // 02:59:59
		{"Europe/Berlin", "2026-10-25T02:00:00Z", false}, // 03:00
		{"Europe/Berlin", "2026-03-29T01:00:00Z", false}, // 03:00, after a gap
		{"Europe/Berlin", "2044-12-31T12:00:00Z", false}, // the last day of a leap year
		{"Australia/Lord_Howe", "2026-04-04T14:45:00Z", true},
		{"Australia/Lord_Howe", "2026-04-04T15:45:00Z", false},
		{"Pacific/Kwajalein", "1969-09-30T13:30:00Z", true}, // back by 23 hours
		{"UTC", "2026-10-25T01:00:00Z", false},
	} {
		at, err := time.Parse(time.RFC3339, c.instant)
		if err != nil {
			t.Fatal(err)
		}
		if got := civil.ShownTwice(at.In(zone(t, c.zone))); got != c.want {
			t.Errorf("%s in %s shown twice: %v", c.instant, c.zone, got)
		}
	}
}

// TestShownTwiceAgreesWithASearch looks for the other instant minute by minute.
func TestShownTwiceAgreesWithASearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc, err := civil.LoadZone(zonesWithChanges().Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		d, m := nearAChange(t, loc)
		at := civil.At(d, m, loc)
		want := false
		for i := -36 * 60; i <= 36*60; i++ {
			other := at.Add(time.Duration(i) * time.Minute)
			want = want || i != 0 && civil.Of(other) == civil.Of(at) && civil.ClockOf(other) == civil.ClockOf(at)
		}
		if civil.ShownTwice(at) != want {
			t.Fatalf("%v shown twice: %v by search", at, want)
		}
	})
}

// TestNextChange crosses a leap year's last day, where the standard library
// reports a bound in the past.
func TestNextChange(t *testing.T) {
	berlin := zone(t, "Europe/Berlin")
	limit := time.Date(2046, 1, 1, 0, 0, 0, 0, time.UTC)
	want := []string{"2044-10-30T01:00:00Z", "2045-03-26T01:00:00Z", "2045-10-29T01:00:00Z"}
	at := time.Date(2044, 3, 27, 1, 0, 0, 0, time.UTC).In(berlin)
	for _, w := range want {
		next, ok := civil.NextChange(at, limit)
		if got := next.UTC().Format(time.RFC3339); !ok || got != w {
			t.Fatalf("after %v comes %v, %v; want %s", at, got, ok, w)
		}
		at = next
	}
	if next, ok := civil.NextChange(at, limit); ok {
		t.Errorf("there is a change at %v, after the limit %v", next, limit)
	}
	lastDay := time.Date(2044, 12, 31, 15, 0, 0, 0, time.UTC).In(berlin)
	if next, _ := civil.NextChange(lastDay, limit); next.UTC().Format(time.RFC3339) != want[1] {
		t.Errorf("after %v comes %v, want %s", lastDay, next, want[1])
	}
	if next, ok := civil.NextChange(lastDay.UTC(), limit); ok {
		t.Errorf("UTC changes at %v", next)
	}
}

func TestLastDayOfALeapYear(t *testing.T) {
	berlin := zone(t, "Europe/Berlin")
	for _, s := range []string{"2028-12-31", "2044-12-31"} {
		d := date(t, s)
		noon := civil.At(d, 12*60, berlin)
		if got := noon.UTC().Format(time.RFC3339); got != s+"T11:00:00Z" || !civil.Exists(d, 12*60, berlin) {
			t.Errorf("noon on %s is %s", s, got)
		}
	}
}

// zonesWithChanges are zones whose clock changes differ in size, hour and
// hemisphere.
func zonesWithChanges() *rapid.Generator[string] {
	return rapid.SampledFrom([]string{
		"UTC", "Europe/Lisbon", "Europe/Berlin", "Europe/Dublin", "America/New_York", "America/St_Johns", "America/Havana", "America/Santiago",
		"America/Asuncion", "America/Sao_Paulo", "America/Nuuk", "America/Scoresbysund", "America/Caracas", "Africa/Cairo", "Africa/Casablanca",
		"Asia/Beirut", "Asia/Gaza", "Asia/Kathmandu", "Asia/Pyongyang", "Asia/Tehran", "Atlantic/Azores", "Australia/Lord_Howe",
		"Australia/Sydney", "Pacific/Apia", "Pacific/Auckland", "Pacific/Chatham", "Pacific/Fakaofo", "Pacific/Kiritimati", "Pacific/Kwajalein",
		"Antarctica/Troll", "Antarctica/Casey",
	})
}

// nearAChange draws a local day and minute, within a few hours of a clock
// change if the zone has one ahead.
func nearAChange(t *rapid.T, loc *time.Location) (civil.Date, civil.Minute) {
	from := time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC).Unix()
	to := time.Date(2050, 1, 1, 0, 0, 0, 0, time.UTC).Unix()
	instant := time.Unix(rapid.Int64Range(from, to).Draw(t, "instant"), 0).In(loc)
	if _, end := instant.ZoneBounds(); !end.IsZero() {
		instant = end.Add(time.Duration(rapid.IntRange(-26*60, 26*60).Draw(t, "minutes from the change")) * time.Minute).In(loc)
	}
	return civil.Of(instant), civil.Minute(rapid.IntRange(0, int(civil.DayMinutes)).Draw(t, "minute"))
}

// search finds by trying every minute of three days what At computes: the
// first instant that shows day d and minute m.
func search(d civil.Date, m civil.Minute, loc *time.Location) (time.Time, bool) {
	wall := time.Date(d.Year, d.Month, d.Day, 0, int(m), 0, 0, time.UTC)
	day, minute := civil.Of(wall), civil.ClockOf(wall)
	for i := -36 * 60; i <= 36*60; i++ {
		try := wall.Add(time.Duration(i) * time.Minute).In(loc)
		if civil.ClockOf(try) == minute && try.Second() == 0 && civil.Of(try) == day {
			return try, true
		}
	}
	return time.Time{}, false
}

func TestAtAgreesWithASearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc, err := civil.LoadZone(zonesWithChanges().Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		d, m := nearAChange(t, loc)
		got := civil.At(d, m, loc)
		want, exists := search(d, m, loc)
		if civil.Exists(d, m, loc) != exists {
			t.Fatalf("%v %v in %v exists: %v by search", d, m, loc, exists)
		}
		if exists && !got.Equal(want) {
			t.Fatalf("%v %v in %v = %v, want %v", d, m, loc, got.UTC(), want.UTC())
		}
		if !exists {
			checkGap(t, d, m, got)
		}
	})
}

// checkGap wants the clock to show, at the instant got, the skipped time moved
// on by exactly the gap.
func checkGap(t *rapid.T, d civil.Date, m civil.Minute, got time.Time) {
	start, _ := got.ZoneBounds()
	_, before := start.Add(-time.Second).Zone()
	_, after := got.Zone()
	wall := time.Date(d.Year, d.Month, d.Day, 0, int(m), after-before, 0, time.UTC)
	if after <= before || civil.Of(got) != civil.Of(wall) || civil.ClockOf(got) != civil.ClockOf(wall) {
		t.Fatalf("skipped %v %v became %v; offsets %d, then %d", d, m, got, before, after)
	}
}

func TestStartOfDayIsTheDaysFirstInstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc, err := civil.LoadZone(zonesWithChanges().Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		d, _ := nearAChange(t, loc)
		start := civil.StartOfDay(d, loc)
		if civil.Of(start) != d {
			t.Fatalf("%v in %v starts at %v", d, loc, start)
		}
		if eve := start.Add(-time.Second); !civil.Of(eve).Before(d) {
			t.Fatalf("%v in %v starts at %v, yet a second before it is %v", d, loc, start, eve)
		}
	})
}

func TestStartsOfDaysAreThoseOfEach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc, err := civil.LoadZone(zonesWithChanges().Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		near, _ := nearAChange(t, loc)
		first := near.AddDays(-rapid.IntRange(0, 40).Draw(t, "before"))
		for i, got := range civil.StartsOfDays(first, 80, loc) {
			if want := civil.StartOfDay(first.AddDays(i), loc); !got.Equal(want) {
				t.Fatalf("%v in %v starts at %v, want %v", first.AddDays(i), loc, got, want)
			}
		}
	})
}

// TestShownAgreesWithASearch compares what the clock shows minute by minute.
func TestShownAgreesWithASearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc, err := civil.LoadZone(zonesWithChanges().Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		d, from := nearAChange(t, loc)
		to := civil.Minute(rapid.IntRange(int(from), int(civil.DayMinutes)).Draw(t, "to"))
		spans := civil.Shown(d, from, to, loc)
		for i, s := range spans {
			if !s.From.Before(s.To) || i > 0 && !spans[i-1].To.Before(s.From) {
				t.Fatalf("the spans %v are empty or not apart", spans)
			}
		}
		first := civil.StartOfDay(d.AddDays(-1), loc).Truncate(time.Minute)
		for i := range 3 * 26 * 60 {
			at := first.Add(time.Duration(i) * time.Minute)
			within := false
			for _, s := range spans {
				within = within || !at.Before(s.From) && at.Before(s.To)
			}
			if shown := civil.Of(at) == d && civil.ClockOf(at) >= from && civil.ClockOf(at) < to; shown != within {
				t.Fatalf("%v: on %v from %v to %v in the spans %v: %v", at, d, from, to, spans, within)
			}
		}
	})
}
