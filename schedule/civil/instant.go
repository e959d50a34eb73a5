package civil

import (
	"iter"
	"time"
)

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

// StartsOfDays yields the StartOfDay of n days from the first on. The zone is asked
// anew only where its offset changes.
func StartsOfDays(first Date, n int, loc *time.Location) iter.Seq2[int, time.Time] {
	return func(yield func(int, time.Time) bool) {
		var at, until time.Time
		midnight := false // at is the midnight that its day begins with
		for i := range n {
			if next := at.Add(24 * time.Hour); midnight && (until.IsZero() || next.Before(until)) {
				at = next
			} else {
				day := first.AddDays(i)
				at = StartOfDay(day, loc)
				_, until = at.ZoneBounds()
				midnight = Of(at) == day && ClockOf(at) == 0
			}
			if !yield(i, at) {
				return
			}
		}
	}
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
	// than a day, so two days reach past every candidate.
	const margin = 2 * 24 * time.Hour

	local := d.midnightUTC().Add(time.Duration(m) * time.Minute)
	start := local.Add(-margin).In(loc)
	before := start
	for {
		candidate := fromWall(local, start)
		if candidate.Before(start) {
			return fromWall(local, before), start
		}
		end, changes := NextChange(start, local.Add(margin))
		if !changes || candidate.Before(end) {
			return candidate, time.Time{}
		}
		before, start = start, end
	}
}

// fromWall returns the instant at which clocks show local, whose fields are
// written as if they were UTC, by the offset in force at ref.
func fromWall(local, ref time.Time) time.Time {
	_, offset := ref.Zone()
	return local.Add(-time.Duration(offset) * time.Second).In(ref.Location())
}

// NextChange returns the first instant after t, and before limit, at which t's
// location changes its offset, its abbreviation or its summer time flag; false
// when there is none.
//
// It is here because time.Time.ZoneBounds can not be trusted alone: where a
// zone follows a yearly rule it also reports a bound at each new year, at which
// nothing changes, and on 31 December of a leap year an end that has already
// passed.
func NextChange(t, limit time.Time) (time.Time, bool) {
	for probe := t; ; {
		_, end := probe.ZoneBounds()
		if end.IsZero() {
			return time.Time{}, false
		}
		if !end.After(probe) {
			end = probe.Truncate(24 * time.Hour).Add(24 * time.Hour)
		}
		if !end.Before(limit) {
			return time.Time{}, false
		}
		if !sameClock(probe, end) {
			return end, true
		}
		probe = end
	}
}

func sameClock(a, b time.Time) bool {
	nameA, offsetA := a.Zone()
	nameB, offsetB := b.Zone()
	return nameA == nameB && offsetA == offsetB && a.IsDST() == b.IsDST()
}

// ShownTwice reports whether the clocks of t's location show t's wall-clock
// time at another instant too, because they went back around it.
func ShownTwice(t time.Time) bool {
	const margin = 2 * 24 * time.Hour

	local := fields(t)
	start := t.Add(-margin)
	for {
		end, changes := NextChange(start, t.Add(margin))
		other := fromWall(local, start)
		if !other.Equal(t) && !other.Before(start) && (!changes || other.Before(end)) {
			return true
		}
		if !changes {
			return false
		}
		start = end
	}
}

// Span is the time from an instant up to another, which is not in it.
type Span struct{ From, To time.Time }

// Shown returns when the clocks of loc show the minutes from to to of day d, to
// itself left out, in order of time. That is one span on most days. What clocks
// skip when they go forward is not in it, so that there may be none; what they
// show twice when they go back is in it both times, so that there may be two.
func Shown(d Date, from, to Minute, loc *time.Location) []Span {
	const margin = 2 * 24 * time.Hour

	local := d.midnightUTC()
	limit := local.Add(24*time.Hour + margin)
	var out []Span
	for start := local.Add(-margin).In(loc); start.Before(limit); {
		next, changes := NextChange(start, limit)
		if !changes {
			next = limit
		}
		span := Span{
			From: fromWall(local.Add(time.Duration(from)*time.Minute), start),
			To:   fromWall(local.Add(time.Duration(to)*time.Minute), start),
		}
		if span.From.Before(start) {
			span.From = start
		}
		if span.To.After(next) {
			span.To = next
		}
		if last := len(out) - 1; span.From.Before(span.To) && last >= 0 && out[last].To.Equal(span.From) {
			out[last].To = span.To
		} else if span.From.Before(span.To) {
			out = append(out, span)
		}
		start = next
	}
	return out
}

// fields returns what t's clock shows, written as if it were UTC: the inverse
// of fromWall.
func fields(t time.Time) time.Time {
	_, offset := t.Zone()
	return t.UTC().Add(time.Duration(offset) * time.Second)
}
