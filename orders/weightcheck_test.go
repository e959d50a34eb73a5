package orders_test

import (
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestWeighedPiecesAreHeldAgainstTheirLabel has pieces at each side of the tolerable
// error of 120 g, 5.4 g (Directive 76/211/EEC Annex I 2.4, published).
func TestWeighedPiecesAreHeldAgainstTheirLabel(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	got, err := s.book.CheckWeights(s.ctx, s.owner, b.ID, orders.WeightQuestion{
		Declared: 120 * calc.Gram, Weights: []calc.Mass{120 * calc.Gram, 114_599, 109_199},
	})
	s.must(err)
	if got.Tolerable != 5_400 || !got.MeanShort || got.Mean != 114_599 || !strings.Contains(got.Notice, calc.DeferNotice) {
		t.Errorf("checked %+v", got)
	}
	for i, want := range []orders.CheckedPiece{{120 * calc.Gram, false, false}, {114_599, true, false}, {109_199, true, true}} {
		if got.Pieces[i] != want {
			t.Errorf("piece %d: %+v, want %+v", i+1, got.Pieces[i], want)
		}
	}
	label, err := s.book.BatchLabel(s.ctx, s.owner, b.ID, orders.LabelQuestion{})
	s.must(err)
	got, err = s.book.CheckWeights(s.ctx, s.owner, b.ID, orders.WeightQuestion{Weights: []calc.Mass{label.Net.Proposed}})
	if s.must(err); got.Declared != label.Net.Proposed || got.MeanShort || got.Pieces[0].Short {
		t.Errorf("against its own label: %+v", got)
	}
	_, err = s.book.CheckWeights(s.ctx, s.owner, b.ID, orders.WeightQuestion{Declared: calc.Gram, Weights: []calc.Mass{1}})
	invalidAt(t, err, "declared_mg")
	_, err = s.book.CheckWeights(s.ctx, s.owner, b.ID, orders.WeightQuestion{Weights: []calc.Mass{-1}})
	invalidAt(t, err, "weights_mg[0]")
}
