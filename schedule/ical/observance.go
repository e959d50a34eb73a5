package ical

import (
	"fmt"
	"time"

	"ripeline/schedule/civil"
)

// observance is one stretch of constant offset, as a STANDARD or DAYLIGHT
// component of a VTIMEZONE states it (RFC 5545 section 3.6.5).
type observance struct {
	daylight bool
	onset    time.Time     // wall-clock time of its begin by the offset before, written as if it were UTC
	from, to time.Duration // offsets before and from the onset, east of Greenwich positive
	name     string        // abbreviation
}

// observances lists the zone's stretches that cover the instants from start to
// end. The first one is stated to begin at start and changes nothing.
func observances(start, end time.Time) []observance {
	first := observance{from: offset(start), to: offset(start), name: abbreviation(start), daylight: start.IsDST()}
	first.onset = wall(start, first.from)
	out := []observance{first}
	for before := start; ; {
		change, ok := civil.NextChange(before, end)
		if !ok {
			return out
		}
		o := observance{from: offset(before), to: offset(change), name: abbreviation(change), daylight: change.IsDST()}
		o.onset = wall(change, o.from)
		if o.to != o.from && (before.IsDST() || change.IsDST()) {
			// By the zone database, Ireland and Morocco have a summer standard
			// time and a "daylight" time in winter or Ramadan that is behind
			// it. Readers expect DAYLIGHT to be ahead, so where summer time
			// begins or ends the direction decides.
			o.daylight = o.to > o.from
			out[len(out)-1].daylight = !o.daylight
		}
		out = append(out, o)
		before = change
	}
}

func offset(t time.Time) time.Duration {
	_, seconds := t.Zone()
	return time.Duration(seconds) * time.Second
}

func abbreviation(t time.Time) string {
	name, _ := t.Zone()
	return name
}

// wall returns what a clock at the given offset shows at t, as if it were UTC.
func wall(t time.Time, offset time.Duration) time.Time {
	return t.UTC().Add(offset)
}

// utcOffset writes an offset as RFC 5545 section 3.3.14 wants it, like -0330.
func utcOffset(d time.Duration) string {
	sign := '+'
	if d < 0 {
		sign, d = '-', -d
	}
	s := int(d / time.Second)
	text := fmt.Sprintf("%c%02d%02d", sign, s/3600, s/60%60)
	if s%60 != 0 {
		text += fmt.Sprintf("%02d", s%60)
	}
	return text
}
