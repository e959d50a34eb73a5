package orders_test

import (
	"slices"
	"testing"
	"time"

	"ripeline/orders"
)

// BenchmarkPromiseBook asks many questions of a book of 200 planned batches as a
// page does: read from the database, put to the planner, and answered.
func BenchmarkPromiseBook(b *testing.B) {
	s := largeShop(b)
	for i := range 200 {
		s.take(s.wants(90, 60+i/2))
	}
	batches := len(s.batches(orders.BatchPlanned))
	var took []time.Duration
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		q := orders.Question{NeededBy: s.today().AddDays(60 + i%80), Lines: []orders.OrderLine{{DesignID: s.design.ID, Pieces: 20 + i%50}}}
		at := time.Now()
		_, err := s.book.Promise(s.ctx, s.owner, q)
		took = append(took, time.Since(at))
		s.must(err)
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
	b.ReportMetric(float64(batches), "batches")
}

// largeShop has molds, hours and rack for hundreds of batches.
func largeShop(b *testing.B) *shop {
	s := newShop(b, openStore(b))
	s.mold.Count = 30
	var err error
	s.mold, err = s.book.Molds.Change(s.ctx, s.owner, s.mold)
	s.must(err)
	s.worksEveryEvening()
	w, err := s.book.Workshop(s.ctx, s.owner)
	s.must(err)
	for i := range w.Hours {
		w.Hours[i].From = 8 * 60
	}
	_, err = s.book.ChangeWorkshop(s.ctx, s.owner, w)
	s.must(err)
	racks, err := s.book.Racks.List(s.ctx, s.owner, orders.ListQuery{Limit: 1})
	s.must(err)
	racks.Items[0].Shelves = 50
	_, err = s.book.Racks.Change(s.ctx, s.owner, racks.Items[0])
	s.must(err)
	return s
}
