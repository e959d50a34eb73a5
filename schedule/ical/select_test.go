package ical_test

import (
	"bytes"
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

func summaries(t testing.TB, cal *part) []string {
	t.Helper()
	var out []string
	for _, e := range cal.components("VEVENT") {
		out = append(out, strings.TrimPrefix(e.one(t, "SUMMARY"), ":"))
	}
	return out
}

func TestNinetyDaysBackAndEverythingAhead(t *testing.T) {
	lisbon, today := zone(t, "Europe/Lisbon"), date(t, "2026-11-20")
	noon := func(days int) time.Time { return civil.At(today.AddDays(days), 12*60, lisbon) }
	midnight := civil.StartOfDay(today.AddDays(-90), lisbon)
	f := feed(lisbon,
		timed(1, "90 days ago", noon(-90), time.Hour),
		timed(2, "91 days ago", noon(-91), time.Hour),
		timed(3, "ended at midnight 90 days ago", midnight.Add(-time.Hour), time.Hour),
		timed(4, "over that midnight", midnight.Add(-time.Hour), 61*time.Minute),
		allDay(5, "cure that ended 90 days ago", today.AddDays(-120), today.AddDays(-90)),
		allDay(6, "cure that ended 91 days ago", today.AddDays(-120), today.AddDays(-91)),
		timed(7, "in five years", noon(5*365), time.Hour),
	)
	got := summaries(t, publish(t, f, "2026-11-20"))
	want := []string{"cure that ended 90 days ago", "over that midnight", "90 days ago", "in five years"}
	if !slices.Equal(got, want) {
		t.Errorf("published %q, want %q", got, want)
	}
}

func TestCancelledStayForAWhile(t *testing.T) {
	auckland, today := zone(t, "Pacific/Auckland"), date(t, "2026-11-20")
	cancelled := func(n int, summary string, inDays, ago int) ical.Event {
		e := timed(n, summary, civil.At(today.AddDays(inDays), 18*60, auckland), time.Hour)
		e.Status, e.Sequence = ical.Cancelled, 3
		e.Modified = civil.At(today.AddDays(-ago), 30, auckland).UTC()
		return e
	}
	f := feed(auckland,
		cancelled(1, "today", 0, 1),
		cancelled(2, "past", -1, 2),
		cancelled(3, "14 days ago", 30, 14),
		cancelled(4, "15 days ago", 30, 15),
	)
	cal := publish(t, f, "2026-11-20")
	if got := summaries(t, cal); !slices.Equal(got, []string{"Cancelled: today", "Cancelled: 14 days ago"}) {
		t.Errorf("published %q", got)
	}
	e := cal.event(t, "today")
	for name, want := range map[string]string{"STATUS": ":CANCELLED", "TRANSP": ":TRANSPARENT", "SEQUENCE": ":3", "UID": ":" + uid(1)} {
		if got := e.one(t, name); got != want {
			t.Errorf("%s%s, want %s", name, got, want)
		}
	}
}

func TestEmptyFeedSaysSo(t *testing.T) {
	f := feed(zone(t, "Pacific/Auckland"), timed(1, "long ago", changed.AddDate(-1, 0, 0), time.Hour))
	f.Modified = time.Date(2026, time.November, 20, 12, 0, 0, 0, time.UTC) // the 21st in Auckland
	first, err := ical.Publish(f, date(t, "2026-11-22"))
	if err != nil {
		t.Fatal(err)
	}
	cal := read(t, first)
	e := cal.event(t, "Nothing planned")
	for name, want := range map[string]string{
		"DTSTAMP": ":20261120T120000Z", "LAST-MODIFIED": ":20261120T120000Z", "DTSTART": ";VALUE=DATE:20261121", "DTEND": ";VALUE=DATE:20261122",
		"STATUS": ":CONFIRMED", "TRANSP": ":TRANSPARENT",
	} {
		if got := e.one(t, name); got != want {
			t.Errorf("%s%s, want %s", name, got, want)
		}
	}
	if later, err := ical.Publish(f, date(t, "2027-01-31")); err != nil || !bytes.Equal(first, later) {
		t.Errorf("with no change the bytes differ later: %v", err)
	}

	f.Modified = f.Modified.AddDate(0, 0, 7)
	moved := publish(t, f, "2026-11-29").event(t, "Nothing planned")
	if moved.one(t, "UID") != e.one(t, "UID") {
		t.Error("the entry's UID changed")
	}
	if moved.one(t, "SEQUENCE") <= e.one(t, "SEQUENCE") {
		t.Errorf("moved, yet SEQUENCE went from %s to %s", e.one(t, "SEQUENCE"), moved.one(t, "SEQUENCE"))
	}
	f.ID = uid(0xbeef)
	if other := publish(t, f, "2026-11-29").event(t, "Nothing planned"); other.one(t, "UID") == e.one(t, "UID") {
		t.Error("two feeds share the UID of their entries")
	}
}

func TestTwinsAreToldApart(t *testing.T) {
	twin := func(n int, ref string) ical.Event {
		e := timed(n, "Cut loaf", changed, time.Hour)
		e.Ref = ref
		return e
	}
	day := civil.Of(changed)
	gone := twin(5, "L5")
	gone.Status, gone.Start, gone.End = ical.Cancelled, changed.AddDate(0, 0, 3), changed.AddDate(0, 0, 4)
	again := gone
	again.UID = uid(6)
	named := twin(7, "L7")
	named.Summary = "Cut loaf L7"
	cal := publish(t, feed(zone(t, "Europe/Lisbon"),
		twin(1, "L1"), twin(2, "L2"), twin(3, ""), twin(4, ""), gone, again, named,
		allDay(8, "Cure", day, day), allDay(9, "Cure", day, day),
	), "2026-11-20")
	tail := "Reference " + uid(0)[24:35]
	want := map[string][2]string{
		uid(1): {"Cut loaf (L1)"}, uid(2): {"Cut loaf (L2)"}, uid(3): {"Cut loaf", tail + "3"}, uid(4): {"Cut loaf", tail + "4"},
		uid(5): {"Cancelled: Cut loaf (L5)", tail + "5"}, uid(6): {"Cancelled: Cut loaf (L5)", tail + "6"},
		uid(7): {"Cut loaf L7"}, uid(8): {"Cure", tail + "8"}, uid(9): {"Cure", tail + "9"},
	}
	for _, e := range cal.components("VEVENT") {
		id := e.one(t, "UID")[1:]
		got := [2]string{e.one(t, "SUMMARY")[1:]}
		if want[id][1] != "" {
			got[1] = e.one(t, "DESCRIPTION")[1:]
		}
		if got != want[id] {
			t.Errorf("%s: %q, want %q", id, got, want[id])
		}
	}
}

// TestEventsStayAsTheyAre: what is published of an event does not depend on what
// else is in the feed, for its DTSTAMP does not either.
func TestEventsStayAsTheyAre(t *testing.T) {
	lisbon := zone(t, "Europe/Lisbon")
	for _, ref := range []string{"", "L1"} {
		first, second := timed(1, "Cut oat", changed, time.Hour), timed(2, "Cut oat", changed, time.Hour)
		first.Ref = ref
		text := func(f ical.Feed) string {
			event := regexp.MustCompile(`(?s)BEGIN:VEVENT.*?END:VEVENT`)
			for _, e := range event.FindAllString(string(verify(t, f, date(t, "2026-11-20"))), -1) {
				if strings.Contains(e, first.UID) {
					return e
				}
			}
			t.Fatal("the event is not in the feed")
			return ""
		}
		if alone, beside := text(feed(lisbon, first)), text(feed(lisbon, first, second)); alone != beside {
			t.Errorf("alone it is\n%s\nand beside another\n%s", alone, beside)
		}
	}
}

func TestOrderAndDeterminism(t *testing.T) {
	f := coast(t)
	today := date(t, "2026-11-20")
	want, err := ical.Publish(f, today)
	if err != nil {
		t.Fatal(err)
	}
	before := slices.Clone(f.Events)
	shuffle := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		shuffled := f
		shuffled.Events = slices.Clone(f.Events)
		shuffle.Shuffle(len(shuffled.Events), func(i, j int) {
			shuffled.Events[i], shuffled.Events[j] = shuffled.Events[j], shuffled.Events[i]
		})
		if got, err := ical.Publish(shuffled, today); err != nil || !bytes.Equal(got, want) {
			t.Fatalf("another order of the same events gives other bytes (%v)", err)
		}
	}
	if !reflect.DeepEqual(before, f.Events) {
		t.Error("Publish changed its input")
	}
}

func TestEventsAreSortedByStart(t *testing.T) {
	lisbon, day := zone(t, "Europe/Lisbon"), date(t, "2026-12-03")
	midnight := civil.StartOfDay(day, lisbon)
	f := feed(lisbon,
		timed(1, "timed", midnight, time.Hour),
		timed(2, "later", midnight.Add(time.Minute), time.Hour),
		allDay(4, "all day", day, day),
		allDay(3, "longer", day, day.AddDays(9)),
		timed(5, "the evening before", midnight.Add(-time.Hour), 3*time.Hour),
	)
	got := summaries(t, publish(t, f, "2026-11-20"))
	want := []string{"the evening before", "longer", "all day", "timed", "later"}
	if !slices.Equal(got, want) {
		t.Errorf("published %q, want %q", got, want)
	}
}

func TestNoObservanceBefore1970(t *testing.T) {
	early := time.Date(1971, time.March, 1, 12, 0, 0, 0, time.UTC)
	for _, name := range []string{"Asia/Kolkata", "America/New_York", "Pacific/Auckland", "Africa/Monrovia", "UTC", "Etc/UTC"} {
		cal := publish(t, feed(zone(t, name), timed(1, "Cut", early, time.Hour)), "1971-03-01")
		for _, tz := range cal.components("VTIMEZONE") {
			for _, o := range tz.parts {
				if begins := o.one(t, "DTSTART"); begins < ":1970" {
					t.Errorf("%s: an observance from DTSTART%s", name, begins)
				}
			}
		}
	}
}

// TestFarEvent: one event in a year that may be a slip leaves the others where
// they are, and is published itself.
func TestFarEvent(t *testing.T) {
	near := timed(1, "Cut", changed, time.Hour)
	far := timed(2, "Wrap", time.Date(9990, time.July, 1, 9, 0, 0, 0, time.UTC), time.Hour)
	last := timed(3, "Pour", time.Date(2099, time.July, 1, 9, 0, 0, 0, time.UTC), time.Hour)
	cal := publish(t, feed(zone(t, "Europe/Lisbon"), near, far, last), "2026-11-20")
	for summary, want := range map[string]string{
		"Cut": ";TZID=Europe/Lisbon:20261120T091530", "Wrap": ":99900701T090000Z", "Pour": ";TZID=Europe/Lisbon:20990701T100000",
	} {
		if got := cal.event(t, summary).one(t, "DTSTART"); got != want {
			t.Errorf("%s starts at %s, want %s", summary, got, want)
		}
	}
}
