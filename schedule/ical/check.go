package ical

import (
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"

	"github.com/google/uuid"
)

// longestAlarm bounds how long before an event its alarm may ring.
const longestAlarm = 7 * 24 * time.Hour

// check reports the first thing about the feed that can not be published.
func (f Feed) check() error {
	if err := checkUUID(f.ID); err != nil {
		return fmt.Errorf("id: %w", err)
	}
	if line(f.Name) == "" {
		return errors.New("name: must not be empty; it is the calendar's name in the subscriber's app")
	}
	if f.Zone == nil || f.Zone.String() == "Local" || f.Zone.String() == "" {
		return errors.New("zone: must be a named time zone; use one like Europe/Lisbon")
	}
	if err := checkURL(f.PageURL); err != nil {
		return fmt.Errorf("page URL: %w", err)
	}
	if f.Color != "" && !isColor(f.Color) {
		return fmt.Errorf("color: %q is not a CSS3 colour name; use one like seagreen", f.Color)
	}
	if err := checkAlarm(f.Alarm); err != nil {
		return fmt.Errorf("alarm: %w", err)
	}
	if err := checkInstant(f.Modified); err != nil {
		return fmt.Errorf("modified: %w", err)
	}
	return f.checkEvents()
}

func (f Feed) checkEvents() error {
	seen := make(map[string]bool, len(f.Events))
	for i, e := range f.Events {
		if err := e.check(); err != nil {
			return fmt.Errorf("event %d (%q): %w", i+1, e.UID, err)
		}
		if seen[e.UID] {
			return fmt.Errorf("event %d (%q): uid: is already used by an event before it", i+1, e.UID)
		}
		seen[e.UID] = true
	}
	return nil
}

func (e Event) check() error {
	if err := checkUUID(e.UID); err != nil {
		return fmt.Errorf("uid: %w", err)
	}
	if e.Sequence < 0 {
		return fmt.Errorf("sequence: %d must not be negative", e.Sequence)
	}
	if err := checkInstant(e.Modified); err != nil {
		return fmt.Errorf("modified: %w", err)
	}
	if e.Status != Confirmed && e.Status != Tentative && e.Status != Cancelled {
		return fmt.Errorf("status: %q must be confirmed, tentative or cancelled", e.Status)
	}
	if err := checkAlarm(e.Alarm); err != nil {
		return fmt.Errorf("alarm: %w", err)
	}
	if e.AllDay {
		return e.checkDays()
	}
	return e.checkTimes()
}

func (e Event) checkDays() error {
	switch {
	case !e.Start.IsZero() || !e.End.IsZero():
		return errors.New("start: an all-day event has days only; leave start and end out")
	case !e.From.Valid() || !e.To.AddDays(1).Valid():
		return fmt.Errorf("days: %q to %q are not both days of the calendar", e.From, e.To)
	case e.To.Before(e.From):
		return fmt.Errorf("to: %s must not be before the first day, %s", e.To, e.From)
	}
	return nil
}

func (e Event) checkTimes() error {
	if !e.From.IsZero() || !e.To.IsZero() {
		return errors.New("from: a timed event has times only; leave the days out")
	}
	if err := checkInstant(e.Start); err != nil {
		return fmt.Errorf("start: %w", err)
	}
	if err := checkInstant(e.End); err != nil {
		return fmt.Errorf("end: %w", err)
	}
	if e.End.Unix() <= e.Start.Unix() {
		return fmt.Errorf("end: %s must be at least a second after the start, %s", e.End.Format(time.RFC3339), e.Start.Format(time.RFC3339))
	}
	return nil
}

// checkInstant keeps instants inside the years that four digits can write and
// that a VTIMEZONE without the odd offsets of before 1970 can cover.
func checkInstant(t time.Time) error {
	if t.IsZero() {
		return errors.New("must be given")
	}
	if year := t.UTC().Year(); year < 1971 || year > 9998 {
		return fmt.Errorf("the year %d is outside 1971 to 9998", year)
	}
	return nil
}

func checkAlarm(lead time.Duration) error {
	if lead < 0 || lead > longestAlarm || lead%time.Minute != 0 {
		return fmt.Errorf("%s must be whole minutes, from none to %d days", lead, longestAlarm/(24*time.Hour))
	}
	return nil
}

// checkUUID wants the one canonical spelling: UIDs are compared by bytes.
func checkUUID(s string) error {
	id, err := uuid.Parse(s)
	if err != nil || id.String() != s || id == uuid.Nil {
		return fmt.Errorf("%.40q is not a UUID in lower case", s)
	}
	return nil
}

// checkURL wants an absolute web address that is a single printable word, so
// that no part of it can start a line of its own.
func checkURL(s string) error {
	if s == "" {
		return nil
	}
	u, err := url.Parse(s)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.User != nil {
		return fmt.Errorf("%.80q is not a web address; use one like https://soap.example/plan", s)
	}
	if strings.ContainsFunc(s, func(r rune) bool { return r <= ' ' || r > '~' }) {
		return fmt.Errorf("%.80q must be percent-encoded", s)
	}
	return nil
}
