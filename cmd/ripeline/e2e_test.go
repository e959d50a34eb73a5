package main

import (
	"bytes"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	ics "github.com/emersion/go-ical"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TestMainJobByTheAPI is the whole job, from an empty workshop to a failed
// batch and the way out of it, on the running program by its API alone.
func TestMainJobByTheAPI(t *testing.T) {
	t.Parallel()
	db := newDatabase(t)
	s := start(t, "serve", "--database-url", db.OwnerURL)
	c := setUp(t, s)
	g := furnish(c)
	if again := firstRun(t, s); again.status != http.StatusNotFound {
		t.Errorf("the set-up link works twice: %s", again)
	}

	promise(c, g)
	taken := answered[orderAnswer](t, c.send(http.MethodPost, "/orders", g.order("Naming day", 60, today(t).AddDays(45), false)), http.StatusCreated)
	taken = answered[orderAnswer](t, c.change(http.MethodPost, "/orders/"+taken.Order.ID+"/accept", taken.Order.Version, nil), http.StatusOK)
	if taken.Order.Status != orders.Accepted || taken.Order.Told.IsZero() || !taken.Change.Published {
		t.Fatalf("accepted: %+v", taken)
	}
	planned := listed[orders.Batch](c, "/batches?state=planned")
	if len(planned) < 2 {
		t.Fatalf("60 pieces from two molds of 24 are %d batches", len(planned))
	}
	checkCutHours(t, got[orders.Workshop](c, "/workshop").Hours, planned)

	feed := answered[feedAnswer](t, c.send(http.MethodPost, "/feeds", map[string]any{"name": "Everything", "kind": "all"}), http.StatusCreated)
	before := subscribed(t, feed.URL)
	checkTimes(t, before, listed[orders.Task](c, "/tasks?"))

	shelfOrder(c, g)
	digest := startDigests(t, db.OwnerURL, c, s)
	pourAndCut(c, planned[0])
	cut := subscribed(t, feed.URL)
	if moved, _ := checkFollowed(t, before, cut); moved == 0 {
		t.Error("a batch was poured and cut before its time, and nothing moved in the feed")
	}
	loseOneBatch(c)
	if _, cancelled := checkFollowed(t, cut, subscribed(t, feed.URL)); cancelled == 0 {
		t.Error("a batch failed, and nothing was cancelled in the feed")
	}
	checkTimes(t, subscribed(t, feed.URL), listed[orders.Task](c, "/tasks?"))
	digest.tellsOf("Changed since", "PEB-")
}

// promise asks for 60 pieces, too early, at the earliest date, and in good time.
func promise(c caller, g goods) {
	c.t.Helper()
	ask := func(by civil.Date) schedule.Answer {
		return answered[schedule.Answer](c.t, c.send(http.MethodPost, "/promise", g.question(60, by)), http.StatusOK)
	}
	soon, later := today(c.t).AddDays(20), today(c.t).AddDays(45)
	no := ask(soon)
	if no.Verdict != schedule.No || !no.Proved || !no.Earliest.After(soon) || no.Earliest.After(later) {
		c.t.Fatalf("in 20 days: %s, proved %t, earliest %s", no.Verdict, no.Proved, no.Earliest)
	}
	cure := false
	for _, r := range no.Reasons {
		cure = cure || r.Kind == schedule.HoldCure && strings.Contains(r.Text, "28 days")
	}
	if !cure {
		c.t.Errorf("in 20 days: the cure is no reason among %+v", no.Reasons)
	}
	if day := ask(no.Earliest.AddDays(-1)); day.Verdict == schedule.Yes {
		c.t.Errorf("%s is said to be the earliest date, but a day before is promised too", no.Earliest)
	}
	if at := ask(no.Earliest); at.Verdict == schedule.No || at.Ready.IsZero() || at.Ready.After(no.Earliest) {
		c.t.Errorf("the earliest date, %s: %s, ready %s, because %+v", no.Earliest, at.Verdict, at.Ready, at.Reasons)
	}
	yes := ask(later)
	if yes.Verdict != schedule.Yes || yes.Ready.IsZero() || yes.Ready.After(yes.Deadline) || yes.LastSafePour.IsZero() || len(yes.Stages) == 0 {
		c.t.Fatalf("in 45 days: %s, ready %s, because %+v", yes.Verdict, yes.Ready, yes.Reasons)
	}
	if all := listed[orders.Order](c, "/orders?"); len(all) > 0 {
		c.t.Errorf("asking wrote %d orders", len(all))
	}
}

// shelfOrder promises a few pieces from the shelf for next week, so that a
// digest has something to say.
func shelfOrder(c caller, g goods) {
	c.t.Helper()
	c.create("/stock", map[string]any{"design_id": g.design, "pieces": 5, "note": "Counted"})
	answered[orderAnswer](c.t, c.send(http.MethodPost, "/orders", g.order("Host gifts", 5, today(c.t).AddDays(5), true)), http.StatusCreated)
	takeBest(c)
}

// checkCutHours finds, for each planned pour, a working hour inside the cut
// window that it opens, counting days and hours without the planner.
func checkCutHours(t testing.TB, hours []orders.Window, planned []orders.Batch) {
	t.Helper()
	for _, b := range planned {
		from, to := b.Make.To.Add(18*time.Hour), b.Make.To.Add(48*time.Hour)
		open := false
		for day := civil.Of(from.In(shopZone(t))); !day.After(civil.Of(to.In(shopZone(t)))); day = day.AddDays(1) {
			for _, h := range hours {
				begins, ends := civil.At(day, h.From, shopZone(t)), civil.At(day, h.To, shopZone(t))
				open = open || h.Weekday == day.Weekday() && begins.Before(to) && ends.After(from)
			}
		}
		if !open {
			t.Errorf("%s is poured until %s, and no working hour follows in which it can be cut", b.Lot, b.Make.To)
		}
		if b.Cut.From.Before(from) || b.Cut.From.After(to) {
			t.Errorf("%s is poured until %s and cut at %s", b.Lot, b.Make.To, b.Cut.From)
		}
	}
}

// entry is an event of a feed as a calendar app shows it.
type entry struct {
	summary, status string
	from, to        string // by the wall clock of the event's own zone
	allDay          bool
	sequence        int
}

// wall is how times of the wall clock are compared.
const wall = "2006-01-02 15:04"

// subscribed reads a feed with a parser that did not write it: events by UID.
func subscribed(t testing.TB, address string) map[string]entry {
	t.Helper()
	cal, err := ics.NewDecoder(bytes.NewReader(feedBytes(t, address))).Decode()
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]entry{}
	for _, e := range cal.Events() {
		value := func(name string) string { return e.Props.Get(name).Value }
		sequence, err := strconv.Atoi(value(ics.PropSequence))
		if err != nil {
			t.Fatal(err)
		}
		from, errFrom := e.DateTimeStart(time.UTC)
		to, errTo := e.DateTimeEnd(time.UTC)
		if errFrom != nil || errTo != nil {
			t.Fatalf("%s: %v, %v", value(ics.PropSummary), errFrom, errTo)
		}
		if _, double := found[value(ics.PropUID)]; double {
			t.Errorf("two events have the UID %s", value(ics.PropUID))
		}
		allDay := e.Props.Get(ics.PropDateTimeStart).ValueType() == ics.ValueDate
		found[value(ics.PropUID)] = entry{value(ics.PropSummary), value(ics.PropStatus), from.Format(wall), to.Format(wall), allDay, sequence}
	}
	return found
}

// feedBytes fetches a feed as a calendar app does: without a token.
func feedBytes(t testing.TB, address string) []byte {
	t.Helper()
	r := fetch(t, address)
	if ct := r.header.Get("Content-Type"); r.status != http.StatusOK || ct != "text/calendar; charset=utf-8" {
		t.Fatalf("the feed answers %d %s: %s", r.status, ct, r.body)
	}
	return r.body
}

// checkTimes holds the feed's local times against the tasks of the plan.
func checkTimes(t testing.TB, feed map[string]entry, tasks []orders.Task) {
	t.Helper()
	if len(tasks) == 0 || len(feed) != len(tasks) {
		t.Errorf("the plan has %d tasks and the feed %d entries", len(tasks), len(feed))
	}
	for _, task := range tasks {
		e, there := feed[task.ID]
		if !there {
			t.Errorf("%s is not in the feed", task.Title)
			continue
		}
		from, to := task.From.In(shopZone(t)).Format(wall), task.To.In(shopZone(t)).Format(wall)
		if task.AllDay {
			from, to = task.Day.String()+" 00:00", task.LastDay.AddDays(1).String()+" 00:00"
		}
		if e.from != from || e.to != to || e.allDay != task.AllDay {
			t.Errorf("%s is from %s to %s, in the feed from %s to %s", task.Title, from, to, e.from, e.to)
		}
	}
}

// pourAndCut pours a batch and cuts it with 5 pieces spoiled. The clock is real
// and the plan lies ahead, so the work is done earlier than planned.
func pourAndCut(c caller, b orders.Batch) {
	c.t.Helper()
	ahead := c.change(http.MethodPost, "/batches/"+b.ID+"/pour", b.Version, map[string]any{"at": time.Now().Add(time.Hour)})
	if ahead.status != http.StatusUnprocessableEntity || !strings.Contains(string(ahead.body), "body.at") {
		c.t.Errorf("a pour in an hour is recorded: %s", ahead)
	}
	tell(c, b.ID, "pour", map[string]any{"at": time.Now().Add(-24 * time.Hour)})
	b = tell(c, b.ID, "cut", map[string]any{"spoiled": 5, "reason": "Corners broke"})
	if b.State != orders.BatchCuring || b.Sound != b.Pieces-5 || len(b.Losses) != 1 || b.Losses[0].Pieces != 5 {
		c.t.Errorf("cut with 5 spoiled: %+v", b)
	}
	takeBest(c)
}

// loseOneBatch pours another batch, loses it and takes the best way out.
func loseOneBatch(c caller) {
	c.t.Helper()
	b := listed[orders.Batch](c, "/batches?state=planned")[0]
	tell(c, b.ID, "pour", map[string]any{"at": time.Now().Add(-24 * time.Hour)})
	takeBest(c)
	if b = tell(c, b.ID, "fail", map[string]any{"reason": "It seized"}); b.State != orders.BatchFailed {
		c.t.Errorf("failed: %+v", b)
	}
	if !takeBest(c) {
		c.t.Fatal("no way out was proposed")
	}
	if left := got[orders.Page[orders.Proposal]](c, "/proposals").Items; len(left) > 0 {
		c.t.Errorf("%d proposals are open after one was taken", len(left))
	}
}

// tell reports a fact about a batch and returns the batch.
func tell(c caller, id, step string, fact map[string]any) orders.Batch {
	c.t.Helper()
	b := got[orders.Batch](c, "/batches/"+id)
	return answered[batchAnswer](c.t, c.change(http.MethodPost, "/batches/"+id+"/"+step, b.Version, fact), http.StatusOK).Batch
}

// takeBest takes the first proposal; false when none is open.
func takeBest(c caller) bool {
	c.t.Helper()
	open := got[orders.Page[orders.Proposal]](c, "/proposals").Items
	if len(open) == 0 {
		return false
	}
	change := answered[orders.PlanChange](c.t, c.send(http.MethodPost, "/proposals/"+open[0].ID+"/take", nil), http.StatusOK)
	if !change.Published {
		c.t.Errorf("%q was taken, but not published", open[0].Title)
	}
	return true
}

// checkFollowed checks that entries kept their UIDs, and raised their sequence
// with every change. It counts those that moved and those that were cancelled.
func checkFollowed(t testing.TB, before, after map[string]entry) (moved, cancelled int) {
	t.Helper()
	for uid, was := range before {
		now, there := after[uid]
		switch {
		case !there:
			t.Errorf("%s vanished from the feed", was.summary)
		case now.sequence < was.sequence || now.sequence == was.sequence && now != was:
			t.Errorf("%+v became %+v", was, now)
		case now.status == string(ics.EventCancelled) && now.status != was.status:
			cancelled++
		case now.from != was.from:
			moved++
		}
	}
	return moved, cancelled
}
