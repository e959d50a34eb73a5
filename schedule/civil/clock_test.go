package civil_test

import (
	"encoding/json"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ripeline/schedule/civil"
)

func TestParseMinute(t *testing.T) {
	for s, want := range map[string]civil.Minute{
		"00:00": 0, "18:30": 18*60 + 30, "23:59": 1439, "24:00": civil.DayMinutes, "9:05": 545,
	} {
		if got, err := civil.ParseMinute(s); err != nil || got != want {
			t.Errorf("ParseMinute(%q) = %v, %v", s, got, err)
		}
	}
	for _, s := range []string{"", "18", "18:3", "18:60", "24:01", "25:00", "-1:00", "+1:00", "1830", "18:30:00", " 18:30", "018:30", "18.30", "1::00", "6pm"} {
		if got, err := civil.ParseMinute(s); err == nil {
			t.Errorf("ParseMinute(%q) = %v, want an error", s, got)
		}
	}
}

func TestMinuteInJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := civil.Minute(rapid.IntRange(0, 1440).Draw(t, "minute"))
		b, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		var back civil.Minute
		if err := json.Unmarshal(b, &back); err != nil || back != m {
			t.Fatalf("%v, as %s, came back as %v, %v", m, b, back, err)
		}
	})
	for _, bad := range []civil.Minute{-1, 1441} {
		if b, err := json.Marshal(bad); err == nil {
			t.Errorf("%d was written as %s", int(bad), b)
		}
	}
}

func TestClockOf(t *testing.T) {
	lisbon := zone(t, "Europe/Lisbon")
	instant := time.Date(2026, time.July, 1, 17, 30, 59, 0, time.UTC).In(lisbon)
	if got := civil.ClockOf(instant).String(); got != "18:30" {
		t.Errorf("ClockOf(%v) = %v", instant, got)
	}
}
