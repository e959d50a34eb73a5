// Package ical publishes a plan as an iCalendar feed (RFC 5545, RFC 7986).
package ical

import (
	"time"

	"ripeline/schedule/civil"
)

// Feed is a calendar to publish.
type Feed struct {
	ID          string // stored random UUID; names the event of an empty feed
	Name        string
	Description string
	PageURL     string // a page behind sign-in; never the feed's own address
	Color       string // CSS3 colour name
	Zone        *time.Location
	Alarm       int       // minutes before timed hands-on work; 0: no alarm
	Modified    time.Time // last stored change of anything in it
	Events      []Event
}

// Status is the STATUS of an event.
type Status string

// The statuses of an event.
const (
	Confirmed Status = "CONFIRMED"
	Tentative Status = "TENTATIVE"
	Cancelled Status = "CANCELLED"
)

// Event is one entry: timed (Start, End) or, with AllDay, whole days From to
// To inclusive.
type Event struct {
	UID         string
	Kind        string
	Summary     string
	Description string
	Location    string
	AllDay      bool
	Start, End  time.Time
	From, To    civil.Date
	Sequence    int
	Modified    time.Time
	Status      Status
	Busy        bool // hands-on work: OPAQUE, and alarmed when the feed asks
}
