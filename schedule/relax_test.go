package schedule_test

import (
	"context"
	"fmt"
	"reflect"
	"runtime"
	"slices"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// relaxed is a workshop with more of something.
func relaxed(p *schedule.Problem, more string) *schedule.Problem {
	next := *p
	switch more {
	case "hands":
		next.Hands++
	case "rack":
		next.Rack += calc.Area(100 * 4000)
	case "molds":
		next.Molds = slices.Clone(p.Molds)
		for i := range next.Molds {
			next.Molds[i].Count++
		}
	case "hours":
		next.Hours = slices.Clone(p.Hours)
		for day := range 7 {
			next.Hours = append(next.Hours, schedule.Window{Weekday: time.Weekday(day), From: 6 * 60, To: 8 * 60})
		}
	case "days":
		next.Closed, next.Busy = nil, nil
	case "supplies", "sooner":
		next.Designs = slices.Clone(p.Designs)
		for i := range next.Designs {
			next.Designs[i].Supplies = slices.Clone(p.Designs[i].Supplies)
			for k := range next.Designs[i].Supplies {
				switch s := &next.Designs[i].Supplies[k]; {
				case more == "supplies" && !s.Endless:
					s.Pieces += 20
				case more == "sooner" && !s.From.IsZero():
					s.From = s.From.AddDays(-4)
				}
			}
		}
	}
	return &next
}

// TestMoreNeverHurts gives workshops more hands, rack, molds, hours, days or
// supplies, or these sooner. What
// could be done before still can: so no bound is above what was reached before, and
// a plan that is proved the best is no worse.
func TestMoreNeverHurts(t *testing.T) {
	proved, better, worse := 0, 0, 0
	for seed := range uint64(40) {
		d := newDice(7000 + seed)
		p := d.workshop()
		for i := range p.Orders {
			p.Orders[i].NeededBy = civil.Of(p.Now).AddDays(d.between(15, 60))
		}
		if seed%2 == 1 {
			p = d.advance(publish(p, solved(t, "published", p)))
		}
		before := solved(t, fmt.Sprintf("workshop %d", seed), p)
		was := before.Objective
		for _, more := range []string{"hands", "rack", "molds", "hours", "days", "supplies", "sooner"} {
			after, err := schedule.Solve(context.Background(), relaxed(p, more))
			if err != nil {
				t.Fatal(err)
			}
			now, bound := after.Objective, after.Bound
			if bound.Late > was.Late || bound.Late == was.Late && bound.Tardiness > was.Tardiness {
				t.Errorf("workshop %d, more %s: the bound is %d, %d, and a plan without it has %d, %d", seed, more, bound.Late, bound.Tardiness, was.Late, was.Tardiness)
			}
			by := slices.Compare([]int{now.Late, now.Tardiness}, []int{was.Late, was.Tardiness})
			switch {
			case after.Proved && by > 0:
				t.Errorf("workshop %d, more %s: proved at %d, %d, and a plan without it has %d, %d", seed, more, now.Late, now.Tardiness, was.Late, was.Tardiness)
			case after.Proved:
				proved++
			case by > 0:
				worse++
			}
			if by < 0 {
				better++
			}
		}
	}
	t.Logf("%d proved and no worse; %d better; %d not proved and worse", proved, better, worse)
	if proved < 60 || better < 15 {
		t.Errorf("%d proofs and %d that got better are too few to tell", proved, better)
	}
}

// TestClockChanges plans over the nights in which clocks change, in workshops that
// work in just those hours.
func TestClockChanges(t *testing.T) {
	changes := map[string][]civil.Date{
		"Europe/Lisbon":       {{Year: 2026, Month: time.March, Day: 29}, {Year: 2026, Month: time.October, Day: 25}},
		"America/New_York":    {{Year: 2026, Month: time.March, Day: 8}, {Year: 2026, Month: time.November, Day: 1}},
		"Australia/Lord_Howe": {{Year: 2026, Month: time.April, Day: 5}, {Year: 2026, Month: time.October, Day: 4}},
		"America/Santiago":    {{Year: 2026, Month: time.April, Day: 5}, {Year: 2026, Month: time.September, Day: 6}},
	}
	night := 0
	for name, days := range changes {
		zone, err := civil.LoadZone(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, day := range days {
			for seed := range uint64(16) {
				d := newDice(seed)
				p := d.workshop()
				p.Zone, p.Now = zone, civil.At(day.AddDays(-2), civil.Minute(60*d.between(0, 23)), zone)
				p.Hours, p.Closed, p.Busy, p.Extra = nil, nil, nil, nil
				for w := range 7 {
					p.Hours = append(p.Hours, d.night(time.Weekday(w), seed < 4)...)
				}
				for i := range p.Designs {
					p.Designs[i].Supplies = nil
				}
				for i := range p.Orders {
					p.Orders[i].NeededBy, p.Orders[i].Accepted = day.AddDays(d.between(10, 80)), true
				}
				plan := solved(t, fmt.Sprintf("%s, %s, workshop %d", name, day, seed), p)
				for _, b := range plan.Batches {
					for _, step := range []schedule.Interval{b.Make, b.Cut} {
						if civil.Of(step.From.In(zone)) == day || civil.Of(step.To.In(zone)) == day {
							night++
						}
					}
				}
			}
		}
	}
	if night < 30 {
		t.Errorf("only %d steps are on days on which clocks change", night)
	}
}

// night is working hours in the evening and after midnight: all of it, or hours
// that may begin and end where clocks change.
func (d dice) night(day time.Weekday, all bool) []schedule.Window {
	from, to, evening := civil.Minute(0), civil.Minute(4*60), civil.Minute(21*60)
	if !all {
		from, evening = civil.Minute(d.between(0, 120)), civil.Minute(21*60+d.between(0, 120))
		to = from + civil.Minute(d.between(60, 200))
	}
	return []schedule.Window{{Weekday: day, From: from, To: to}, {Weekday: day, From: evening, To: civil.DayMinutes}}
}

// TestHoursAtClockChange: hours are what the clock shows. What it skips is not
// worked at the other end instead, and what it shows again before they begin is
// left out.
func TestHoursAtClockChange(t *testing.T) {
	for _, test := range []struct {
		zone     string
		day      civil.Date
		from, to civil.Minute
		length   int // of a pour, in minutes
		fits     bool
	}{
		{"Europe/Berlin", civil.Date{Year: 2027, Month: time.March, Day: 28}, 60, 150, 60, true}, // 01:00 to 02:00
		{"Europe/Berlin", civil.Date{Year: 2027, Month: time.March, Day: 28}, 60, 150, 80, false},
		{"Europe/Berlin", civil.Date{Year: 2027, Month: time.March, Day: 28}, 150, 240, 60, true}, // 03:00 to 04:00
		{"Europe/Berlin", civil.Date{Year: 2027, Month: time.March, Day: 28}, 150, 240, 61, false},
		{"America/New_York", civil.Date{Year: 2026, Month: time.November, Day: 1}, 90, 180, 90, true}, // the second 01:30 to 03:00
		{"America/New_York", civil.Date{Year: 2026, Month: time.November, Day: 1}, 90, 180, 100, false},
		{"America/New_York", civil.Date{Year: 2026, Month: time.November, Day: 1}, 60, 180, 180, true}, // 01:00 twice
	} {
		zone, err := civil.LoadZone(test.zone)
		if err != nil {
			t.Fatal(err)
		}
		p := eveningShop()
		p.Zone, p.Now = zone, civil.At(test.day.AddDays(-1), 12*60, zone)
		p.Hours = []schedule.Window{
			{Weekday: time.Sunday, From: test.from, To: test.to, Steps: []schedule.Step{schedule.StepMake}},
			{Weekday: time.Monday, From: 8 * 60, To: 20 * 60, Steps: []schedule.Step{schedule.StepCut, schedule.StepWrap}},
		}
		p.Designs[0].MakeFixed, p.Designs[0].MakePer = test.length, 0
		p.Orders = []schedule.Order{asking(p, 20, 40)}
		p.Orders[0].Accepted = true
		plan := solved(t, test.zone, p)
		if fits := len(plan.Batches) > 0 && civil.Of(plan.Batches[0].Make.From) == test.day; fits != test.fits {
			t.Errorf("%s %s-%s: a pour of %d minutes is placed: %v, want %v", test.zone, test.from, test.to, test.length, fits, test.fits)
		}
	}
}

// TestSameAnswerOnAnyMachine asks and reshuffles on one processor and on many.
func TestSameAnswerOnAnyMachine(t *testing.T) {
	before := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(before)
	for seed := range uint64(12) {
		d := newDice(300 + seed)
		p := d.workshop()
		p = d.advance(publish(p, solved(t, "published", p)))
		d.upset(p)
		enquiry := d.order(p, "q")
		var answers []*schedule.Answer
		var ways [][]schedule.Proposal
		for _, processors := range []int{1, 2, 8} {
			runtime.GOMAXPROCS(processors)
			a, err := schedule.Promise(context.Background(), p, enquiry)
			if err != nil {
				t.Fatal(err)
			}
			list, err := schedule.Reshuffle(context.Background(), p)
			if err != nil {
				t.Fatal(err)
			}
			answers, ways = append(answers, a), append(ways, list)
		}
		for i := range answers[1:] {
			if !reflect.DeepEqual(answers[0], answers[i+1]) || !reflect.DeepEqual(ways[0], ways[i+1]) {
				t.Errorf("workshop %d: other answers on other numbers of processors", seed)
			}
		}
	}
}
