package ical

import (
	"cmp"
	"slices"
	"strings"
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
	e = e.marked()
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

// marked returns e with what tells it from an event that would look the same: its
// Ref in the summary, or failing that the end of its UID in the description. A
// cancelled one has both, for the same work may be planned and cancelled twice.
//
// The mark comes from the event alone and is always there. If it depended on what
// else is in the feed, the event would change while its DTSTAMP does not.
func (e Event) marked() Event {
	if e.Ref != "" && !strings.Contains(e.Summary, e.Ref) {
		e.Summary += " (" + e.Ref + ")"
	}
	if e.Ref == "" || e.Status == Cancelled {
		e.Description = strings.TrimLeft(e.Description+"\nReference "+e.UID[len(e.UID)-12:], "\n")
	}
	return e
}
