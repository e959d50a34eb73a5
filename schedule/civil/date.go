// Package civil holds calendar days and wall-clock times as a workshop's wall
// shows them, and the one conversion from there to an instant.
//
// A due date, a cure's last day or a closed day is a Date: it has no zone and
// no hour, so no arithmetic on it can drift over a clock change. An instant is
// a time.Time and comes from a Date only by At or StartOfDay.
package civil

import (
	"cmp"
	"database/sql/driver"
	"fmt"
	"time"
)

// layout is how a Date is written everywhere: in JSON, in forms and in SQL.
const layout = "2006-01-02"

const secondsPerDay = 24 * 60 * 60

// Date is a day of the proleptic Gregorian calendar. It is comparable, and its
// zero value means "no date".
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// Of returns the day t falls on in t's own location.
func Of(t time.Time) Date {
	year, month, day := t.Date()
	return Date{Year: year, Month: month, Day: day}
}

// Parse reads a day written as 2026-12-03. Nothing else is accepted: no
// surrounding blanks, no short fields, no day that the month does not have.
func Parse(s string) (Date, error) {
	t, err := time.Parse(layout, s)
	if err != nil || t.Year() < 1 {
		return Date{}, fmt.Errorf("%q is not a date; write it as year-month-day, like 2026-12-03", s)
	}
	return Of(t), nil
}

// String returns the date as 2026-12-03, and nothing for the zero Date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, int(d.Month), d.Day)
}

// IsZero reports whether d is "no date".
func (d Date) IsZero() bool { return d == Date{} }

// Valid reports whether d is a day that exists, in the years 1 to 9999. The
// zero Date is not valid.
func (d Date) Valid() bool {
	return d.Year >= 1 && d.Year <= 9999 && Of(d.midnightUTC()) == d
}

// AddDays returns the day n days after d, or before it when n is negative.
func (d Date) AddDays(n int) Date {
	return Of(time.Date(d.Year, d.Month, d.Day+n, 0, 0, 0, 0, time.UTC))
}

// Sub returns the number of days from e to d: positive when d is later.
func (d Date) Sub(e Date) int {
	return int((d.midnightUTC().Unix() - e.midnightUTC().Unix()) / secondsPerDay)
}

// Compare returns -1, 0 or 1 as d is before, the same as or after e. It fits
// slices.SortFunc. "No date" comes before every date.
func (d Date) Compare(e Date) int {
	return cmp.Or(cmp.Compare(d.Year, e.Year), cmp.Compare(d.Month, e.Month), cmp.Compare(d.Day, e.Day))
}

// Before reports whether d is an earlier day than e.
func (d Date) Before(e Date) bool { return d.Compare(e) < 0 }

// After reports whether d is a later day than e.
func (d Date) After(e Date) bool { return d.Compare(e) > 0 }

// Weekday returns the day of the week d falls on.
func (d Date) Weekday() time.Weekday { return d.midnightUTC().Weekday() }

// midnightUTC places d on the UTC time line, where every day has 24 hours and
// day arithmetic is exact.
func (d Date) midnightUTC() time.Time {
	return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC)
}

// MarshalText writes the date for JSON and forms: 2026-12-03, or the empty
// string for "no date". A day that does not exist is an error.
func (d Date) MarshalText() ([]byte, error) {
	if !d.IsZero() && !d.Valid() {
		return nil, fmt.Errorf("%s is not a day of the calendar", d)
	}
	return []byte(d.String()), nil
}

// UnmarshalText is the inverse of MarshalText.
func (d *Date) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*d = Date{}
		return nil
	}
	parsed, err := Parse(string(text))
	if err != nil {
		return err
	}
	*d = parsed
	return nil
}

// Scan reads a SQL DATE, as a time.Time at midnight or as text; NULL becomes
// "no date".
func (d *Date) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*d = Date{}
		return nil
	case time.Time:
		*d = Of(v)
		return nil
	case string:
		return d.UnmarshalText([]byte(v))
	case []byte:
		return d.UnmarshalText(v)
	}
	return fmt.Errorf("a date cannot be read from a %T", src)
}

// Value writes a SQL DATE as text, which no session time zone can shift; "no
// date" becomes NULL.
func (d Date) Value() (driver.Value, error) {
	if d.IsZero() {
		return nil, nil //nolint:nilnil // a nil driver.Value is how NULL is spelled
	}
	text, err := d.MarshalText()
	if err != nil {
		return nil, err
	}
	return string(text), nil
}

// Range is the days from From to To, both included. The zero Range, and any
// whose To is before its From, holds no day.
type Range struct {
	From Date `json:"from"`
	To   Date `json:"to"`
}

// Contains reports whether d is one of the range's days.
func (r Range) Contains(d Date) bool {
	return !r.Empty() && !d.Before(r.From) && !d.After(r.To)
}

// Empty reports whether the range holds no day.
func (r Range) Empty() bool { return r.From.IsZero() || r.To.Before(r.From) }

// Days returns how many days the range holds.
func (r Range) Days() int {
	if r.Empty() {
		return 0
	}
	return r.To.Sub(r.From) + 1
}

// Overlaps reports whether the two ranges share a day.
func (r Range) Overlaps(s Range) bool {
	return !r.Empty() && !s.Empty() && !r.To.Before(s.From) && !s.To.Before(r.From)
}
