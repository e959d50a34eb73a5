package schedule_test

import (
	"context"
	"testing"

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
	if !a.Ready.IsZero() && a.Ready.Before(a.Bound) {
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
