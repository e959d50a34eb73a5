package civil

import "time"

// At returns the instant at which the clocks of loc show minute m on day d, by
// the rules of RFC 5545, section 3.3.5:
//
//   - a time that occurs twice, when clocks go back, is its first occurrence;
//   - a time that never occurs, when clocks go forward, is read with the offset
//     in force before the gap, so 02:30 in a gap of an hour shows as 03:30.
//
// time.Date keeps neither rule, so nothing else in the project may turn local
// time into an instant. Minute 24:00 is 00:00 of the next day. The result is in
// loc.
func At(d Date, m Minute, loc *time.Location) time.Time {
	t, _ := locate(d, m, loc)
	return t
}

// StartOfDay returns the first instant of day d in loc. It is midnight, except
// where the clocks jump over midnight: then it is the end of the jump. For a
// day that a zone skipped altogether it is the start of the day after.
func StartOfDay(d Date, loc *time.Location) time.Time {
	t, gapEnd := locate(d, 0, loc)
	if !gapEnd.IsZero() {
		return gapEnd
	}
	return t
}

// Exists reports whether the clocks of loc ever show minute m on day d: it is
// false exactly inside the gap of a forward change.
func Exists(d Date, m Minute, loc *time.Location) bool {
	_, gapEnd := locate(d, m, loc)
	return gapEnd.IsZero()
}

// locate finds the instant for At. When the local time falls in a gap it also
// returns the instant the gap ends at, else the zero time.
//
// It walks the zone's spans of constant offset in order of time, from one that
// surely begins too early, and takes the first in which the local time falls.
// If instead it reaches a span that begins too late, the local time was skipped
// between that span and the one before.
func locate(d Date, m Minute, loc *time.Location) (at, gapEnd time.Time) {
	// No zone has ever been more than 16 hours from UTC, nor jumped by more
	// than a day, so two days before is before every candidate.
	const surelyEarlier = 2 * 24 * time.Hour

	local := d.midnightUTC().Add(time.Duration(m) * time.Minute)
	probe := local.Add(-surelyEarlier).In(loc)
	_, offset := probe.Zone()
	for {
		start, end := probe.ZoneBounds()
		before := offset
		_, offset = probe.Zone()
		candidate := local.Add(-time.Duration(offset) * time.Second).In(loc)
		if !start.IsZero() && candidate.Before(start) {
			return local.Add(-time.Duration(before) * time.Second).In(loc), start
		}
		if end.IsZero() || candidate.Before(end) {
			return candidate, time.Time{}
		}
		probe = end
	}
}
