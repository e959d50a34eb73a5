package schedule_test

import (
	"fmt"
	"math/rand/v2"
	"time"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// dice makes random workshops that a maker would recognise.
type dice struct{ *rand.Rand }

func newDice(seed uint64) dice { return dice{rand.New(rand.NewPCG(seed, 7))} }

func (d dice) between(low, high int) int { return low + d.IntN(high-low+1) }

func (d dice) chance(percent int) bool { return d.IntN(100) < percent }

// zones has both hemispheres, a zone without clock changes, and one with an odd
// offset.
var zones = []string{"Europe/Lisbon", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata", "Pacific/Auckland", "UTC"}

// workshop makes a workshop with orders and nothing published yet.
func (d dice) workshop() *schedule.Problem {
	zone, err := civil.LoadZone(zones[d.IntN(len(zones))])
	if err != nil {
		panic(err)
	}
	p := &schedule.Problem{
		Now:  time.Date(2026, time.Month(d.between(1, 12)), d.between(1, 28), d.between(0, 23), d.between(0, 59), d.between(0, 59), 0, zone),
		Zone: zone, Hands: 1, Firm: d.between(0, 5), Seed: d.Uint64(), Budget: 12,
	}
	if d.chance(20) {
		p.Hands = 2
	}
	p.Rack = calc.Area(d.between(60, 400) * 4000)
	d.hours(p)
	for i := range d.between(1, 3) {
		p.Molds = append(p.Molds, schedule.Mold{ID: fmt.Sprintf("m%d", i), Count: d.between(1, 3), Clean: d.between(0, 4) * 15})
	}
	for i := range d.between(1, 4) {
		p.Designs = append(p.Designs, d.design(p, i))
	}
	for i := range d.between(1, 8) {
		p.Orders = append(p.Orders, d.order(p, fmt.Sprintf("o%d", i)))
	}
	return p
}

// hours opens the workshop on some days, some of it for certain steps only.
func (d dice) hours(p *schedule.Problem) {
	for day := range 7 {
		if !d.chance(55) && day != 2 && day != 4 {
			continue
		}
		from := d.between(8, 18)
		w := schedule.Window{Weekday: time.Weekday(day), From: civil.Minute(from * 60), To: civil.Minute((from + d.between(2, 5)) * 60)}
		if d.chance(15) {
			w.Steps = []schedule.Step{schedule.StepCut, schedule.StepWrap}
		}
		p.Hours = append(p.Hours, w)
	}
	today := civil.Of(p.Now)
	if d.chance(30) {
		from := today.AddDays(d.between(0, 40))
		p.Closed = append(p.Closed, civil.Range{From: from, To: from.AddDays(d.between(0, 9))})
	}
	if d.chance(30) {
		p.Extra = append(p.Extra, schedule.ExtraWindow{Date: today.AddDays(d.between(0, 20)), From: 9 * 60, To: 24 * 60})
	}
	for range d.IntN(4) {
		from := p.Now.Add(time.Duration(d.between(0, 60*24*30)) * time.Minute)
		p.Busy = append(p.Busy, schedule.Interval{From: from, To: from.Add(time.Duration(d.between(10, 400)) * time.Minute)})
	}
}

func (d dice) design(p *schedule.Problem, i int) schedule.Design {
	out := schedule.Design{
		ID: fmt.Sprintf("d%d", i), Name: fmt.Sprintf("Design %d", i), Footprint: 4000,
		MakeFixed: d.between(20, 50), MakePer: d.between(0, 40), CutFixed: d.between(5, 15), CutPer: d.between(0, 30),
		WrapFixed: d.between(0, 15), WrapPer: d.between(0, 90),
		CureMin: d.between(0, 35), Spoil: float64(d.between(0, 10)) / 100, NeedsTrial: d.chance(15), TrialMinutes: 45,
	}
	out.CutWindow = schedule.CutWindow{Min: d.between(6, 24), Max: d.between(48, 120)}
	if d.chance(25) {
		out.CutWindow = schedule.CutWindow{Min: d.between(0, 1), Max: d.between(2, 5), Days: true}
	}
	out.CureTarget = out.CureMin + d.between(0, 20)
	if d.chance(20) {
		seed := d.between(0, 20) // of dice of their own, so that the rest is drawn whatever steps there are
		if d.chance(50) {
			seed += 21 * d.between(1, 120)
		}
		out.Supplies = newDice(uint64(seed)).supplies(civil.Of(p.Now))
	}
	for _, m := range p.Molds {
		if d.chance(70) || m.ID == "m0" {
			full := d.between(6, 40)
			out.Fits = append(out.Fits, schedule.Fit{MoldID: m.ID, Full: full, Min: d.between(1, full), Step: d.between(1, 4)})
		}
	}
	return out
}

// supplies is some on the shelf, or none, deliveries of some more, and mostly one of
// all that can be wanted.
func (d dice) supplies(today civil.Date) []schedule.Supply {
	var out []schedule.Supply
	pieces, day := 0, today.AddDays(d.between(-3, 8))
	if d.chance(50) {
		pieces = d.between(1, 120)
		out = append(out, schedule.Supply{Pieces: pieces})
	}
	for range d.IntN(4) {
		pieces += d.between(1, 60)
		out = append(out, schedule.Supply{From: day, Pieces: pieces})
		day = day.AddDays(d.between(1, 9))
	}
	if len(out) == 0 || d.chance(90) {
		out = append(out, schedule.Supply{From: day, Endless: true})
	}
	return out
}

func (d dice) order(p *schedule.Problem, id string) schedule.Order {
	o := schedule.Order{
		ID: id, Name: "Order " + id, Accepted: !d.chance(10), NeededBy: civil.Of(p.Now).AddDays(d.between(0, 110)),
		HandOver: d.between(0, 4), Weight: d.between(1, 3),
	}
	if d.chance(20) {
		o.Told = o.NeededBy.AddDays(-d.between(0, 10))
	}
	for i := range d.between(1, 2) {
		o.Lines = append(o.Lines, schedule.Line{
			ID: fmt.Sprintf("%s-l%d", id, i), DesignID: p.Designs[d.IntN(len(p.Designs))].ID, Pieces: d.between(1, 60),
		})
	}
	return o
}

// publish makes a plan the published one.
func publish(p *schedule.Problem, plan *schedule.Plan) *schedule.Problem {
	next := *p
	next.Batches = nil
	for _, b := range plan.Batches {
		id := b.Key
		if b.New {
			id = fmt.Sprintf("b%d-%s", p.Now.Unix()/3600, b.Key)
		}
		out := schedule.Batch{
			ID: id, Lot: id, DesignID: b.DesignID, State: b.State, Molds: b.Molds, Pieces: b.Pieces, Sound: b.Sound,
			Trial: b.Trial, Make: b.Make, Cut: b.Cut, Wrap: b.Wrap,
		}
		for _, old := range p.Batches {
			if old.ID == id {
				out.Pinned, out.CureUntil = old.Pinned, old.CureUntil
			}
		}
		for _, a := range plan.Allocations {
			if a.BatchKey == b.Key {
				out.For = append(out.For, schedule.Share{LineID: a.LineID, Pieces: a.Pieces})
			}
		}
		next.Batches = append(next.Batches, out)
	}
	return &next
}

// advance lets time pass: what should have happened mostly has.
func (d dice) advance(p *schedule.Problem) *schedule.Problem {
	next := *p
	next.Now = p.Now.Add(time.Duration(d.between(1, 60*24*20)) * time.Minute)
	next.Batches = nil
	for _, b := range p.Batches {
		if !b.Trial.From.IsZero() && !b.Trial.To.After(next.Now) {
			b.Trial = schedule.Interval{}
			d.judged(&next, b.DesignID)
		}
		if b.State == schedule.Planned && !b.Make.To.After(next.Now) && d.chance(90) {
			b.State, b.Trial = schedule.Poured, schedule.Interval{}
			d.judged(&next, b.DesignID)
		}
		if b.State == schedule.Poured && !b.Cut.To.After(next.Now) && d.chance(90) {
			b.State = schedule.Curing
			b.Cut.To = b.Cut.To.Add(time.Duration(d.IntN(90)) * time.Second)
			b.Sound = max(0, b.Sound-d.IntN(4))
		}
		if b.State == schedule.Curing && !b.Wrap.To.After(next.Now) {
			next.Stock = append(next.Stock, schedule.Stock{ID: "s-" + b.ID, DesignID: b.DesignID, Pieces: b.Sound, For: b.For})
			continue
		}
		next.Batches = append(next.Batches, b)
	}
	return &next
}

// judged notes that a design needs no trial any more.
func (d dice) judged(p *schedule.Problem, design string) {
	designs := append([]schedule.Design(nil), p.Designs...)
	for i := range designs {
		if designs[i].ID == design {
			designs[i].NeedsTrial = false
		}
	}
	p.Designs = designs
}

// upset changes something, as life does.
func (d dice) upset(p *schedule.Problem) {
	today := civil.Of(p.Now)
	switch d.IntN(8) {
	case 0:
		p.Orders = append(p.Orders, d.order(p, fmt.Sprintf("x%d", len(p.Orders))))
	case 1:
		p.Orders = p.Orders[:max(0, len(p.Orders)-1)]
	case 2:
		p.Closed = append(p.Closed, civil.Range{From: today, To: today.AddDays(d.between(0, 6))})
	case 3:
		p.Molds = append([]schedule.Mold(nil), p.Molds...)
		p.Molds[0].Out = append(p.Molds[0].Out, schedule.MoldOut{Days: civil.Range{From: today, To: today.AddDays(d.between(1, 30))}, Units: 1})
	case 4:
		if len(p.Batches) > 0 {
			i := d.IntN(len(p.Batches))
			p.Batches = append(p.Batches[:i:i], p.Batches[i+1:]...)
		}
	case 5:
		if len(p.Batches) > 0 {
			p.Batches[d.IntN(len(p.Batches))].Pinned = true
		}
	case 6:
		if len(p.Batches) > 0 {
			b := &p.Batches[d.IntN(len(p.Batches))]
			b.CureUntil = today.AddDays(d.between(0, 60))
		}
	default:
		p.Designs = append([]schedule.Design(nil), p.Designs...)
		p.Designs[0].Supplies = newDice(uint64(d.between(1, 25))).supplies(today)
	}
}
