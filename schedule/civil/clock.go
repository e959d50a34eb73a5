package civil

import (
	"fmt"
	"strconv"
	"time"
)

// Minute is a wall-clock time in minutes after midnight, 0 to DayMinutes. It
// counts what the clock shows, not time elapsed: on a day with a clock change
// the two differ.
type Minute int

// DayMinutes is 24:00, the end of a day.
const DayMinutes Minute = 24 * 60

// ParseMinute reads a time written as 18:30, from 00:00 to 24:00. A single
// digit hour is accepted, since people type 9:00.
func ParseMinute(s string) (Minute, error) {
	m, ok := parseMinute(s)
	if !ok {
		return 0, fmt.Errorf("%q is not a time of day; write it as hours and minutes, like 18:30", s)
	}
	return m, nil
}

func parseMinute(s string) (Minute, bool) {
	colon := len(s) - 3
	if colon < 1 || colon > 2 || s[colon] != ':' {
		return 0, false
	}
	hours, errHours := strconv.ParseUint(s[:colon], 10, 8)
	minutes, errMinutes := strconv.ParseUint(s[colon+1:], 10, 8)
	if errHours != nil || errMinutes != nil || minutes > 59 {
		return 0, false
	}
	m := Minute(hours)*60 + Minute(minutes)
	return m, m.Valid()
}

// ClockOf returns the wall-clock minute t shows in its own location; seconds
// are dropped.
func ClockOf(t time.Time) Minute {
	return Minute(t.Hour()*60 + t.Minute())
}

// Valid reports whether m lies between 00:00 and 24:00.
func (m Minute) Valid() bool { return m >= 0 && m <= DayMinutes }

// String returns the time as 18:30.
func (m Minute) String() string {
	if m < 0 {
		return "-" + (-m).String()
	}
	return fmt.Sprintf("%02d:%02d", int(m)/60, int(m)%60)
}

// MarshalText writes the time for JSON and forms, as 18:30.
func (m Minute) MarshalText() ([]byte, error) {
	if !m.Valid() {
		return nil, fmt.Errorf("%d minutes after midnight is not a time of day", int(m))
	}
	return []byte(m.String()), nil
}

// UnmarshalText is the inverse of MarshalText.
func (m *Minute) UnmarshalText(text []byte) error {
	parsed, err := ParseMinute(string(text))
	if err != nil {
		return err
	}
	*m = parsed
	return nil
}
