package schedule_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TestValidate spoils one field at a time.
func TestValidate(t *testing.T) {
	order := func(p *schedule.Problem) *schedule.Order {
		o := asking(p, 10, 60)
		p.Orders = append(p.Orders, o)
		return &p.Orders[0]
	}
	for _, test := range []struct {
		field, want string
		spoil       func(*schedule.Problem)
	}{
		{"hands", "use 1", func(p *schedule.Problem) { p.Hands = 0 }},
		{"zone", "name the workshop's", func(p *schedule.Problem) { p.Zone = nil }},
		{"rack", "negative", func(p *schedule.Problem) { p.Rack = -1 }},
		{"firm", "days", func(p *schedule.Problem) { p.Firm = -1 }},
		{"hours[0]", "begin before they end", func(p *schedule.Problem) { p.Hours[0].To = p.Hours[0].From }},
		{"hours[1]", "not a step", func(p *schedule.Problem) { p.Hours[1].Steps = []schedule.Step{"stir"} }},
		{"closed[0]", "before the first", func(p *schedule.Problem) { p.Closed = []civil.Range{{From: civil.Of(p.Now)}} }},
		{"molds[loaf].count", "use 0", func(p *schedule.Problem) { p.Molds[0].Count = -1 }},
		{"molds[loaf]", "own id", func(p *schedule.Problem) { p.Molds = append(p.Molds, p.Molds[0]) }},
		{"designs[oat].fits[loaf]", "smallest to its full", func(p *schedule.Problem) { p.Designs[0].Fits[0].Min = 30 }},
		{"designs[oat].fits[slab]", "no such mold", func(p *schedule.Problem) {
			p.Designs[0].Fits = append(p.Designs[0].Fits, schedule.Fit{MoldID: "slab", Full: 4, Min: 4})
		}},
		{"designs[oat].cure_target", "minimum of 28", func(p *schedule.Problem) { p.Designs[0].CureTarget = 20 }},
		{"designs[oat].footprint", "use 0 to", func(p *schedule.Problem) { p.Designs[0].Footprint = -1 }},
		{"designs[oat].footprint", "use 0 to", func(p *schedule.Problem) { p.Designs[0].Footprint = 1 << 60 }},
		{"designs[oat].spoil", "0 to 0.5", func(p *schedule.Problem) { p.Designs[0].Spoil = 0.6 }},
		{"designs[oat].cut_window", "open before it closes", func(p *schedule.Problem) { p.Designs[0].CutWindow.Min = 60 }},
		{"designs[oat].make_minutes", "the longest hours for it have 240", func(p *schedule.Problem) { p.Designs[0].MakeFixed = 300 }},
		{"orders[q].lines[q1].pieces", "0 pieces", func(p *schedule.Problem) { order(p).Lines[0].Pieces = 0 }},
		{"orders[q].lines[q1].pieces", "1000000 pieces", func(p *schedule.Problem) { order(p).Lines[0].Pieces = 1000000 }},
		{"orders[q].lines[q1].design_id", "no design", func(p *schedule.Problem) { order(p).Lines[0].DesignID = "none" }},
		{"orders[q].lines", "at least one", func(p *schedule.Problem) { order(p).Lines = nil }},
		{"orders[q].weight", "use 1", func(p *schedule.Problem) { order(p).Weight = 0 }},
		{"orders[q].needed_by", "by which day", func(p *schedule.Problem) { order(p).NeededBy = civil.Date{} }},
		{"batches[b].state", "not a state", func(p *schedule.Problem) {
			p.Batches = []schedule.Batch{{ID: "b", DesignID: "oat", State: "lost"}}
		}},
		{"batches[b].make", "times of its pour", func(p *schedule.Problem) {
			p.Batches = []schedule.Batch{{ID: "b", DesignID: "oat", State: schedule.Poured}}
		}},
		{"batches[b].sound", "pieces sound", func(p *schedule.Problem) {
			p.Batches = []schedule.Batch{{ID: "b", DesignID: "oat", State: schedule.Planned, Pieces: 5, Sound: 6}}
		}},
		{"designs[oat].fits[loaf]", "listed twice", func(p *schedule.Problem) {
			p.Designs[0].Fits = append(p.Designs[0].Fits, p.Designs[0].Fits[0])
		}},
		{"batches[b].molds[loaf]", "listed twice", func(p *schedule.Problem) {
			b := running(p, schedule.Poured)
			b.Molds = append(b.Molds, b.Molds[0])
		}},
		{"batches[b].molds[loaf].units", "-5 molds", func(p *schedule.Problem) { running(p, schedule.Poured).Molds[0].Units = -5 }},
		{"batches[b].molds[loaf].pieces", "use 0", func(p *schedule.Problem) { running(p, schedule.Poured).Molds[0].Pieces = -1 }},
		{"batches[b].molds[slab]", "count of 0 if it is gone", func(p *schedule.Problem) { running(p, schedule.Poured).Molds[0].MoldID = "slab" }},
		{"batches[b].make", "poured after now", func(p *schedule.Problem) {
			b := running(p, schedule.Poured)
			b.Make = schedule.Interval{From: p.Now.AddDate(0, 0, 3), To: p.Now.AddDate(0, 0, 4)}
		}},
		{"batches[b].cut", "cut after now", func(p *schedule.Problem) {
			b := running(p, schedule.Curing)
			b.Cut = schedule.Interval{From: p.Now.AddDate(5, 0, 0), To: p.Now.AddDate(5, 0, 0).Add(time.Hour)}
		}},
	} {
		p := eveningShop()
		test.spoil(p)
		err := p.Validate()
		var field *schedule.FieldError
		if !errors.As(err, &field) || field.Field != test.field || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: error %v does not say %q", test.field, err, test.want)
		}
	}
}

// running puts a batch that was poured or cut today into a workshop.
func running(p *schedule.Problem, state schedule.BatchState) *schedule.Batch {
	p.Batches = []schedule.Batch{{
		ID: "b", DesignID: "oat", State: state, Pieces: 24, Sound: 23,
		Molds: []schedule.MoldUse{{MoldID: "loaf", Units: 1, Pieces: 24}},
		Make:  schedule.Interval{From: p.Now.Add(-3 * time.Hour), To: p.Now.Add(-2 * time.Hour)},
		Cut:   schedule.Interval{From: p.Now.Add(-time.Hour), To: p.Now.Add(-30 * time.Minute)},
	}}
	return &p.Batches[0]
}

// TestFactsThatStand: a batch may stand in a mold that is gone, and have been
// written down by a clock that runs ahead.
func TestFactsThatStand(t *testing.T) {
	for name, change := range map[string]func(*schedule.Problem){
		"a mold that is gone": func(p *schedule.Problem) { p.Molds[0].Count = 0 },
		"a clock ahead":       func(p *schedule.Problem) { p.Now = p.Now.Add(-4 * time.Hour) },
	} {
		p := eveningShop()
		running(p, schedule.Poured)
		change(p)
		plan := solved(t, name, p)
		if len(plan.Batches) != 1 || plan.Batches[0].Key != "b" {
			t.Errorf("%s: %+v, problems %v", name, plan.Batches, plan.Problems)
		}
	}
}

// TestCutWindowNeverMet: the message names the days, so that a person can see
// what to change. Solving such a problem is no error, and says why in the plan.
func TestCutWindowNeverMet(t *testing.T) {
	p := eveningShop()
	p.Designs[0].CutWindow = schedule.CutWindow{Min: 5, Max: 8}
	err := p.Validate()
	for _, want := range []string{"designs[oat].cut_window", "Tue, Thu, Sat", "5–8 h"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v does not say %q", err, want)
		}
	}
	o := asking(p, 20, 60)
	o.Accepted = true
	p.Orders = append(p.Orders, o)
	plan := solved(t, "a cut window that is never met", p)
	if plan.Orders[0].Short != 20 || len(plan.Problems) == 0 {
		t.Errorf("short %d, problems %v", plan.Orders[0].Short, plan.Problems)
	}
	a, err := schedule.Promise(context.Background(), eveningShop(), asking(p, 20, 60))
	if err != nil || a.Verdict != schedule.Yes {
		t.Errorf("with the usual window: %v, %v", a, err)
	}
}

// TestNothingToDo plans empty books and books without capacities.
func TestNothingToDo(t *testing.T) {
	for name, empty := range map[string]func(*schedule.Problem){
		"no orders":  func(*schedule.Problem) {},
		"no hours":   func(p *schedule.Problem) { p.Hours = nil },
		"no molds":   func(p *schedule.Problem) { p.Molds = nil },
		"no designs": func(p *schedule.Problem) { p.Designs = nil },
		"no rack":    func(p *schedule.Problem) { p.Rack = 0 },
	} {
		p := eveningShop()
		empty(p)
		if name != "no orders" && name != "no designs" {
			o := asking(p, 20, 60)
			o.Accepted = true
			p.Orders = append(p.Orders, o)
		}
		plan := solved(t, name, p)
		if len(p.Orders) > 0 && (plan.Orders[0].Short != 20 || len(plan.Problems) == 0 || plan.Objective.Late != 1) {
			t.Errorf("%s: %+v, problems %v", name, plan.Orders[0], plan.Problems)
		}
		if name == "no designs" {
			continue
		}
		if a := promised(t, p, schedule.Order{ID: "p", NeededBy: civil.Of(p.Now).AddDays(90), Lines: []schedule.Line{{ID: "p1", DesignID: "oat", Pieces: 5}}, Weight: 1}); (a.Verdict == schedule.Yes) != (name == "no orders") {
			t.Errorf("%s: the promise is %s", name, a.Verdict)
		}
		reshuffled(t, p)
	}
}

func TestObjectiveWords(t *testing.T) {
	o := schedule.Objective{Late: 2, Tardiness: 1, Changes: 4, NoRemake: 1, CureShort: 3, Batches: 1, Surplus: 5}
	words := strings.Join(o.Words(), "\n")
	for _, want := range []string{"weigh 2", "1 day", "weighed at 4", "1 order could not", "3 days short", "1 batch to pour", "5 pieces beyond"} {
		if !strings.Contains(words, want) {
			t.Errorf("%q does not say %q", words, want)
		}
	}
	if (schedule.Objective{NoRemake: 1}).Compare(schedule.Objective{CureShort: 100}) <= 0 {
		t.Error("a remake margin lost counts more than any cure cut short")
	}
}
