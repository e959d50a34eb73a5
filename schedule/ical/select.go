package ical

import (
	"cmp"
	"slices"
	"time"

	"github.com/google/uuid"

	"ripeline/schedule/civil"
)

const (
	daysBack      = 90 // how long an event stays after it ended
	daysCancelled = 14 // how long a cancelled event stays after it was cancelled
)

// entries returns copies of the events to publish, with the texts they will
// show, in the order they are written: by start, all-day before timed, UID.
func (f Feed) entries(today civil.Date) []Event {
	var out []Event
	for _, e := range f.Events {
		if f.shows(e, today) {
			out = append(out, e.cleaned())
		}
	}
	if len(out) == 0 {
		out = []Event{f.placeholder()}
	}
	distinguish(out)
	slices.SortFunc(out, f.compare)
	return out
}

func (f Feed) shows(e Event, today civil.Date) bool {
	last := f.lastDay(e)
	if e.Status == Cancelled {
		cancelled := civil.Of(e.Modified.In(f.Zone))
		return !last.Before(today) && today.Sub(cancelled) <= daysCancelled
	}
	return today.Sub(last) <= daysBack
}

// lastDay returns the last day on which any of e lies.
func (f Feed) lastDay(e Event) civil.Date {
	if e.AllDay {
		return e.To
	}
	return civil.Of(e.End.Add(-time.Nanosecond).In(f.Zone))
}

func (f Feed) compare(a, b Event) int {
	return cmp.Or(
		f.begin(a).Compare(f.begin(b)),
		compareBool(b.AllDay, a.AllDay),
		cmp.Compare(a.UID, b.UID))
}

func (f Feed) begin(e Event) time.Time {
	if e.AllDay {
		return civil.StartOfDay(e.From, f.Zone)
	}
	return e.Start
}

// compareBool orders false before true.
func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// cleaned returns e with texts fit to publish. A name made of nothing but
// control characters must not take a whole feed down, so it gets a stand-in.
func (e Event) cleaned() Event {
	e.Ref, e.Kind, e.Location = line(e.Ref), line(e.Kind), line(e.Location)
	e.Description = lines(e.Description)
	e.Summary = cmp.Or(line(e.Summary), e.Kind, "(no title)")
	if e.Status == Cancelled {
		e.Summary = "Cancelled: " + e.Summary
		e.Busy = false
	}
	if !e.AllDay {
		e.Start, e.End = e.Start.Truncate(time.Second), e.End.Truncate(time.Second)
	}
	return e
}

// placeholder is the one entry of a feed with nothing to show: RFC 5545
// section 3.6 wants at least one component, and some apps keep showing the
// events of before when an empty object comes.
//
// It lies on the day of the feed's last change, not on today: the bytes must
// stay the same while nothing changes. Its UID stays too, so its SEQUENCE is
// the number of that day, which rises whenever its date does.
func (f Feed) placeholder() Event {
	day := civil.Of(f.Modified.In(f.Zone))
	return Event{
		UID:         uuid.NewSHA1(uuid.MustParse(f.ID), []byte("nothing planned")).String(),
		Summary:     "Nothing planned",
		Description: "This calendar works; there is nothing in it at present. New work will appear by itself.",
		AllDay:      true,
		From:        day,
		To:          day,
		Sequence:    day.Sub(civil.Date{Year: 1970, Month: time.January, Day: 1}),
		Modified:    f.Modified,
		Status:      Confirmed,
	}
}

// looks is what a subscriber sees of an event at a glance.
type looks struct {
	summary    string
	allDay     bool
	start, end int64
	from, to   civil.Date
}

func (e Event) looks() looks {
	l := looks{summary: e.Summary, allDay: e.AllDay, from: e.From, to: e.To}
	if !e.AllDay {
		l.start, l.end = e.Start.Unix(), e.End.Unix()
	}
	return l
}

// distinguish adds to the summaries of events that look alike what tells them
// apart: first the Ref, then where that is not enough the last block of the
// UID, then all of it.
func distinguish(events []Event) {
	plain := make([]string, len(events))
	for i, e := range events {
		plain[i] = e.Summary
	}
	for _, mark := range []func(Event) string{
		func(e Event) string { return e.Ref },
		func(e Event) string { return e.UID[len(e.UID)-12:] },
		func(e Event) string { return e.UID },
	} {
		count := make(map[looks]int, len(events))
		for _, e := range events {
			count[e.looks()]++
		}
		for i, e := range events {
			if m := mark(e); count[e.looks()] > 1 && m != "" {
				events[i].Summary = plain[i] + " (" + m + ")"
			}
		}
	}
}
