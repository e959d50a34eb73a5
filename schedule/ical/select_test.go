package ical_test

import (
	"bytes"
	"math/rand/v2"
	"reflect"
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
	lisbon := zone(t, "Europe/Lisbon")
	twin := func(n int, ref string) ical.Event {
		e := timed(n, "Cut loaf", changed, time.Hour)
		e.Ref = ref
		return e
	}
	same := func(got, want []string) {
		t.Helper()
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Errorf("summaries %q, want %q", got, want)
		}
	}
	tail := uid(0)[24:34]
	longer := timed(4, "Cut loaf", changed, 2*time.Hour)

	same(summaries(t, publish(t, feed(lisbon, twin(1, "L1"), longer), "2026-11-20")), []string{"Cut loaf", "Cut loaf"})
	same(summaries(t, publish(t, feed(lisbon, twin(1, "L1"), twin(2, "L2"), longer), "2026-11-20")), []string{"Cut loaf", "Cut loaf (L1)", "Cut loaf (L2)"})
	same(summaries(t, publish(t, feed(lisbon, twin(1, "L1"), twin(2, "L1"), twin(3, "L3")), "2026-11-20")),
		[]string{"Cut loaf (" + tail + "01)", "Cut loaf (" + tail + "02)", "Cut loaf (L3)"})
	same(summaries(t, publish(t, feed(lisbon, twin(1, ""), twin(2, "")), "2026-11-20")),
		[]string{"Cut loaf (" + tail + "01)", "Cut loaf (" + tail + "02)"})

	a, b := twin(1, ""), twin(2, "")
	a.UID = strings.Replace(a.UID, "5b0c1e7a", "6b0c1e7a", 1)
	b.UID = uid(1)
	same(summaries(t, publish(t, feed(lisbon, a, b), "2026-11-20")), []string{"Cut loaf (" + b.UID + ")", "Cut loaf (" + a.UID + ")"})

	day := civil.Of(changed)
	x, y := allDay(1, "Cure", day, day.AddDays(30)), allDay(2, "Cure", day, day.AddDays(30))
	x.Ref, y.Ref = "L1", "L2"
	same(summaries(t, publish(t, feed(lisbon, x, y), "2026-11-20")), []string{"Cure (L1)", "Cure (L2)"})
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
