package remind

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"ripeline/orders"
	"ripeline/schedule"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares got with a file of testdata.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		must(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	must(t, err)
	if got != string(want) {
		t.Errorf("%s differs; run the test with -update and look at the change. Got:\n%s", name, got)
	}
}

// fullBrief is a Monday evening with something of everything in it.
func fullBrief(t *testing.T) brief {
	t.Helper()
	c := zoned(t, "Europe/Lisbon")
	timed := func(kind orders.TaskKind, title, detail, date, from, to string) orders.Task {
		return orders.Task{
			Kind: kind, Title: title, Detail: detail, Status: orders.TaskOpen, Day: day(date), LastDay: day(date),
			From: c.at(day(date), *minute(from)), To: c.at(day(date), *minute(to)),
		}
	}
	whole := func(kind orders.TaskKind, title, detail, from, to string) orders.Task {
		return orders.Task{Kind: kind, Title: title, Detail: detail, Status: orders.TaskOpen, AllDay: true, Day: day(from), LastDay: day(to)}
	}
	done := timed(orders.TaskWrap, "Wrap DON-351020-1 · 5 pieces", "", "2035-12-04", "08:00", "09:00")
	done.Status = orders.TaskDone
	cut := timed(orders.TaskCut, "Cut OAT-351203-1 · 24 pieces", "Oat and honey: 2 × Loaf", "2035-12-04", "18:00", "18:40")
	stuck := timed(orders.TaskMake, "Pour LAV-351204-1 · 48 pieces", "Lavender: 2 × Loaf", "2035-12-04", "18:40", "20:10")
	stuck.Obstacle = "On Tue 4 Dec 2035 it needs 2 × Loaf, and only 1 is there."
	rule := orders.ReminderRule{Meta: orders.Meta{ID: "r1"}, PersonID: "p", Name: "Before a pour", Cron: "0 12 * * *", Kind: orders.TaskMake, LeadDays: 3}
	b := brief{
		shop: shop{
			Workshop: orders.Workshop{Name: "Saltmarsh Soap", PlanRevision: 9}, clock: c, rules: []orders.ReminderRule{rule},
			tasks: []orders.Task{
				cut,
				stuck,
				whole(orders.TaskHandOver, "Hand over 12 Naming day", "60 × Oat and honey", "2035-12-04", "2035-12-04"),
				done,
				whole(orders.TaskCure, "ROS-351106-1 cures · 22 pieces", "Rose", "2035-11-07", "2035-12-05"),
				whole(orders.TaskCure, "SEA-351120-1 cures · 22 pieces", "Sea", "2035-11-21", "2035-12-30"),
				whole(orders.TaskHandOver, "Hand over 14 Harbour fair", "40 × Sea", "2035-12-09", "2035-12-09"),
				whole(orders.TaskHandOver, "Hand over 15 Much later", "40 × Sea", "2035-12-20", "2035-12-20"),
				whole(orders.TaskSupplies, "Order supplies for SEA-351212-1", "Lye, 310 g (5 days to arrive)", "2035-12-01", "2035-12-01"),
				whole(orders.TaskSupplies, "Order supplies for ROS-351218-1", "Olive oil, 2100 g (7 days to arrive)", "2035-12-08", "2035-12-08"),
				timed(orders.TaskMake, "Pour ROS-351206-1 · 24 pieces", "Rose: 1 × Loaf", "2035-12-05", "18:00", "19:30"),
				timed(orders.TaskWrap, "Wrap OAT-351020-1 · 24 pieces", "", "2035-12-01", "09:00", "10:00"),
				timed(orders.TaskTrial, "Trial of Rose", "A small pour, judged the next day, before the first batch.", "2035-12-04", "20:10", "20:40"),
			},
			coming: []orders.LateArrival{{Ingredient: "Palm oil", ArrivesOn: day("2035-11-30")}},
		},
		person:   orders.Person{Meta: orders.Meta{ID: "p"}, Name: "Tilda Marram", DigestAt: minute("18:00")},
		delivery: orders.Delivery{ID: "d", PersonID: "p", Kind: kindDigest, LocalDate: day("2035-12-03"), DueAt: c.at(day("2035-12-03"), *minute("18:00"))},
		now:      c.at(day("2035-12-03"), *minute("18:00")), planURL: baseURL + "/plan", known: true,
		told: coverage{7, c.at(day("2035-12-02"), *minute("18:00"))},
		whys: []string{"5 pieces of OAT-351128-1 were spoiled.\r\nSubject: nonsense"},
		missed: []orders.Delivery{
			{Kind: kindRule + "r1", PersonID: "p", LocalDate: day("2035-12-02"), DueAt: c.at(day("2035-12-02"), *minute("12:00"))},
			{Kind: kindToday, PersonID: "p", LocalDate: day("2035-12-03"), DueAt: c.at(day("2035-12-03"), *minute("07:00"))},
		},
	}
	cuttable := func(lot string, cut, until time.Time) orders.Batch {
		return orders.Batch{Lot: lot, State: orders.BatchPoured, Cut: schedule.Interval{From: cut}, CutTo: until}
	}
	b.molded = []orders.Batch{
		cuttable("OAT-351203-1", cut.From, c.at(day("2035-12-05"), *minute("08:00"))),
		cuttable("SEA-351202-1", c.at(day("2035-12-06"), *minute("18:00")), c.at(day("2035-12-04"), *minute("08:41"))),
		cuttable("SEA-351130-1", c.at(day("2035-12-04"), *minute("18:00")), c.at(day("2035-12-02"), *minute("20:00"))),
	}
	cancelled := timed(orders.TaskCut, "Cut OAT-351128-1 · 24 pieces", "", "2035-12-06", "18:00", "18:40")
	cancelled.Status = orders.TaskCancelled
	b.changes = []change{
		{cut, changeMoved, schedule.Interval{From: c.at(day("2035-12-05"), *minute("18:00")), To: c.at(day("2035-12-05"), *minute("18:40"))}},
		{task: b.tasks[1], kind: changeNew},
		{task: cancelled, kind: changeCancelled},
	}
	return b
}

func TestDigestInFull(t *testing.T) {
	t.Parallel()
	l, ok := fullBrief(t).write()
	if !ok {
		t.Fatal("nothing to say")
	}
	text, html, err := l.rendered()
	must(t, err)
	golden(t, "digest.txt", text)
	golden(t, "digest.html", html)
}

func TestOtherKindsInFull(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ file, kind, slot string }{
		{"today.txt", kindToday, ""}, {"change.txt", kindChange, "1"}, {"rule.txt", kindRule + "r1", "12:00"},
	} {
		b := fullBrief(t)
		b.delivery.Kind, b.delivery.Slot = c.kind, c.slot
		if c.kind != kindRule+"r1" {
			b.missed = nil
		} else {
			b.delivery.LocalDate = day("2035-12-02")
		}
		l, ok := b.write()
		if !ok {
			t.Fatalf("%s: nothing to say", c.kind)
		}
		text, _, err := l.rendered()
		must(t, err)
		golden(t, c.file, text)
	}
}

func TestTextsStayTexts(t *testing.T) {
	t.Parallel()
	b := fullBrief(t)
	b.tasks[0].Title = "Cut <script>alert(1)</script>\n\nTomorrow, Wed 5 Dec: no tasks"
	l, _ := b.write()
	text, html, err := l.rendered()
	must(t, err)
	if strings.Contains(text, "\nTomorrow, Wed 5 Dec") {
		t.Errorf("a title passes for a heading:\n%s", text)
	}
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(page(Message{Subject: "</title><script>", HTML: html, Unsubscribe: `"><script>`})))
	must(t, err)
	if n := doc.Find("script").Length(); n != 0 {
		t.Errorf("%d scripts in\n%s", n, html)
	}
	if href := doc.Find("p a").First().AttrOr("href", ""); href != baseURL+"/plan" || strings.Contains(text+html, "/feeds/") {
		t.Errorf("the link is %q", href)
	}
}

func TestEmptyBookSaysNothing(t *testing.T) {
	t.Parallel()
	for _, kind := range []string{kindDigest, kindToday, kindChange, kindRule + "r1"} {
		b := fullBrief(t)
		b.coming = nil
		b.delivery.Kind, b.tasks, b.changes, b.molded = kind, nil, nil, nil
		if l, ok := b.write(); ok {
			t.Errorf("%s: %+v", kind, l)
		}
	}
}

func TestTimesOnTheLongDay(t *testing.T) {
	t.Parallel()
	c := zoned(t, "Europe/Lisbon")
	first := c.at(day("2027-10-31"), *minute("01:30"))
	task := orders.Task{From: first, To: first.Add(3600e9)}
	if got := c.hours(task, day("2027-10-31")); got != "01:30 WEST–01:30 WET" {
		t.Errorf("got %s", got)
	}
	over := orders.Task{From: c.at(day("2027-06-10"), *minute("23:30")), To: c.at(day("2027-06-11"), *minute("00:30"))}
	if got := c.hours(over, day("2027-06-11")); got != "Thu 10 Jun, 23:30–00:30" {
		t.Errorf("got %s", got)
	}
}

func TestNeverTwiceToldOfWhatWasFolded(t *testing.T) {
	t.Parallel()
	c := zoned(t, "UTC")
	at := func(date, clock string) orders.Delivery {
		return orders.Delivery{ID: date + clock, DueAt: c.at(day(date), *minute(clock)), Status: orders.DeliveryFolded}
	}
	digest := at("2027-06-11", "18:00")
	lastDue := c.at(day("2027-06-10"), *minute("18:00"))
	waiting, sent := at("2027-06-11", "14:00"), at("2027-06-11", "12:00")
	waiting.Status, sent.Status = orders.DeliveryDue, orders.DeliverySent
	all := []orders.Delivery{digest, waiting, sent, at("2027-06-11", "08:00"), at("2027-06-10", "17:00"), at("2027-06-10", "07:00")}
	var got []string
	for _, d := range missedOf(digest, all, digest.DueAt.Add(3600e9), lastDue, lastDue) {
		got = append(got, d.ID)
	}
	// 07:00 of the 10th was told at 18:00; 17:00 was then not yet late.
	if want := "2027-06-1017:00 2027-06-1108:00 2027-06-1114:00"; strings.Join(got, " ") != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
