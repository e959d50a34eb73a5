package orders_test

import (
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestWeightChecksAreKeptWithTheirBatch keeps two, one of short pieces, and is refused
// one of a batch in its mold and one of a viewer.
func TestWeightChecksAreKeptWithTheirBatch(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b := s.curing()
	// 120 g may fall short by 5.4 g, and never by twice that (Directive 76/211/EEC, published).
	first := orders.WeightQuestion{Declared: 120 * calc.Gram, Weights: []calc.Mass{121 * calc.Gram, 114 * calc.Gram, 109 * calc.Gram}}
	kept, err := s.book.KeepWeights(s.ctx, s.owner, b.ID, first)
	s.must(err)
	if kept.Number != 1 || kept.Person != s.owner.Name || !kept.At.Equal(s.now) || !kept.Check.MeanShort {
		t.Errorf("kept %+v", kept)
	}
	second := orders.WeightQuestion{Declared: 100 * calc.Gram, Weights: []calc.Mass{101 * calc.Gram}}
	_, err = s.book.KeepWeights(s.ctx, s.owner, b.ID, second)
	s.must(err)
	all, err := s.book.WeightChecks(s.ctx, s.owner, b.ID)
	s.must(err)
	if len(all) != 2 || all[0].Number != 2 || all[1].Number != 1 || all[0].Check.MeanShort || len(all[1].Weights) != 3 {
		t.Fatalf("listed %+v", all)
	}
	if p := all[1].Check.Pieces; p[0].Short || !p[1].Short || p[1].Never || !p[2].Never {
		t.Errorf("the pieces stand as %+v", p)
	}
	s.journalSays(b.ID, "Held 3 pieces of "+b.Lot+" against their label.")
	_, err = s.book.KeepWeights(s.ctx, s.owner, b.ID, orders.WeightQuestion{Declared: 120 * calc.Gram})
	invalidAt(t, err, "weights_mg")
	viewer := s.owner
	viewer.Role = orders.Viewer
	if _, err = s.book.KeepWeights(s.ctx, viewer, b.ID, first); err == nil {
		t.Error("a viewer keeps a weight check")
	}
	s.take(s.wants(20, 90))
	_, err = s.book.KeepWeights(s.ctx, s.owner, s.batches(orders.BatchPlanned)[0].ID, first)
	conflict(t, err, "weighing what is not cut")
}
