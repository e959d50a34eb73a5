package remind

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// zoned is the clock of a zone.
func zoned(t rapid.TB, name string) clock {
	loc, err := civil.LoadZone(name)
	if err != nil {
		t.Fatal(err)
	}
	return clock{loc}
}

func TestDueOnClockChanges(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ zone, date, at, want string }{
		{"Europe/Lisbon", "2027-03-28", "01:30", "2027-03-28T01:30:00Z"}, // 23 h; 01:30 does not exist, 02:30 summer time is just after
		{"Europe/Lisbon", "2027-10-31", "01:30", "2027-10-31T00:30:00Z"}, // 25 h; the first of the two
		{"Europe/Lisbon", "2027-03-28", "18:00", "2027-03-28T17:00:00Z"},
		{"Europe/Lisbon", "2027-10-31", "18:00", "2027-10-31T18:00:00Z"},
		{"America/New_York", "2027-03-14", "02:30", "2027-03-14T07:30:00Z"},
		{"America/New_York", "2027-11-07", "01:30", "2027-11-07T05:30:00Z"},
		{"Australia/Lord_Howe", "2027-10-03", "02:15", "2027-10-02T15:45:00Z"}, // a gap of half an hour
	} {
		p := orders.Person{Meta: orders.Meta{ID: "p"}, DigestAt: minute(c.at)}
		due, err := zoned(t, c.zone).dueOn(day(c.date), p, nil)
		if err != nil || len(due) != 1 || due[0].DueAt.Format(time.RFC3339) != c.want {
			t.Errorf("%s %s %s: %+v %v, want %s", c.zone, c.date, c.at, due, err, c.want)
		}
	}
}

// TestEachDayOnce looks every few minutes through weeks with clock changes,
// and wants each local day's reminders stored under keys of their own, once.
func TestEachDayOnce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := zoned(t, rapid.SampledFrom([]string{
			"Europe/Lisbon", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca", "Pacific/Apia", "UTC",
		}).Draw(t, "zone"))
		first := day(rapid.SampledFrom([]string{"2027-03-10", "2027-03-24", "2027-10-27", "2027-11-03", "2027-09-29", "2027-01-31", "2011-12-27"}).Draw(t, "first"))
		evening := civil.Minute(rapid.IntRange(0, 1439).Draw(t, "evening"))
		rule := civil.Minute(rapid.IntRange(0, 1439).Draw(t, "rule"))
		p := orders.Person{Meta: orders.Meta{ID: "p"}, DigestAt: &evening}
		rules := []orders.ReminderRule{{Meta: orders.Meta{ID: "r"}, PersonID: "p", Cron: cronAt(rule)}}
		const days = 7
		stored := make(map[string]time.Time)
		for now := c.at(first, 0); c.day(now).Before(first.AddDays(days)); now = now.Add(37 * time.Minute) {
			due, err := c.ahead(now, p, rules)
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range due {
				key := d.LocalDate.String() + " " + d.Kind + " " + d.Slot
				if was, ok := stored[key]; ok && !was.Equal(d.DueAt) {
					t.Fatalf("%s moved from %v to %v", key, was, d.DueAt)
				}
				stored[key] = d.DueAt
			}
		}
		for d := first; d.Before(first.AddDays(days)); d = d.AddDays(1) {
			for key, m := range map[string]civil.Minute{d.String() + " digest ": evening, d.String() + " rule:r " + rule.String(): rule} {
				at, ok := stored[key]
				if !ok || !at.Equal(civil.At(d, m, c.zone)) {
					t.Fatalf("%s is due at %v (%t), want %v", key, at, ok, civil.At(d, m, c.zone))
				}
			}
		}
		if want := 2 * (days + 2); len(stored) != want { // the day before and the day after too
			t.Fatalf("%d reminders in %d days, want %d", len(stored), days, want)
		}
	})
}

// cronAt is a daily rule at m.
func cronAt(m civil.Minute) string {
	hour, minutes, _ := strings.Cut(m.String(), ":")
	return minutes + " " + hour + " * * *"
}

func TestSetUpAfterItsTimeIsNotDue(t *testing.T) {
	t.Parallel()
	c := zoned(t, "Europe/Lisbon")
	set := c.at(day("2027-06-10"), *minute("18:30"))
	p := orders.Person{Meta: orders.Meta{ID: "p", ChangedAt: set}, DigestAt: minute("18:00")}
	rules := []orders.ReminderRule{
		{Meta: orders.Meta{ID: "late", ChangedAt: set}, PersonID: "p", Cron: "0 17 * * *"},
		{Meta: orders.Meta{ID: "old"}, PersonID: "p", Cron: "0 17 * * *"},
		{Meta: orders.Meta{ID: "off"}, PersonID: "p", Cron: "0 17 * * *", Off: true},
		{Meta: orders.Meta{ID: "other"}, PersonID: "q", Cron: "0 17 * * *"},
	}
	due, err := c.ahead(set, p, rules)
	must(t, err)
	var got []string
	for _, d := range due {
		got = append(got, d.LocalDate.String()+" "+d.Kind)
	}
	want := []string{"2027-06-09 rule:old", "2027-06-10 rule:old", "2027-06-11 digest", "2027-06-11 rule:late", "2027-06-11 rule:old"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestABrokenRuleKeepsNothingElseBack(t *testing.T) {
	t.Parallel()
	p := orders.Person{Meta: orders.Meta{ID: "p"}, DigestAt: minute("18:00")}
	due, err := zoned(t, "UTC").dueOn(day("2027-06-10"), p, []orders.ReminderRule{{Meta: orders.Meta{ID: "bad"}, PersonID: "p", Cron: "nonsense"}})
	if err == nil || !strings.Contains(err.Error(), "bad") || len(due) != 1 {
		t.Errorf("%+v, %v", due, err)
	}
}

func TestQuietHours(t *testing.T) {
	t.Parallel()
	c := zoned(t, "Europe/Lisbon")
	night := orders.Person{QuietFrom: minute("22:00"), QuietTo: minute("07:00")}
	noon := orders.Person{QuietFrom: minute("12:00"), QuietTo: minute("14:00")}
	for _, q := range []struct {
		p              orders.Person
		at, want, date string
	}{
		{night, "21:59", "21:59", "2027-06-10"},
		{night, "22:00", "07:00", "2027-06-11"},
		{night, "23:59", "07:00", "2027-06-11"},
		{night, "00:00", "07:00", "2027-06-10"},
		{night, "06:59", "07:00", "2027-06-10"},
		{night, "07:00", "07:00", "2027-06-10"},
		{noon, "11:59", "11:59", "2027-06-10"},
		{noon, "13:00", "14:00", "2027-06-10"},
		{orders.Person{}, "13:00", "13:00", "2027-06-10"},
		{orders.Person{QuietFrom: minute("12:00"), QuietTo: minute("12:00")}, "13:00", "13:00", "2027-06-10"},
	} {
		got := c.afterQuiet(c.at(day("2027-06-10"), *minute(q.at)), q.p)
		if want := c.at(day(q.date), *minute(q.want)); !got.Equal(want) {
			t.Errorf("%s: %v, want %v", q.at, got, want)
		}
	}
	// On the night of 25 hours quiet time ends by the clock all the same.
	if got := c.afterQuiet(c.at(day("2027-10-30"), *minute("23:00")), night); got.Sub(c.at(day("2027-10-30"), *minute("23:00"))) != 9*time.Hour {
		t.Errorf("the long night ended at %v", got)
	}
}

// TestClockChangeDays delivers through both clock changes, looking every ten
// minutes, and wants one digest for each local day.
func TestClockChangeDays(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.setOwner(func(p *orders.Person) { p.DigestAt = minute("01:30") })
	for _, from := range []string{"2036-03-28", "2036-10-24"} { // the clocks change on 30 March and 26 October 2036
		first := day(from)
		var tasks []orders.Task
		for i := range 5 {
			d := first.AddDays(i + 1)
			tasks = append(tasks, s.timed(orders.TaskCut, "Cut on "+d.String(), d.String(), "18:00"))
		}
		s.wall(from, "00:00")
		s.publish("Plan", tasks...)
		var box outbox
		r := s.service(&box)
		for ; s.clock.day(s.hand.now()).Before(first.AddDays(4)); s.hand.pass(10 * time.Minute) {
			s.run(r)
		}
		var got []string
		for _, m := range box.take() {
			got = append(got, m.Date.Format("2 15:04 ")+m.Subject)
		}
		want := map[string][]string{
			"2036-03-28": {
				"28 01:30 Tomorrow, Sat 29 Mar: 1 task", "29 01:30 Tomorrow, Sun 30 Mar: 1 task",
				"30 01:30 Tomorrow, Mon 31 Mar: 1 task", "31 00:30 Tomorrow, Tue 1 Apr: 1 task",
			},
			"2036-10-24": {
				"24 00:30 Tomorrow, Sat 25 Oct: 1 task", "25 00:30 Tomorrow, Sun 26 Oct: 1 task",
				"26 00:30 Tomorrow, Mon 27 Oct: 1 task", "27 01:30 Tomorrow, Tue 28 Oct: 1 task",
			},
		}[from]
		if !slices.Equal(got, want) {
			t.Errorf("from %s: got\n%s\nwant\n%s", from, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
	}
}
