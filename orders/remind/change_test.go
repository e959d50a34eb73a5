package remind

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
)

func TestCoverageIsReadBack(t *testing.T) {
	t.Parallel()
	want := coverage{17, time.Date(2035, 12, 3, 18, 0, 0, 0, time.UTC)}
	got, err := coverageOf(orders.Delivery{MessageID: messageID("01a2-b3", want, "soap.example")})
	if err != nil || got != want {
		t.Errorf("got %+v, %v", got, err)
	}
	for _, bad := range []string{"", "x@y", "a.b.c@soap.example", "a.1@soap.example", "a.1.x@soap.example"} {
		if got, err := coverageOf(orders.Delivery{MessageID: bad}); err == nil {
			t.Errorf("%q: %+v", bad, got)
		}
	}
}

func TestWhatChanged(t *testing.T) {
	t.Parallel()
	at := func(clock string) time.Time {
		return zoned(t, "UTC").at(day("2027-06-11"), *minute(clock))
	}
	span := func(clock string) schedule.Interval {
		return schedule.Interval{From: at(clock), To: at(clock).Add(time.Hour)}
	}
	task := func(title string, seq, revision int, change func(*orders.Task)) orders.Task {
		iv := span("18:00")
		out := orders.Task{
			Kind: orders.TaskCut, BatchID: title, Title: title, Day: day("2027-06-11"), LastDay: day("2027-06-11"),
			From: iv.From, To: iv.To, Sequence: seq, Revision: revision, Status: orders.TaskOpen, ChangedAt: at("08:00"),
		}
		if change != nil {
			change(&out)
		}
		return out
	}
	cancelled := func(x *orders.Task) { x.Status = orders.TaskCancelled }
	revs := []orders.PlanRevision{
		{Number: 3, Diff: schedule.Diff{Added: []string{"added"}, Moves: []schedule.Move{
			{BatchKey: "moved", Step: schedule.StepCut, From: span("10:00"), To: span("12:00")},
			{BatchKey: "back", Step: schedule.StepCut, From: span("18:00"), To: span("12:00")},
			{BatchKey: "gone", Step: schedule.StepCut, From: span("09:00"), To: span("12:00")},
		}}},
		{Number: 4, Diff: schedule.Diff{Moves: []schedule.Move{
			{BatchKey: "moved", Step: schedule.StepCut, From: span("12:00"), To: span("18:00")},
			{BatchKey: "added", Step: schedule.StepCut, From: span("12:00"), To: span("18:00")},
		}}},
	}
	tasks := []orders.Task{
		task("old", 4, 2, nil),
		task("fresh", 0, 3, nil),
		task("added", 1, 4, nil),
		task("moved", 2, 4, nil),
		task("back", 2, 4, nil),
		task("gone", 3, 4, cancelled),
		task("unseen", 0, 4, cancelled),
		task("done", 1, 4, func(x *orders.Task) { x.Status = orders.TaskDone }),
		task("cure", 1, 4, func(x *orders.Task) { x.Kind = orders.TaskCure }),
		task("same revision, later", 1, 2, func(x *orders.Task) { x.ChangedAt = at("09:30") }),
	}
	var got []string
	for _, x := range changesSince(coverage{2, at("09:00")}, tasks, revs) {
		got = append(got, fmt.Sprint(x.task.Title, " ", x.kind, " ", x.was.From.Format("15")))
	}
	want := []string{
		"added 0 00", "back 2 00", "fresh 0 00", "gone 3 09", "moved 1 10", "same revision, later 2 00",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestNear(t *testing.T) {
	t.Parallel()
	c := zoned(t, "UTC")
	now := c.at(day("2027-06-10"), *minute("18:00"))
	timed := func(in time.Duration) change {
		return change{task: orders.Task{From: now.Add(in), To: now.Add(in + time.Hour)}}
	}
	movedAway := timed(90 * time.Hour)
	movedAway.was = schedule.Interval{From: now.Add(time.Hour), To: now.Add(2 * time.Hour)}
	allDay := func(d string) change {
		return change{task: orders.Task{AllDay: true, Day: day(d), LastDay: day(d)}}
	}
	for i, x := range []struct {
		change
		want bool
	}{
		{timed(-2 * time.Hour), false},
		{timed(-30 * time.Minute), true},
		{timed(35 * time.Hour), true},
		{timed(36 * time.Hour), false},
		{movedAway, true},
		{allDay("2027-06-09"), false},
		{allDay("2027-06-10"), true},
		{allDay("2027-06-12"), true}, // 36 hours end at 06:00 of that day
		{allDay("2027-06-13"), false},
	} {
		if got := c.near(x.change, now); got != x.want {
			t.Errorf("%d: %t", i, got)
		}
	}
}

// afterDigest is a stage on which Monday's digest went out at 18:00, for a
// person with quiet hours from 22:00 to 07:00.
func afterDigest(t *testing.T) (*stage, *Service, *outbox, []orders.Task) {
	t.Helper()
	s := newStage(t, "Europe/Lisbon")
	s.setOwner(func(p *orders.Person) { p.QuietFrom, p.QuietTo = minute("22:00"), minute("07:00") })
	tasks := s.publish("First plan",
		s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "18:00"),
		s.timed(orders.TaskMake, "Pour LAV-351208-1 · 24 pieces", "2035-12-08", "18:00"))
	box := new(outbox)
	r := s.service(box)
	s.wall("2035-12-03", "18:00")
	s.run(r)
	if got := box.take(); len(got) != 1 {
		t.Fatalf("the digest: %+v", got)
	}
	return s, r, box, tasks
}

// retitle publishes a change of one task.
func (s *stage) retitle(task *orders.Task, title string) {
	s.t.Helper()
	task.Title = title
	task.Sequence++
	*task = s.publish("Because of "+title, *task)[0]
}

func TestChangesAreMerged(t *testing.T) {
	t.Parallel()
	s, r, box, tasks := afterDigest(t)
	s.wall("2035-12-03", "19:00")
	s.retitle(&tasks[0], "Cut OAT-351204-1 · 20 pieces")
	s.run(r)
	s.wall("2035-12-03", "19:10")
	s.publish("One more", s.timed(orders.TaskWrap, "Wrap ROS-351101-1 · 12 pieces", "2035-12-04", "20:00"))
	s.retitle(&tasks[1], "Pour LAV-351208-1 · 30 pieces") // too far away to be worth a mail
	s.wall("2035-12-03", "19:14")
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Fatalf("did not wait for more: %+v", got)
	}
	s.wall("2035-12-03", "19:15")
	s.run(r)
	got := box.take()
	if len(got) != 1 || got[0].Subject != "Plan changed, Mon 3 Dec: 2 changes" {
		t.Fatalf("got %+v", got)
	}
	for _, want := range []string{
		"- Changed: Cut OAT-351204-1 · 20 pieces, Tue 4 Dec, 18:00", "- New: Wrap ROS-351101-1 · 12 pieces, Tue 4 Dec, 20:00", "Why: One more",
	} {
		if !strings.Contains(got[0].Text, want) {
			t.Errorf("no %q in\n%s", want, got[0].Text)
		}
	}
	s.hand.pass(time.Hour)
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Errorf("told twice: %+v", got)
	}
	s.wall("2035-12-04", "18:00")
	s.run(r)
	if got := box.take(); len(got) != 1 || !strings.Contains(got[0].Text, "- Changed: Pour LAV-351208-1 · 30 pieces, Sat 8 Dec, 18:00") ||
		!strings.Contains(got[0].Text, "Changed since Mon 3 Dec, 18:00") {
		t.Errorf("the next digest: %+v", got)
	}
}

func TestThreeChangeMailsADay(t *testing.T) {
	t.Parallel()
	s, r, box, tasks := afterDigest(t)
	mails := 0
	for s.wall("2035-12-04", "08:00"); s.hand.now().Before(s.at("2035-12-04", "17:00")); s.hand.pass(20 * time.Minute) {
		s.retitle(&tasks[0], fmt.Sprintf("Cut OAT-351204-1 · %d pieces", s.hand.now().Unix()%97))
		s.run(r)
		s.hand.pass(15 * time.Minute)
		s.run(r)
		mails += len(box.take())
	}
	if mails != 3 {
		t.Errorf("%d change mails in a day", mails)
	}
}

func TestQuietHoursHoldOneBundle(t *testing.T) {
	t.Parallel()
	s, r, box, tasks := afterDigest(t)
	for s.wall("2035-12-03", "21:50"); s.hand.now().Before(s.at("2035-12-04", "06:55")); s.hand.pass(time.Hour) {
		s.retitle(&tasks[0], fmt.Sprintf("Cut OAT-351204-1 · %d pieces", s.hand.now().Unix()%97))
		s.run(r)
	}
	if got := box.take(); len(got) != 0 {
		t.Fatalf("woke somebody: %+v", got)
	}
	s.wall("2035-12-04", "07:00")
	s.run(r)
	if got := box.take(); len(got) != 1 || got[0].Subject != "Plan changed, Tue 4 Dec: 1 change" {
		t.Errorf("got %+v", got)
	}
}

func TestQuietHoursSetMeanwhile(t *testing.T) {
	t.Parallel()
	s, r, box, tasks := afterDigest(t)
	s.wall("2035-12-03", "19:00")
	s.retitle(&tasks[0], "Cut OAT-351204-1 · 20 pieces")
	s.run(r)
	s.setOwner(func(p *orders.Person) { p.QuietFrom, p.QuietTo = minute("19:10"), minute("20:00") })
	s.wall("2035-12-03", "19:20")
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Fatalf("mailed in quiet hours: %+v", got)
	}
	s.wall("2035-12-03", "20:00")
	s.run(r)
	if got := box.take(); len(got) != 1 {
		t.Errorf("got %+v", got)
	}
}

func TestNoChangeMailWhenTheDigestTold(t *testing.T) {
	t.Parallel()
	s, r, box, tasks := afterDigest(t)
	s.wall("2035-12-04", "17:50")
	s.retitle(&tasks[0], "Cut OAT-351204-1 · 20 pieces")
	s.publish("More", s.timed(orders.TaskCut, "Cut ROS-351205-1 · 24 pieces", "2035-12-05", "18:00"))
	s.run(r)
	s.wall("2035-12-04", "18:00")
	s.run(r)
	s.wall("2035-12-04", "18:30")
	s.run(r)
	if got := box.take(); len(got) != 1 || got[0].Kind != kindDigest {
		t.Errorf("got %+v", got)
	}
	if d := s.find(kindChange, "2035-12-04"); d.Status != orders.DeliveryEmpty {
		t.Errorf("stored %+v", d)
	}
}

func TestNoChangeMailBeforeTheFirstDigest(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	var box outbox
	r := s.service(&box)
	s.publish("First plan", s.timed(orders.TaskCut, "Cut OAT-351204-1 · 24 pieces", "2035-12-04", "08:00"))
	s.run(r)
	s.hand.pass(20 * time.Minute)
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Errorf("got %+v", got)
	}
}

// TestPublishedWhileTheDigestWasWritten has a plan that was begun before the
// digest and committed after it.
func TestPublishedWhileTheDigestWasWritten(t *testing.T) {
	t.Parallel()
	s, r, box, _ := afterDigest(t)
	s.wall("2035-12-03", "17:59")
	s.publish("Slow planning", s.timed(orders.TaskCut, "Cut ROS-351204-1 · 24 pieces", "2035-12-04", "19:00"))
	s.wall("2035-12-03", "18:01")
	s.run(r)
	s.wall("2035-12-03", "18:20")
	s.run(r)
	if got := box.take(); len(got) != 1 || !strings.Contains(got[0].Text, "New: Cut ROS-351204-1") {
		t.Errorf("got %+v", got)
	}
}

func TestDemoRemovedMeanwhile(t *testing.T) {
	t.Parallel()
	s, r, box, tasks := afterDigest(t)
	s.wall("2035-12-03", "19:00")
	s.retitle(&tasks[0], "Cut OAT-351204-1 · 20 pieces")
	s.run(r)
	s.change(func(ctx context.Context, tx orders.Tx) error { return tx.ClearBook(ctx) })
	s.wall("2035-12-03", "19:30")
	s.run(r)
	if got := box.take(); len(got) != 0 {
		t.Errorf("got %+v", got)
	}
}

// TestWhyIsToldOnce: a loss is not told of again beside the way out of it.
func TestWhyIsToldOnce(t *testing.T) {
	t.Parallel()
	got := whys([]orders.PlanRevision{{Why: "All of it is lost."}, {Why: "Closed."}, {}, {Why: "Took a way out. All of it is lost."}, {Why: "Poured."}, {Why: "Poured."}})
	if want := []string{"Closed.", "Took a way out. All of it is lost.", "Poured."}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
