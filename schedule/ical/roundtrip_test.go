package ical_test

import (
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	goical "github.com/emersion/go-ical"
	"pgregory.net/rapid"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

// zones are zones whose clock changes differ in size, hour and hemisphere, and
// some that have none.
var zones = rapid.SampledFrom([]string{
	"UTC", "Etc/UTC", "Etc/GMT+3", "Europe/Lisbon", "Europe/Berlin", "Europe/Dublin", "Europe/Istanbul", "America/New_York", "America/St_Johns",
	"America/Havana", "America/Santiago", "America/Sao_Paulo", "America/Nuuk", "America/Caracas", "America/Argentina/Buenos_Aires", "Africa/Cairo",
	"Africa/Casablanca", "Africa/Windhoek", "Asia/Beirut", "Asia/Gaza", "Asia/Kathmandu", "Asia/Kolkata", "Asia/Pyongyang", "Asia/Tehran",
	"Atlantic/Azores", "Australia/Lord_Howe", "Australia/Sydney", "Pacific/Apia", "Pacific/Auckland", "Pacific/Chatham", "Pacific/Kiritimati",
	"Pacific/Kwajalein", "Antarctica/Troll", "Antarctica/Casey",
})

// instants draws an instant, often one within hours of a clock change.
func instants(t *rapid.T, loc *time.Location, label string) time.Time {
	from := time.Date(1972, 1, 1, 0, 0, 0, 0, time.UTC)
	to := time.Date(2050, 1, 1, 0, 0, 0, 0, time.UTC)
	at := time.Unix(rapid.Int64Range(from.Unix(), to.Unix()).Draw(t, label), 0).In(loc)
	if change, ok := civil.NextChange(at, to); ok && rapid.Bool().Draw(t, "near a change") {
		at = change.Add(time.Duration(rapid.IntRange(-180, 180).Draw(t, "minutes from it")) * time.Minute)
	}
	return at
}

// cleanText draws text that needs no cleaning: words of any printable letters
// and signs, single blanks between them.
func cleanText() *rapid.Generator[string] {
	word := rapid.OneOf(
		rapid.StringOfN(rapid.RuneFrom(nil, unicode.L, unicode.N, unicode.P, unicode.S, unicode.M, unicode.Cf, unicode.Zs), 1, 40, -1),
		rapid.SampledFrom([]string{`\`, `\n`, `\\n`, ";", ",", ":", `"`, "<b>", "BEGIN:VEVENT", strings.Repeat("x", 80), strings.Repeat("é", 40), strings.Repeat("🧼", 20)}),
	).Filter(func(s string) bool { return !strings.ContainsAny(s, " \uFEFF") })
	return rapid.Map(rapid.SliceOfN(word, 1, 12), func(words []string) string { return strings.Join(words, " ") })
}

func TestTextAndTimesRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc, err := civil.LoadZone(zones.Draw(t, "zone"))
		if err != nil {
			t.Fatalf("%v", err)
		}
		f := feed(loc)
		f.Name = cleanText().Draw(t, "name")
		for n := range rapid.IntRange(1, 4).Draw(t, "events") {
			length := time.Duration(rapid.IntRange(1, 2*24*3600).Draw(t, "seconds")) * time.Second
			e := timed(n, strconv.Itoa(n)+cleanText().Draw(t, "summary"), instants(t, loc, "start"), length)
			e.Description = cleanText().Draw(t, "line 1") + "\n" + cleanText().Draw(t, "line 2")
			e.Location = cleanText().Draw(t, "location")
			f.Events = append(f.Events, e)
		}
		cal := parse(t, verify(t, f, date1972))
		if got := text(t, cal.Props, "NAME"); got != f.Name {
			t.Fatalf("name %q came back as %q", f.Name, got)
		}
		for _, e := range f.Events {
			checkTexts(t, cal.Events(), e)
		}
	})
}

var date1972 = civil.Date{Year: 1972, Month: time.January, Day: 1}

func checkTexts(t *rapid.T, events []goical.Event, want ical.Event) {
	for _, e := range events {
		if e.Props.Get("UID").Value != want.UID {
			continue
		}
		for name, w := range map[string]string{"SUMMARY": want.Summary, "DESCRIPTION": want.Description + "\nReference " + want.UID[24:], "LOCATION": want.Location} {
			if got := text(t, e.Props, name); got != w {
				t.Fatalf("%s %q came back as %q", name, w, got)
			}
		}
	}
}

// letters returns what of a text any cleaning must keep.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.IsControl(r) || r == '\uFEFF' {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
}

func TestAnyBytesAreMadeSafe(t *testing.T) {
	dirty := rapid.OneOf(
		rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }),
		rapid.String(),
		rapid.StringOf(rapid.SampledFrom([]rune("ab\r\n\t \\;,:\"\x00\x7f\u0085\u2028\uFEFFé🧼"))),
	)
	rapid.Check(t, func(t *rapid.T) {
		e := timed(1, "Cut", changed, time.Hour)
		e.Summary, e.Description = "s"+dirty.Draw(t, "summary"), "d"+dirty.Draw(t, "description")
		e.Kind, e.Location, e.Ref = dirty.Draw(t, "kind"), dirty.Draw(t, "location"), dirty.Draw(t, "ref")
		f := feed(time.UTC, e)
		f.Name, f.Description = "n"+dirty.Draw(t, "name"), dirty.Draw(t, "feed's description")

		got := parsedEvent(t, parse(t, verify(t, f, civil.Of(changed))), e.UID)
		for name, in := range map[string]string{"SUMMARY": e.Summary, "DESCRIPTION": e.Description, "LOCATION": e.Location, "CATEGORIES": e.Kind} {
			back := text(t, got.Props, name)
			marked := name == "SUMMARY" || name == "DESCRIPTION"
			if letters(back) != letters(in) && (!marked || !strings.HasPrefix(letters(back), letters(in))) {
				t.Fatalf("%s %q came back as %q", name, in, back)
			}
		}
	})
}
