package orders

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"ripeline/schedule/civil"
)

func TestBalancedKeepsTheEarliestDeadline(t *testing.T) {
	day := func(n int) civil.Date { return civil.Date{Year: 2026, Month: 12, Day: n} }
	s := &Snapshot{
		Batches: []Batch{{Meta: Meta{ID: "b"}, Sound: 25}},
		Orders: []Order{
			{Meta: Meta{ID: "late"}, Status: Accepted, NeededBy: day(20), Weight: 9, Lines: []OrderLine{{ID: "l1", Pieces: 20}}},
			{Meta: Meta{ID: "soon"}, Status: Accepted, NeededBy: day(10), Weight: 1, Lines: []OrderLine{{ID: "l2", Pieces: 20}}},
			{Meta: Meta{ID: "open"}, Status: Enquiry, NeededBy: day(5), Lines: []OrderLine{{ID: "l3", Pieces: 20}}},
		},
		Allocations: []Allocation{
			{BatchID: "b", OrderID: "late", LineID: "l1", Pieces: 20},
			{BatchID: "b", OrderID: "soon", LineID: "l2", Pieces: 20},
			{BatchID: "b", OrderID: "open", LineID: "l3", Pieces: 20},
			{BatchID: "gone", OrderID: "soon", LineID: "l2", Pieces: 20},
		},
	}
	got := make(map[string]int)
	for _, a := range s.balanced() {
		got[a.LineID] += a.Pieces
	}
	if got["l2"] != 20 || got["l1"] != 5 || len(got) != 2 {
		t.Errorf("balanced gives %v, want 20 to the earlier deadline and the 5 left to the later", got)
	}
}

func TestBalancedNeverGivesWhatIsNotThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		few := rapid.IntRange(0, 6)
		s := &Snapshot{}
		for i := range 3 {
			s.Batches = append(s.Batches, Batch{Meta: Meta{ID: fmt.Sprint("b", i)}, Sound: few.Draw(t, "sound")})
			s.Stocks = append(s.Stocks, Stock{Meta: Meta{ID: fmt.Sprint("s", i)}, Pieces: few.Draw(t, "stock")})
			s.Orders = append(s.Orders, Order{
				Meta: Meta{ID: fmt.Sprint("o", i)}, Status: Accepted, NeededBy: civil.Date{Year: 2027, Month: 1, Day: 1 + i},
				Lines: []OrderLine{{ID: fmt.Sprint("l", i), Pieces: few.Draw(t, "asked")}},
			})
			for j := range 3 {
				line := fmt.Sprint("l", i)
				s.Allocations = append(s.Allocations,
					Allocation{BatchID: fmt.Sprint("b", j), OrderID: fmt.Sprint("o", i), LineID: line, Pieces: few.Draw(t, "given")},
					Allocation{StockID: fmt.Sprint("s", j), OrderID: fmt.Sprint("o", i), LineID: line, Pieces: few.Draw(t, "given")})
			}
		}
		from, to := make(map[string]int), make(map[string]int)
		for _, a := range s.balanced() {
			if a.Pieces < 1 {
				t.Fatalf("an allocation of %d pieces", a.Pieces)
			}
			from[a.source()] += a.Pieces
			to[a.LineID] += a.Pieces
		}
		for i := range 3 {
			if n := from[s.Batches[i].ID]; n > s.Batches[i].Sound {
				t.Fatalf("batch %d gives %d of %d", i, n, s.Batches[i].Sound)
			}
			if n := from[s.Stocks[i].ID]; n > s.Stocks[i].Pieces {
				t.Fatalf("stock %d gives %d of %d", i, n, s.Stocks[i].Pieces)
			}
			if l := s.Orders[i].Lines[0]; to[l.ID] > l.Total() {
				t.Fatalf("line %d gets %d of %d", i, to[l.ID], l.Total())
			}
		}
	})
}
