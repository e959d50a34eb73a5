package schedule_test

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// busyShop has about n batches to plan, in a workshop large enough for them to
// be ready within about a year of each other.
func busyShop(n int) *schedule.Problem {
	p := eveningShop()
	p.Hours, p.Molds, p.Designs, p.Rack, p.Hands = nil, nil, nil, 1<<40, 2
	for day := range 6 {
		p.Hours = append(p.Hours, schedule.Window{Weekday: time.Weekday(day + 1), From: 8 * 60, To: 17 * 60})
	}
	for i := range 3 {
		p.Molds = append(p.Molds, schedule.Mold{ID: fmt.Sprintf("m%d", i), Count: 4, Clean: 30})
	}
	for i := range 10 {
		d := eveningShop().Designs[0]
		d.ID, d.Name = fmt.Sprintf("d%d", i), fmt.Sprintf("Design %d", i)
		d.CutWindow = schedule.CutWindow{Min: 18, Max: 72}
		d.Fits = []schedule.Fit{{MoldID: fmt.Sprintf("m%d", i%3), Full: 24, Min: 24}, {MoldID: fmt.Sprintf("m%d", (i+1)%3), Full: 30, Min: 30}}
		p.Designs = append(p.Designs, d)
	}
	dice := newDice(1)
	for i := range n {
		id := fmt.Sprintf("o%05d", i)
		p.Orders = append(p.Orders, schedule.Order{
			ID: id, Name: id, Accepted: true, Weight: 1, NeededBy: civil.Of(p.Now).AddDays(60 + i/2 + dice.between(0, 40)),
			Lines: []schedule.Line{{ID: id + "l", DesignID: fmt.Sprintf("d%d", dice.IntN(10)), Pieces: dice.between(60, 120)}},
		})
	}
	return p
}

// filledShop has about n batches in small molds for n orders, and, when it is
// late, more than it can make in time.
func filledShop(n int, late bool) *schedule.Problem {
	p := busyShop(n)
	for i := range p.Designs {
		p.Designs[i].Fits = []schedule.Fit{{MoldID: fmt.Sprintf("m%d", i%3), Full: 12, Min: 12}}
	}
	for i := range p.Molds {
		p.Molds[i].Count = 8
	}
	for i := range p.Orders {
		days := 60 + i*3/4
		if late {
			days = 35 + i/6
		}
		p.Orders[i].NeededBy = civil.Of(p.Now).AddDays(days)
	}
	return p
}

// publishedShop is a filled shop with its plan published, after a short search.
func publishedShop(b *testing.B, n int, late bool) *schedule.Problem {
	p := filledShop(n, late)
	p.Budget = 5
	plan, err := schedule.Solve(context.Background(), p)
	if err != nil {
		b.Fatal(err)
	}
	p = publish(p, plan)
	p.Budget = 0
	return p
}

// BenchmarkPromiseMany asks many questions of a book of 200 orders, and reports
// how long the middle one and the slowest but one in a hundred took: in a workshop
// that has all in time, about dates that can be met and about dates so near that
// most can not and other ways out are looked for; and in one that is late with many.
func BenchmarkPromiseMany(b *testing.B) {
	for _, c := range []struct {
		name        string
		late        bool
		first, days int // the dates asked about, from now
	}{{"in-time", false, 60, 80}, {"near-dates", false, 20, 24}, {"many-late", true, 60, 80}} {
		b.Run(c.name, func(b *testing.B) {
			p := publishedShop(b, 200, c.late)
			var took []time.Duration
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				enquiry := schedule.Order{
					ID: "q", Name: "q", Weight: 1, NeededBy: civil.Of(p.Now).AddDays(c.first + i%c.days),
					Lines: []schedule.Line{{ID: "ql", DesignID: fmt.Sprintf("d%d", i%10), Pieces: 20 + i%50}},
				}
				at := time.Now()
				if _, err := schedule.Promise(context.Background(), p, enquiry); err != nil {
					b.Fatal(err)
				}
				took = append(took, time.Since(at))
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
			b.ReportMetric(float64(len(p.Batches)), "batches")
		})
	}
}

func BenchmarkReshuffle(b *testing.B) {
	for _, late := range []bool{false, true} {
		b.Run(map[bool]string{false: "in-time", true: "many-late"}[late], func(b *testing.B) {
			p := publishedShop(b, 200, late)
			p.Batches = append(p.Batches[:50:50], p.Batches[51:]...)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := schedule.Reshuffle(context.Background(), p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkConfidence imagines 1,000 futures of about 200 batches.
func BenchmarkConfidence(b *testing.B) {
	p := publishedShop(b, 200, false)
	for i := range p.Designs {
		p.Designs[i].FailRate, p.Designs[i].Spoil = 0.03, 0.05
	}
	b.ReportAllocs()
	b.ReportMetric(float64(len(p.Batches)), "batches")
	for b.Loop() {
		if _, err := schedule.Confidence(context.Background(), p, schedule.DefaultFutures); err != nil {
			b.Fatal(err)
		}
	}
}
