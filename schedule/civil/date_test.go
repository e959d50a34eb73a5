package civil_test

import (
	"database/sql"
	"database/sql/driver"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ripeline/schedule/civil"
)

var (
	_ sql.Scanner   = (*civil.Date)(nil)
	_ driver.Valuer = civil.Date{}
)

func date(t testing.TB, s string) civil.Date {
	t.Helper()
	d, err := civil.Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// anyDate draws a valid date of the years 1 to 9999.
func anyDate() *rapid.Generator[civil.Date] {
	first := civil.Date{Year: 1, Month: time.January, Day: 1}
	last := civil.Date{Year: 9999, Month: time.December, Day: 31}
	return rapid.Map(rapid.IntRange(0, last.Sub(first)), first.AddDays)
}

func TestParseRefusesWhatIsNotADate(t *testing.T) {
	for _, s := range []string{
		"", "2026", "2026-2-3", "2026-02-30", "2025-02-29", "0000-01-01", "2026-13-01", " 2026-02-03", "2026-02-03 ",
		"2026-02-03T00:00:00Z", "03/02/2026", "-001-01-01", "12026-01-01", "2026-02-00", "２０２６-02-03",
	} {
		if d, err := civil.Parse(s); err == nil {
			t.Errorf("Parse(%q) = %v, want an error", s, d)
		} else if !strings.Contains(err.Error(), "like 2026-12-03") {
			t.Errorf("Parse(%q): %v does not say what to write", s, err)
		}
	}
}

func TestDateArithmetic(t *testing.T) {
	for _, c := range []struct {
		from string
		days int
		to   string
	}{
		{"2026-02-28", 1, "2026-03-01"},
		{"2028-02-28", 1, "2028-02-29"},
		{"2026-12-31", 1, "2027-01-01"},
		{"2027-01-01", -1, "2026-12-31"},
		{"2026-03-28", 2, "2026-03-30"},
		{"1900-02-28", 1, "1900-03-01"},
		{"2000-02-28", 366, "2001-02-28"},
	} {
		from, to := date(t, c.from), date(t, c.to)
		if got := from.AddDays(c.days); got != to {
			t.Errorf("%v + %d days = %v, want %v", from, c.days, got, to)
		}
		if got := to.Sub(from); got != c.days {
			t.Errorf("%v - %v = %d days, want %d", to, from, got, c.days)
		}
	}
	if got := date(t, "2026-12-03").Weekday(); got != time.Thursday {
		t.Errorf("2026-12-03 is a %v, want Thursday", got)
	}
}

func TestOfUsesTheInstantsOwnLocation(t *testing.T) {
	auckland := zone(t, "Pacific/Auckland")
	instant := time.Date(2026, time.December, 3, 20, 0, 0, 0, time.UTC)
	if got := civil.Of(instant); got != date(t, "2026-12-03") {
		t.Errorf("in UTC it is %v", got)
	}
	if got := civil.Of(instant.In(auckland)); got != date(t, "2026-12-04") {
		t.Errorf("in Auckland it is %v", got)
	}
}

func TestZeroDate(t *testing.T) {
	var none civil.Date
	if !none.IsZero() || none.Valid() || none.String() != "" {
		t.Errorf("the zero Date: IsZero %v, Valid %v, %q", none.IsZero(), none.Valid(), none)
	}
	if !none.Before(date(t, "0001-01-01")) {
		t.Error("no date must sort before every date")
	}
	if v, err := none.Value(); v != nil || err != nil {
		t.Errorf("Value() = %v, %v; want NULL", v, err)
	}
}

func TestValid(t *testing.T) {
	for d, want := range map[civil.Date]bool{
		{Year: 2026, Month: 2, Day: 28}:  true,
		{Year: 2026, Month: 2, Day: 29}:  false,
		{Year: 2026, Month: 13, Day: 1}:  false,
		{Year: 2026, Month: 0, Day: 1}:   false,
		{Year: 10000, Month: 1, Day: 1}:  false,
		{Year: 0, Month: 1, Day: 1}:      false,
		{Year: 9999, Month: 12, Day: 31}: true,
	} {
		if d.Valid() != want {
			t.Errorf("%#v valid = %v, want %v", d, d.Valid(), want)
		}
	}
}

func TestDateInJSON(t *testing.T) {
	type order struct {
		Due civil.Date `json:"due"`
	}
	for _, text := range []string{`{"due":"2026-12-03"}`, `{"due":""}`} {
		var o order
		if err := json.Unmarshal([]byte(text), &o); err != nil {
			t.Fatal(err)
		}
		if back, err := json.Marshal(o); err != nil || string(back) != text {
			t.Errorf("%s came back as %s, %v", text, back, err)
		}
	}
	var o order
	if err := json.Unmarshal([]byte(`{"due":"2026-02-30"}`), &o); err == nil || !o.Due.IsZero() {
		t.Errorf("30 February was read as %v, %v", o.Due, err)
	}
	if b, err := json.Marshal(order{civil.Date{Year: 2026, Month: 2, Day: 30}}); err == nil {
		t.Errorf("30 February was written as %s", b)
	}
}

func TestDateInSQL(t *testing.T) {
	want := date(t, "2026-12-03")
	for _, src := range []any{"2026-12-03", []byte("2026-12-03"), time.Date(2026, 12, 3, 0, 0, 0, 0, time.UTC)} {
		var d civil.Date
		if err := d.Scan(src); err != nil || d != want {
			t.Errorf("Scan(%T) = %v, %v", src, d, err)
		}
	}
	d := want
	if err := d.Scan(nil); err != nil || !d.IsZero() {
		t.Errorf("Scan(nil) = %v, %v; want no date", d, err)
	}
	for _, src := range []any{int64(3), "yesterday", true} {
		if err := d.Scan(src); err == nil {
			t.Errorf("Scan(%v) gave %v, want an error", src, d)
		}
	}
	if v, err := want.Value(); v != "2026-12-03" || err != nil {
		t.Errorf("Value() = %v, %v", v, err)
	}
	if v, err := (civil.Date{Year: 2026, Month: 2, Day: 30}).Value(); err == nil {
		t.Errorf("30 February was written as %v", v)
	}
}

func TestDateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyDate().Draw(t, "a"), anyDate().Draw(t, "b")
		if !a.Valid() {
			t.Fatalf("%v is not valid", a)
		}
		if back, err := civil.Parse(a.String()); err != nil || back != a {
			t.Fatalf("%v parses to %v, %v", a, back, err)
		}
		if a.AddDays(b.Sub(a)) != b {
			t.Fatalf("%v + (%v - %v) = %v", a, b, a, a.AddDays(b.Sub(a)))
		}
		if a.Compare(b) != strings.Compare(a.String(), b.String()) {
			t.Fatalf("Compare(%v, %v) = %d", a, b, a.Compare(b))
		}
		if a.Before(b) != (b.Sub(a) > 0) || a.After(b) != (b.Sub(a) < 0) {
			t.Fatalf("%v and %v: Before %v, After %v", a, b, a.Before(b), a.After(b))
		}
		if next := a.AddDays(1).Weekday(); next != (a.Weekday()+1)%7 {
			t.Fatalf("after %v comes %v", a.Weekday(), next)
		}
	})
}

func TestRange(t *testing.T) {
	day := func(n int) civil.Date { return date(t, "2026-12-01").AddDays(n) }
	r := civil.Range{From: day(3), To: day(5)}
	for n, want := range []bool{false, false, false, true, true, true, false} {
		if r.Contains(day(n)) != want {
			t.Errorf("%v contains %v: %v", r, day(n), !want)
		}
	}
	if r.Days() != 3 || r.Empty() {
		t.Errorf("%v has %d days", r, r.Days())
	}
	for _, empty := range []civil.Range{{}, {From: day(5), To: day(4)}, {To: day(1)}} {
		if !empty.Empty() || empty.Days() != 0 || empty.Contains(day(1)) || empty.Contains(civil.Date{}) || empty.Overlaps(r) {
			t.Errorf("%v is not empty", empty)
		}
	}
}

func TestRangesOverlapWhereADayIsInBoth(t *testing.T) {
	first := date(t, "2026-12-01")
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string) civil.Range {
			return civil.Range{
				From: first.AddDays(rapid.IntRange(0, 9).Draw(t, label+" from")),
				To:   first.AddDays(rapid.IntRange(0, 9).Draw(t, label+" to")),
			}
		}
		r, s := draw("r"), draw("s")
		days := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
		want := slices.ContainsFunc(days, func(n int) bool {
			return r.Contains(first.AddDays(n)) && s.Contains(first.AddDays(n))
		})
		if r.Overlaps(s) != want || s.Overlaps(r) != want {
			t.Fatalf("%v overlaps %v: want %v", r, s, want)
		}
	})
}
