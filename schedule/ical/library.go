package ical

import (
	"bytes"
	"cmp"
	"fmt"
	"strconv"
	"time"

	ics "github.com/arran4/golang-ical"

	"ripeline/schedule/civil"
)

// This file is the only one that knows golang-ical. What has to be worked
// around in it, as of v0.3.6:
//
//   - it ends lines with LF unless told otherwise;
//   - it escapes what TEXT needs but lets CR, control characters and bad UTF-8
//     through, and writes URLs and parameters as they are: every string that
//     reaches it has been cleaned or checked before;
//   - its setters of times write UTC beside a TZID, so the values are written
//     here;
//   - a new VTIMEZONE of its making has no observances and there is no
//     constructor for DAYLIGHT, so both are built here;
//   - it adds no DTSTAMP.

const (
	productID = "-//ripeline//calendar feeds//EN"
	// hourly is how often apps are asked to look again; few look that often.
	hourly = "PT1H"

	dateForm  = "20060102"
	localForm = "20060102T150405"
	utcForm   = "20060102T150405Z"
)

// encode writes the feed with the events chosen for it.
func encode(f Feed, events []Event) ([]byte, error) {
	cal := &ics.Calendar{}
	setHead(cal, f)
	if tz := timezone(f.Zone, events); tz != nil {
		cal.AddVTimezone(tz)
	}
	for _, e := range events {
		cal.AddVEvent(component(f, e))
	}
	var out bytes.Buffer
	if err := cal.SerializeTo(&out, ics.WithNewLineWindows); err != nil {
		return nil, fmt.Errorf("serialise: %w", err)
	}
	return out.Bytes(), nil
}

// setHead sets the calendar's own properties: RFC 5545 section 3.7, RFC 7986
// section 5, and the older X- names of the same that most apps still read.
func setHead(cal *ics.Calendar, f Feed) {
	cal.SetVersion("2.0")
	cal.SetProductId(productID)
	cal.SetName(line(f.Name))
	if d := lines(f.Description); d != "" {
		cal.SetDescription(d)
		cal.SetXWRCalDesc(d)
	}
	if f.PageURL != "" {
		cal.SetUrl(f.PageURL)
	}
	if f.Color != "" {
		cal.SetColor(f.Color)
	}
	cal.SetRefreshInterval(hourly)
	cal.SetXPublishedTTL(hourly)
}

func component(f Feed, e Event) *ics.VEvent {
	v := ics.NewEvent(e.UID)
	v.SetDtStampTime(e.Modified)
	setTimes(v, e, f.Zone)
	v.SetSummary(e.Summary)
	if e.Description != "" {
		v.SetDescription(e.Description)
	}
	if e.Location != "" {
		v.SetLocation(e.Location)
	}
	if e.Kind != "" {
		v.AddCategory(e.Kind)
	}
	v.SetSequence(e.Sequence)
	v.SetLastModifiedAt(e.Modified)
	v.SetStatus(e.Status.token())
	v.SetTimeTransparency(e.transparency())
	if lead := e.alarmLead(f); lead > 0 {
		addAlarm(v, lead, e.Summary)
	}
	return v
}

func (s Status) token() ics.ObjectStatus {
	switch s {
	case Cancelled:
		return ics.ObjectStatusCancelled
	case Tentative:
		return ics.ObjectStatusTentative
	default:
		return ics.ObjectStatusConfirmed
	}
}

func (e Event) transparency() ics.TimeTransparency {
	if e.Busy {
		return ics.TransparencyOpaque
	}
	return ics.TransparencyTransparent
}

// setTimes writes DTSTART and DTEND in one of three forms: days with an
// exclusive end (RFC 5545 section 3.6.1), local times with their TZID, or,
// where the clock shows either end twice (section 3.3.5) or the event lies past
// lastZoned, both in UTC.
func setTimes(v *ics.VEvent, e Event, zone *time.Location) {
	if e.AllDay {
		isDate := ics.WithValue(string(ics.ValueDataTypeDate))
		v.SetProperty(ics.ComponentPropertyDtStart, dayValue(e.From), isDate)
		v.SetProperty(ics.ComponentPropertyDtEnd, dayValue(e.To.AddDays(1)), isDate)
		return
	}
	if e.inUTC(zone) {
		v.SetProperty(ics.ComponentPropertyDtStart, e.Start.UTC().Format(utcForm))
		v.SetProperty(ics.ComponentPropertyDtEnd, e.End.UTC().Format(utcForm))
		return
	}
	tzid := ics.WithTZID(zone.String())
	v.SetProperty(ics.ComponentPropertyDtStart, e.Start.In(zone).Format(localForm), tzid)
	v.SetProperty(ics.ComponentPropertyDtEnd, e.End.In(zone).Format(localForm), tzid)
}

// lastZoned is the last year of which a VTIMEZONE tells the clock changes. Beyond it
// nobody knows them, and one far event would need more of them than a feed may hold.
const lastZoned = 2099

func (e Event) inUTC(zone *time.Location) bool {
	return zone.String() == "UTC" || e.End.In(zone).Year() > lastZoned || civil.ShownTwice(e.Start.In(zone)) || civil.ShownTwice(e.End.In(zone))
}

func dayValue(d civil.Date) string {
	return fmt.Sprintf("%04d%02d%02d", d.Year, int(d.Month), d.Day)
}

// alarmLead returns how long before the event its alarm rings, 0 for none:
// only timed, busy events get one, which cancelled ones never are.
func (e Event) alarmLead(f Feed) time.Duration {
	if f.Alarm == 0 || e.AllDay || !e.Busy {
		return 0
	}
	return cmp.Or(e.Alarm, f.Alarm)
}

// addAlarm adds a DISPLAY alarm relative to the start, RFC 5545 section 3.6.6.
func addAlarm(v *ics.VEvent, lead time.Duration, text string) {
	alarm := v.AddAlarm()
	alarm.SetAction(ics.ActionDisplay)
	alarm.SetTrigger("-PT" + strconv.Itoa(int(lead/time.Minute)) + "M")
	alarm.SetProperty(ics.ComponentPropertyDescription, text)
}

// timezone returns the VTIMEZONE for the events that are written in local
// time, or nil when none is. It covers whole years, one more at either end,
// because some apps use one calendar's definition for all.
func timezone(zone *time.Location, events []Event) *ics.VTimezone {
	var first, last time.Time
	for _, e := range events {
		if e.AllDay || e.inUTC(zone) {
			continue
		}
		if first.IsZero() || e.Start.Before(first) {
			first = e.Start
		}
		if e.End.After(last) {
			last = e.End
		}
	}
	if first.IsZero() {
		return nil
	}
	start := newYear(first.In(zone).Year()-1, zone)
	end := newYear(last.In(zone).Year()+2, zone)
	tz := ics.NewTimezone(zone.String())
	for _, o := range observances(start, end) {
		tz.Components = append(tz.Components, o.component())
	}
	return tz
}

func newYear(year int, zone *time.Location) time.Time {
	return civil.StartOfDay(civil.Date{Year: year, Month: time.January, Day: 1}, zone)
}

func (o observance) component() ics.Component {
	properties := ics.ComponentBase{}
	properties.SetProperty(ics.ComponentPropertyDtStart, o.onset.Format(localForm))
	properties.SetProperty(ics.ComponentProperty(ics.PropertyTzoffsetfrom), utcOffset(o.from))
	properties.SetProperty(ics.ComponentProperty(ics.PropertyTzoffsetto), utcOffset(o.to))
	properties.SetProperty(ics.ComponentProperty(ics.PropertyTzname), o.name)
	if o.daylight {
		return &ics.Daylight{ComponentBase: properties}
	}
	return &ics.Standard{ComponentBase: properties}
}
