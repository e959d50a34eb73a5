package plancheck_test

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

// shop is a small workshop with one batch curing, one in its mold, and orders
// that need two more.
func shop(t *testing.T) (*schedule.Problem, *schedule.Plan) {
	t.Helper()
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 5, day, hour, minute, 0, 0, time.UTC) }
	p := &schedule.Problem{
		Now: at(4, 8, 0), Zone: time.UTC, Hands: 1, Firm: 3, Rack: 100 * 4000,
		Molds: []schedule.Mold{{ID: "loaf", Count: 1, Clean: 30}},
		Designs: []schedule.Design{{
			ID: "mint", Name: "Mint", Footprint: 4000, Fits: []schedule.Fit{{MoldID: "loaf", Full: 20, Min: 10, Step: 1}},
			MakeFixed: 60, CutFixed: 20, WrapFixed: 10, WrapPer: 60,
			CutWindow: schedule.CutWindow{Min: 18, Max: 48}, CureMin: 28, CureTarget: 35,
			NeedsTrial: true, TrialMinutes: 30, Spoil: 0.05,
			Supplies: []schedule.Supply{{From: civil.Date{Year: 2026, Month: 5, Day: 5}, Pieces: 20}, {From: civil.Date{Year: 2026, Month: 5, Day: 7}, Endless: true}},
		}},
		Orders: []schedule.Order{{
			ID: "fair", Name: "Fair", Accepted: true, NeededBy: civil.Date{Year: 2026, Month: 7, Day: 20}, Weight: 2,
			Told:  civil.Date{Year: 2026, Month: 6, Day: 20},
			Lines: []schedule.Line{{ID: "fair-1", DesignID: "mint", Pieces: 60}},
		}},
		Batches: []schedule.Batch{{
			ID: "old", DesignID: "mint", State: schedule.Curing, Molds: []schedule.MoldUse{{MoldID: "loaf", Units: 1, Pieces: 20}},
			Pieces: 20, Sound: 18,
			Make: schedule.Interval{From: at(1, 9, 0), To: at(1, 10, 0)},
			Cut:  schedule.Interval{From: at(2, 9, 0), To: at(2, 9, 20)},
			Wrap: schedule.Interval{From: time.Date(2026, 6, 8, 9, 0, 0, 0, time.UTC), To: time.Date(2026, 6, 8, 9, 28, 0, 0, time.UTC)},
		}},
		Stock: []schedule.Stock{{ID: "shelf", DesignID: "mint", Pieces: 5}},
	}
	for day := range 7 {
		p.Hours = append(p.Hours, schedule.Window{Weekday: time.Weekday(day), From: 9 * 60, To: 12 * 60})
	}
	plan, err := schedule.Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	return p, plan
}

// TestCheck breaks a sound plan in one way at a time.
func TestCheck(t *testing.T) {
	p, plan := shop(t)
	if found := plancheck.Check(p, plan); len(found) > 0 {
		t.Fatalf("a sound plan is rejected: %v", found)
	}
	shift := func(i *schedule.Interval, d time.Duration) { i.From, i.To = i.From.Add(d), i.To.Add(d) }
	first := func(plan *schedule.Plan) *schedule.PlanBatch { return &plan.Batches[1] }
	for _, test := range []struct {
		name, want string
		spoil      func(*schedule.Problem, *schedule.Plan)
	}{
		{"no such batch in the book", "new is false", func(_ *schedule.Problem, pl *schedule.Plan) { first(pl).New = false }},
		{"a running batch is left out", "not in the plan", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Batches = pl.Batches[1:] }},
		{"twice", "in the plan twice", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Batches = append(pl.Batches, pl.Batches[2]) }},
		{"dropped and planned", "dropped and yet planned", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Dropped = []string{"old"} }},
		{"a fact moves", "its cut moved", func(_ *schedule.Problem, pl *schedule.Plan) { shift(&pl.Batches[0].Cut, time.Minute) }},
		{"pieces appear", "pieces or molds changed", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Batches[0].Sound++ }},
		{"overfull mold", "can not hold", func(_ *schedule.Problem, pl *schedule.Plan) { first(pl).Molds[0].Pieces = 21 }},
		{"spoil forgotten", "expected", func(_ *schedule.Problem, pl *schedule.Plan) { first(pl).Sound = first(pl).Pieces }},
		{"blocked", "may not be scheduled", func(p *schedule.Problem, _ *schedule.Plan) { p.Designs[0].Blocked = "why" }},
		{"supplies", "before its supplies", func(p *schedule.Problem, _ *schedule.Plan) {
			p.Designs[0].Supplies = []schedule.Supply{{From: civil.Date{Year: 2026, Month: 6, Day: 1}, Endless: true}}
		}},
		{"supplies for fewer", "39 pieces of mint are poured by 2026-05-07 of what does for 38", func(p *schedule.Problem, _ *schedule.Plan) {
			p.Designs[0].Supplies = []schedule.Supply{{Pieces: 20}, {From: civil.Date{Year: 2026, Month: 5, Day: 7}, Pieces: 38}}
		}},
		{"hours", "outside working hours", func(p *schedule.Problem, _ *schedule.Plan) { p.Hours = p.Hours[:3] }},
		{"busy", "outside working hours", func(p *schedule.Problem, pl *schedule.Plan) {
			p.Busy = []schedule.Interval{{From: first(pl).Cut.From.Add(5 * time.Minute), To: first(pl).Cut.To}}
		}},
		{"closed", "outside working hours", func(p *schedule.Problem, pl *schedule.Plan) {
			day := civil.Of(first(pl).Wrap.From)
			p.Closed = []civil.Range{{From: day, To: day}}
		}},
		{"hours of another step", "outside working hours", func(p *schedule.Problem, _ *schedule.Plan) {
			for i := range p.Hours {
				p.Hours[i].Steps = []schedule.Step{schedule.StepMake, schedule.StepCut}
			}
		}},
		{"the past", "before now", func(p *schedule.Problem, _ *schedule.Plan) { p.Now = p.Now.AddDate(0, 0, 10) }},
		{"duration", "its cut takes", func(_ *schedule.Problem, pl *schedule.Plan) { first(pl).Cut.To = first(pl).Cut.To.Add(time.Minute) }},
		{"wrap too short", "its wrap takes", func(_ *schedule.Problem, pl *schedule.Plan) {
			b := first(pl)
			b.Wrap.To = b.Wrap.To.Add(-time.Minute)
			b.WrapParts = []schedule.Interval{b.Wrap}
		}},
		{"parts lack room", "has room for", func(_ *schedule.Problem, pl *schedule.Plan) {
			b := first(pl)
			b.WrapParts = []schedule.Interval{{From: b.Wrap.From, To: b.Wrap.From.Add(12 * time.Minute)}, {From: b.Wrap.To.Add(-2 * time.Minute), To: b.Wrap.To}}
		}},
		{"cut window", "outside its window", func(p *schedule.Problem, _ *schedule.Plan) {
			p.Designs[0].CutWindow = schedule.CutWindow{Min: 1, Max: 2}
		}},
		{"cure", "before its cure is over", func(p *schedule.Problem, _ *schedule.Plan) { p.Designs[0].CureMin, p.Designs[0].CureTarget = 60, 60 }},
		{"learnt cure", "before its cure is over", func(p *schedule.Problem, _ *schedule.Plan) {
			p.Batches[0].CureUntil = civil.Date{Year: 2026, Month: 8, Day: 1}
		}},
		{"trial too late", "before its trial is judged", func(_ *schedule.Problem, pl *schedule.Plan) { shift(&first(pl).Trial, 24*time.Hour) }},
		{"no trial", "0 trials", func(_ *schedule.Problem, pl *schedule.Plan) { first(pl).Trial = schedule.Interval{} }},
		{"two at once", "more work than hands", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Batches[2].Make = first(pl).Make }},
		{"mold used twice", "more molds loaf", func(p *schedule.Problem, _ *schedule.Plan) { p.Molds[0].Clean = 3 * 24 * 60 }},
		{"mold out", "more molds loaf", func(p *schedule.Problem, pl *schedule.Plan) {
			day := civil.Of(first(pl).Cut.From)
			p.Molds[0].Out = []schedule.MoldOut{{Days: civil.Range{From: day, To: day}, Units: 1}}
		}},
		{"rack", "rack is overfull", func(p *schedule.Problem, _ *schedule.Plan) { p.Rack = 20 * 4000 }},
		{"given twice", "more than it has", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Allocations[0].Pieces += 10 }},
		{"kept back", "lacks pieces though", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Allocations = pl.Allocations[1:] }},
		{"to nobody", "makes no sense", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Allocations[0].LineID = "nobody" }},
		{"ready", "outcome", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Orders[0].Ready = pl.Orders[0].Ready.AddDays(-1) }},
		{"no outcome", "has no outcome", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Orders = nil }},
		{"margin", "remake margin", func(_ *schedule.Problem, pl *schedule.Plan) {
			pl.Orders[0].RemakeBy = time.Date(2026, 8, 1, 0, 0, 0, 0, time.UTC)
		}},
		{"margin before its pour", "remake margin", func(p *schedule.Problem, pl *schedule.Plan) {
			pl.Allocations = slices.DeleteFunc(pl.Allocations, func(a schedule.Allocation) bool { return a.BatchKey == "old" })
			pl.Orders[0].RemakeBy = p.Now.Add(time.Minute)
		}},
		{"margin on the last day", "remake margin", func(p *schedule.Problem, pl *schedule.Plan) {
			pl.Orders[0].RemakeBy = civil.StartOfDay(pl.Orders[0].Deadline, p.Zone)
		}},
		{"bound above", "above the objective", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Bound.Tardiness = pl.Objective.Tardiness + 1 }},
		{"bound of late orders above", "above the objective", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Bound.Late = pl.Objective.Late + 1 }},
		{"proved below", "proved is true", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Bound, pl.Proved = schedule.Objective{Late: -1}, true }},
		{"not proved", "proved is false", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Bound, pl.Proved = pl.Objective, false }},
		{"objective", "objective", func(_ *schedule.Problem, pl *schedule.Plan) { pl.Objective.Surplus++ }},
		{"moved without need", "moved though", func(p *schedule.Problem, pl *schedule.Plan) {
			p.Batches[0].Pinned = true
			p.Batches[0].Wrap.From, p.Batches[0].Wrap.To = pl.Batches[0].Wrap.From.AddDate(0, 0, 20), pl.Batches[0].Wrap.To.AddDate(0, 0, 20)
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			p, plan := shop(t)
			test.spoil(p, plan)
			found := plancheck.Check(p, plan)
			if !slices.ContainsFunc(found, func(s string) bool { return strings.Contains(s, test.want) }) {
				t.Errorf("%q is not among the findings %q", test.want, found)
			}
		})
	}
}
