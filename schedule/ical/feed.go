// Package ical writes a plan as an iCalendar object that calendar apps can
// subscribe to.
//
// Publish is a pure function: equal input gives identical bytes, so a feed's
// validators may be made from them. It knows no HTTP and reads no clock.
//
// The rules are those of RFC 5545 and RFC 7986, cited where they are kept, and
// a few choices made because calendar apps differ: no recurrence rules and no
// floating times; the zone both by its IANA name and by a VTIMEZONE that says
// the same; UTC wherever a wall-clock time would be ambiguous; and never an
// empty object, since some apps take one for a failure.
package ical

import (
	"fmt"
	"time"

	"ripeline/schedule/civil"
)

// MaxBytes is the largest calendar Publish makes. Some apps stop reading not
// far above it, and half a calendar deletes the other half from a phone.
const MaxBytes = 1_000_000

// Status is how sure an event is.
type Status string

// The statuses of an event, RFC 5545 section 3.8.1.11.
const (
	Confirmed Status = "confirmed"
	Tentative Status = "tentative"
	Cancelled Status = "cancelled" // shown as such for a while, then left out
)

// Feed is one calendar. Texts may hold anything: what must not be in an
// iCalendar object is cleaned away.
type Feed struct {
	ID          string         // the feed's own stored UUID; only used to derive others
	Name        string         // shown as the calendar's name
	Description string         // optional
	PageURL     string         // optional: a page behind login, http or https; never the feed's own secret address
	Color       string         // optional: a CSS3 colour name in lower case, such as seagreen
	Zone        *time.Location // the workshop's zone, by civil.LoadZone
	Alarm       time.Duration  // 0: no alarms; else how long before timed, busy events an alarm rings
	Modified    time.Time      // when the feed or its plan was last changed, as stored; dates the entry of an empty feed
	Events      []Event        // in any order; Publish selects and sorts, and does not change them
}

// Event is one entry. It is timed by Start and End, or with AllDay set it fills
// the days From to To, both included.
type Event struct {
	UID         string // a stored random UUID: kept when the event moves, never used again
	Ref         string // optional: a lot code or order number; added to a summary that does not have it, so no two events of one summary and time may share it
	Kind        string // optional: the kind of work, written as the category
	Summary     string // one line
	Description string // optional, may have several lines
	Location    string // optional, one line

	AllDay     bool
	Start, End time.Time  // timed events: to the second, End after Start
	From, To   civil.Date // all-day events

	Sequence int           // 0 at first; the caller raises it with every change of date or status, cancelling included
	Modified time.Time     // the last stored change, never the time of asking
	Status   Status        // required
	Busy     bool          // blocks the time in the subscriber's calendar: hands-on work does, cure and hand-over do not
	Alarm    time.Duration // 0: the feed's; else the event's own lead, where the feed asks for alarms at all
}

// TooLargeError says that a feed would exceed MaxBytes. Nothing is cut off to
// make it fit: the reader would take what is missing for cancelled.
type TooLargeError struct {
	Size   int // bytes the calendar would have
	Events int // events in it
}

// Error says what to do about it.
func (e *TooLargeError) Error() string {
	return fmt.Sprintf("the calendar has %d events and %d bytes, more than the %d bytes that calendar apps read safely; "+
		"subscribe to one kind of work instead of everything", e.Events, e.Size, MaxBytes)
}

// Publish writes the feed as it stands on the day today, which is a day in the
// feed's zone. It leaves out events that ended more than 90 days ago, and
// cancelled ones that are past or were cancelled more than 14 days ago.
//
// A feed with nothing to show still publishes one all-day entry saying so. If
// two events differed in their UID alone, some apps would show only one, so each
// has its Ref in its summary, or failing that the end of its UID in its
// description.
//
// The error names the field that is wrong, or is a *TooLargeError.
func Publish(f Feed, today civil.Date) ([]byte, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	if !today.Valid() {
		return nil, fmt.Errorf("today: %#v is not a day", today)
	}
	events := f.entries(today)
	out, err := encode(f, events)
	if err != nil {
		return nil, fmt.Errorf("write calendar: %w", err)
	}
	if len(out) > MaxBytes {
		return nil, &TooLargeError{Size: len(out), Events: len(events)}
	}
	return out, nil
}
