package schedule_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
	"ripeline/schedule/plancheck"
)

// asking makes an enquiry for pieces of the evening shop's design.
func asking(p *schedule.Problem, pieces, days int) schedule.Order {
	return schedule.Order{
		ID: "q", Name: "Harbour guesthouse", NeededBy: civil.Of(p.Now).AddDays(days), Weight: 1,
		Lines: []schedule.Line{{ID: "q1", DesignID: "oat", Pieces: pieces}},
	}
}

// promised asks, and checks every plan of the answer.
func promised(t *testing.T, p *schedule.Problem, enquiry schedule.Order) *schedule.Answer {
	t.Helper()
	a, err := schedule.Promise(context.Background(), p, enquiry)
	if err != nil {
		t.Fatal(err)
	}
	enquiry.Told = civil.Date{} // it is only asked for
	check := func(enquiry schedule.Order, extra []schedule.ExtraWindow, plan *schedule.Plan) {
		t.Helper()
		with := *p
		enquiry.Accepted = true
		with.Orders = append(append([]schedule.Order(nil), p.Orders...), enquiry)
		with.Extra = append(append([]schedule.ExtraWindow(nil), p.Extra...), extra...)
		for _, finding := range plancheck.Check(&with, plan) {
			t.Error(finding)
		}
	}
	if a.Verdict != schedule.YesIf { // else it is the plan of one of the alternatives
		check(enquiry, nil, a.Plan)
	}
	longer := len(a.Alternatives) > 0 && a.Verdict == schedule.YesIf && a.Alternatives[0].Kind == schedule.AltExtraWindow
	if !a.Ready.IsZero() && a.Ready.Before(a.Bound) && !longer { // the bound is that of the hours there are
		t.Errorf("ready on %s, before the bound %s", a.Ready, a.Bound)
	}
	for _, alt := range a.Alternatives {
		changed, extra := enquiry, []schedule.ExtraWindow(nil)
		changed.Lines = append([]schedule.Line(nil), enquiry.Lines...)
		switch alt.Kind {
		case schedule.AltLaterDate:
			changed.NeededBy = alt.NeededBy
		case schedule.AltFewer:
			changed.Lines[0].Pieces = alt.Pieces
		case schedule.AltExtraWindow:
			extra = append(extra, alt.Window)
		}
		check(changed, extra, alt.Plan)
		for _, o := range alt.Plan.Orders {
			if o.OrderID == enquiry.ID && o.Missed() {
				t.Errorf("alternative %s: the enquiry is still missed", alt.Kind)
			}
		}
	}
	return a
}

func TestPromiseYes(t *testing.T) {
	p := eveningShop()
	a := promised(t, p, asking(p, 60, 45))
	if a.Verdict != schedule.Yes {
		t.Fatalf("60 pieces in 45 days: %s, %v", a.Verdict, a.Reasons)
	}
	if a.Ready.After(a.Deadline) || len(a.Keys) == 0 || a.LastSafePour.IsZero() {
		t.Errorf("ready %s by %s, batches %v, last safe pour %s", a.Ready, a.Deadline, a.Keys, a.LastSafePour)
	}
	for _, b := range a.Plan.Batches {
		if b.Make.From.In(p.Zone).Weekday() == 6 {
			t.Errorf("batch %s is poured on a Saturday, after which nobody can cut it in time", b.Key)
		}
	}
	end := civil.Of(p.Now)
	for _, s := range a.Stages {
		if s.From != end {
			t.Errorf("stage %s begins on %s, but the one before it ends before %s", s.Kind, s.From, end)
		}
		end = s.To.AddDays(1)
	}
}

func TestPromiseNoBecauseOfTheCure(t *testing.T) {
	p := eveningShop()
	a := promised(t, p, asking(p, 60, 20))
	if a.Verdict != schedule.No || !a.Proved {
		t.Fatalf("60 pieces in 20 days: %s, proved %v", a.Verdict, a.Proved)
	}
	if !a.Bound.After(a.Deadline) || a.Earliest.Before(a.Bound) {
		t.Errorf("bound %s, earliest %s, deadline %s", a.Bound, a.Earliest, a.Deadline)
	}
	cure := false
	for _, r := range a.Reasons {
		cure = cure || r.Kind == schedule.HoldCure
	}
	if !cure {
		t.Errorf("the cure is not among the reasons %v", a.Reasons)
	}
	again := promised(t, p, asking(p, 60, a.Earliest.Sub(civil.Of(p.Now))))
	if again.Verdict == schedule.No {
		t.Errorf("the earliest date %s is refused: %v", a.Earliest, again.Reasons)
	}
}

// TestPromiseIfOneEveningMore: on weekend mornings alone nothing can be cut before
// Sunday 8 March; poured on the Thursday evening before, it is cut on the Saturday.
func TestPromiseIfOneEveningMore(t *testing.T) {
	p := eveningShop()
	p.Hours = []schedule.Window{
		{Weekday: time.Saturday, From: 9 * 60, To: 13 * 60},
		{Weekday: time.Sunday, From: 9 * 60, To: 13 * 60},
	}
	p.Designs[0].CureTarget = 28
	a := promised(t, p, asking(p, 20, 33))
	if a.Verdict != schedule.YesIf || a.Proved || len(a.Reasons) == 0 || a.Alternatives[0].Kind != schedule.AltExtraWindow {
		t.Fatalf("ripe a day too late in the hours there are: %s, proved %v, %v", a.Verdict, a.Proved, a.Alternatives)
	}
	if on := a.Alternatives[0].Window.Date; on != (civil.Date{Year: 2026, Month: 3, Day: 5}) || a.Ready.After(a.Deadline) {
		t.Errorf("an evening on %s, ready on %s", on, a.Ready)
	}
}

// unripe is the evening shop with one mold and a batch that is published to be
// wrapped long before its wished-for cure.
func unripe(poured, cut, wrapped time.Time) *schedule.Problem {
	p := eveningShop()
	p.Molds[0].Count, p.Designs[0].CureTarget = 1, 60
	hour := func(at time.Time) schedule.Interval { return schedule.Interval{From: at, To: at.Add(time.Hour)} }
	p.Batches = []schedule.Batch{{
		ID: "b", DesignID: "oat", State: schedule.Planned, Molds: []schedule.MoldUse{{MoldID: "loaf", Units: 1, Pieces: 24}},
		Pieces: 24, Sound: 23, Make: hour(poured), Cut: hour(cut), Wrap: hour(wrapped),
	}}
	return p
}

// TestPromiseOfWhatIsPublished: what a published batch can give is not refused for
// good, be it that more of it spoils by now than it was planned with, or that a
// person fixed it outside the hours.
func TestPromiseOfWhatIsPublished(t *testing.T) {
	at := func(month time.Month, day int) time.Time {
		return time.Date(2026, month, day, 18, 0, 0, 0, eveningShop().Zone)
	}
	spoilt := unripe(at(3, 3), at(3, 5), at(4, 2))
	spoilt.Designs[0].Spoil = 0.5
	pinned := unripe(at(3, 2), at(3, 3), at(3, 31))
	pinned.Batches[0].Pinned = true
	for name, p := range map[string]*schedule.Problem{"spoilt": spoilt, "pinned": pinned} {
		wrapped := civil.Of(p.Batches[0].Wrap.From.In(p.Zone))
		p.Orders = []schedule.Order{{ID: "o", Accepted: true, Weight: 1, NeededBy: wrapped.AddDays(60), Lines: []schedule.Line{{ID: "o1", DesignID: "oat", Pieces: 3}}}}
		p.Batches[0].For = []schedule.Share{{LineID: "o1", Pieces: 3}}
		enquiry := asking(p, 20, wrapped.Sub(civil.Of(p.Now)))
		a, err := schedule.Promise(context.Background(), p, enquiry)
		if err != nil {
			t.Fatal(err)
		}
		if a.Verdict != schedule.YesIf || a.Alternatives[0].Kind != schedule.AltMinimumCure {
			t.Errorf("%s: %s, proved %v, bound %s, %v", name, a.Verdict, a.Proved, a.Bound, a.Reasons)
		}
	}
}

// TestReasonsSayOfWhichBatchTheyAre: a chain of reasons names the batch it follows
// and the step each is of, and says nothing twice.
func TestReasonsSayOfWhichBatchTheyAre(t *testing.T) {
	at := func(month time.Month, day int) time.Time {
		return time.Date(2026, month, day, 18, 0, 0, 0, eveningShop().Zone)
	}
	p := unripe(at(3, 3), at(3, 5), at(4, 16))
	p.Batches[0].Lot = "OAT-260303-1"
	p.Batches[0].For = []schedule.Share{{LineID: "o1", Pieces: 3}}
	p.Orders = []schedule.Order{{ID: "o", Accepted: true, Weight: 1, NeededBy: civil.Of(at(5, 1)), Lines: []schedule.Line{{ID: "o1", DesignID: "oat", Pieces: 3}}}}
	p.Designs[0].Supplies = []schedule.Supply{{Pieces: 24}, {From: civil.Of(at(5, 1)), Endless: true}}
	a := promised(t, p, asking(p, 3, 40))
	if a.Verdict == schedule.Yes {
		t.Fatalf("3 pieces before their batch is wrapped: %s", a.Verdict)
	}
	seen, told := map[string]bool{}, ""
	for _, r := range a.Reasons {
		if seen[r.Text] {
			t.Errorf("%q is said twice", r.Text)
		}
		seen[r.Text], told = true, told+r.Text+"\n"
	}
	for _, want := range []string{"batch OAT-260303-1", "Pour, cut and wrap: It keeps the time your plan gave it."} {
		if !strings.Contains(told, want) {
			t.Errorf("no %q in:\n%s", want, told)
		}
	}
	move := a.Alternatives[0]
	want := "already planned (batch OAT-260303-1): ready on Sat 11 Apr 2026, and no accepted order becomes late, but the order for Fri 1 May 2026 is wrapped 23 days before its wished-for cure."
	if move.Kind != schedule.AltMoveBatch || !strings.HasSuffix(move.Text, want) {
		t.Errorf("%s: %q does not end with %q", move.Kind, move.Text, want)
	}
}

// TestWhatIsOwedLaterIsNotThere: pieces that cure already, and that another order
// needs before any more could be ready, make no date possible.
func TestWhatIsOwedLaterIsNotThere(t *testing.T) {
	p := eveningShop()
	at := time.Date(2026, 2, 5, 18, 0, 0, 0, p.Zone)
	hour := func(at time.Time) schedule.Interval { return schedule.Interval{From: at, To: at.Add(time.Hour)} }
	wrap := at.AddDate(0, 0, 42)
	p.Batches = []schedule.Batch{{
		ID: "b", DesignID: "oat", State: schedule.Curing, Molds: []schedule.MoldUse{{MoldID: "loaf", Units: 1, Pieces: 24}},
		Pieces: 24, Sound: 24, Make: hour(at.AddDate(0, 0, -1)), Cut: hour(at), Wrap: hour(wrap), For: []schedule.Share{{LineID: "o1", Pieces: 22}},
	}}
	p.Orders = []schedule.Order{{ID: "o", Accepted: true, Weight: 1, NeededBy: civil.Of(wrap), Lines: []schedule.Line{{ID: "o1", DesignID: "oat", Pieces: 22}}}}
	a := promised(t, p, asking(p, 10, 20))
	if a.Verdict != schedule.No || !a.Proved {
		t.Fatalf("10 pieces of which 2 are free: %s, proved %v, bound %s, %v", a.Verdict, a.Proved, a.Bound, a.Reasons)
	}
	for i, want := range []string{"gives at most 24 pieces.", "need 22 pieces before Thu 2 Apr 2026."} {
		if !strings.HasSuffix(a.Reasons[i].Text, want) {
			t.Errorf("%q does not end with %q", a.Reasons[i].Text, want)
		}
	}
	if two := promised(t, p, asking(p, 2, 20)); two.Verdict == schedule.No {
		t.Errorf("2 pieces that are free: %s, %v", two.Verdict, two.Reasons)
	}
}

func TestPromiseIfCuredLess(t *testing.T) {
	p := eveningShop()
	a := promised(t, p, asking(p, 60, 33))
	if a.Verdict != schedule.YesIf || len(a.Alternatives) < 2 || a.Alternatives[0].Kind != schedule.AltMinimumCure {
		t.Errorf("60 pieces in 33 days: %s, %v", a.Verdict, a.Alternatives)
	}
}

// TestPromiseHarmsNobody fills a workshop, and asks again and again: whatever is
// answered, no accepted order becomes late.
func TestPromiseHarmsNobody(t *testing.T) {
	for seed := range uint64(40) {
		d := newDice(seed)
		p := d.workshop()
		for i := range p.Orders {
			p.Orders[i].Accepted = true
		}
		p = publish(p, solved(t, "published", p))
		before := solved(t, "before", p)
		a := promised(t, p, d.order(p, "q"))
		if a.Verdict == schedule.No {
			continue
		}
		for _, o := range before.Orders {
			for _, after := range a.Plan.Orders {
				if after.OrderID == o.OrderID && after.LateDays > o.LateDays {
					t.Errorf("workshop %d: order %s becomes late", seed, o.OrderID)
				}
			}
		}
	}
}

// TestEveryNoHasADate loses batches without choosing a way out, so that accepted
// orders lack pieces or are late, and asks: a no names the first date found, which
// is answered otherwise when asked for, and no accepted order is put back by it.
func TestEveryNoHasADate(t *testing.T) {
	refused, troubled := 0, 0
	for seed := range uint64(60) {
		d := newDice(seed)
		p := d.workshop()
		p = d.advance(publish(p, solved(t, "published", p)))
		if len(p.Batches) > 0 {
			lost := d.IntN(len(p.Batches))
			p.Batches = slices.Delete(p.Batches, lost, lost+1)
		}
		before := solved(t, "before", p)
		if before.Objective.Late > 0 {
			troubled++
		}
		enquiry := d.order(p, "q")
		a := promised(t, p, enquiry)
		putBack(t, seed, before, a.Plan, p)
		if a.Verdict != schedule.No {
			continue
		}
		refused++
		if a.Earliest.IsZero() {
			if !slices.ContainsFunc(a.Reasons, func(r schedule.Reason) bool {
				return strings.Contains(r.Text, "lacks pieces") || strings.Contains(r.Text, "not enough supplies")
			}) {
				t.Errorf("workshop %d: a no without a date: %v", seed, a.Reasons)
			}
			continue
		}
		enquiry.NeededBy = a.Earliest
		again := promised(t, p, enquiry)
		putBack(t, seed, before, again.Plan, p)
		if again.Verdict == schedule.No {
			t.Errorf("workshop %d: the earliest date %s is refused: %v", seed, a.Earliest, again.Reasons)
		}
	}
	if refused < 10 || troubled < 10 {
		t.Errorf("%d refusals and %d workshops with late orders are too few to tell", refused, troubled)
	}
}

// putBack reports accepted orders that are missed worse than without the enquiry.
func putBack(t *testing.T, seed uint64, before, after *schedule.Plan, p *schedule.Problem) {
	t.Helper()
	now := map[string]schedule.OrderOutcome{}
	for _, o := range after.Orders {
		now[o.OrderID] = o
	}
	for _, o := range before.Orders {
		if got := now[o.OrderID]; o.Short == 0 && (got.LateDays > o.LateDays || got.Short > 0) {
			t.Errorf("workshop %d (%d orders): order %s was %d days late, and is now %d, %d short", seed, len(p.Orders), o.OrderID, o.LateDays, got.LateDays, got.Short)
		}
	}
}

// TestEveryNoHasADateBesideALoss asks a workshop whose one mold a lost batch is
// to be poured in again, too late for its order.
func TestEveryNoHasADateBesideALoss(t *testing.T) {
	p := eveningShop()
	p.Molds[0].Count = 1
	today := civil.Of(p.Now)
	for i, days := range []int{20, 60, 70} {
		id := []string{"lost", "second", "third"}[i]
		p.Orders = append(p.Orders, schedule.Order{
			ID: id, Name: id, Accepted: true, Told: today.AddDays(days), NeededBy: today.AddDays(days), Weight: 2,
			Lines: []schedule.Line{{ID: id + "-l", DesignID: "oat", Pieces: 23}},
		})
	}
	before := solved(t, "before", p)
	if before.Objective.Late == 0 {
		t.Fatal("no order is late")
	}
	for _, pieces := range []int{10, 60, 200} {
		for _, days := range []int{5, 30, 40} {
			a := promised(t, p, asking(p, pieces, days))
			putBack(t, 0, before, a.Plan, p)
			if a.Verdict != schedule.No {
				continue
			}
			if a.Earliest.IsZero() || len(a.Alternatives) == 0 {
				t.Errorf("%d pieces in %d days: no, and no date to offer: %v", pieces, days, a.Reasons)
				continue
			}
			again := promised(t, p, asking(p, pieces, a.Earliest.Sub(today)))
			putBack(t, 0, before, again.Plan, p)
			if again.Verdict == schedule.No {
				t.Errorf("%d pieces: the earliest date %s is refused", pieces, a.Earliest)
			}
		}
	}
}
