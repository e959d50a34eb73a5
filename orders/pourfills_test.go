package orders_test

import (
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// poursTheBook checks of every batch that is planned or poured that its sheet pours
// and cuts what the book has, to the piece and to the milligram.
func (s *shop) poursTheBook() {
	s.t.Helper()
	for _, state := range []orders.BatchState{orders.BatchPlanned, orders.BatchPoured, orders.BatchCuring} {
		for _, b := range s.batches(state) {
			s.pours(b)
		}
	}
}

func (s *shop) pours(b orders.Batch) orders.Sheet {
	s.t.Helper()
	sheet := s.sheet(b)
	fills, cuts, mass := 0, 0, sheet.Left.Mass
	for i, f := range sheet.Fills {
		fills, cuts, mass = fills+f.Pieces, cuts+sheet.Cuts[i].Units*sheet.Cuts[i].Pieces, mass+f.Batter.Mass
	}
	if fills != b.Pieces || cuts != b.Pieces || sheet.Surplus != 0 || len(sheet.Cuts) != len(sheet.Fills) {
		s.t.Errorf("%s of %d pieces is filled for %d, cut into %d", b.Lot, b.Pieces, fills, cuts)
	}
	if sheet.Weights == nil || mass != sheet.Weights.Total.Mass {
		s.t.Errorf("%s of %+v is poured in %+v", mass, sheet.Weights, sheet.Fills)
	}
	return sheet
}

// A batch of 39 bars in two loaves of 24 fills one, and 15 slices of the other: as
// is needed of supplies and as is costed, also once it is poured, some of it is lost
// and the mold is another.
func TestOneMoldOfABatchIsPartFull(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(37, 60))
	b := s.batches(orders.BatchPlanned)[0]
	sheet := s.pours(b)
	if f := sheet.Fills; b.Pieces != 39 || len(f) != 2 || f[0].Units != 1 || f[0].Fill != calc.Whole || f[0].Pieces != 24 || f[1].Units != 1 || f[1].Pieces != 15 {
		t.Fatalf("%d pieces in %+v", b.Pieces, f)
	}
	pour := sheet.Work[len(sheet.Work)-1].Items
	if pour[0].Text != "1 × Long loaf, full" || pour[1].Text != "1 × Long loaf, full height up to a divider, for 15 of its 24 slices" || pour[1].Mass != sheet.Fills[1].Batter.Mass || pour[0].Item == pour[1].Item {
		t.Errorf("to pour: %+v", pour)
	}
	supplies, err := s.book.Supplies(s.ctx, s.owner)
	s.must(err)
	cost, err := s.book.BatchCost(s.ctx, s.owner, b.ID)
	s.must(err)
	oil, found := sheet.Weights.Oils[0], false
	for _, x := range supplies.Items {
		found = found || x.IngredientID == oil.IngredientID && x.Needed == oil.Mass
	}
	if !found || cost.Lines[0].IngredientID != oil.IngredientID || cost.Lines[0].Mass != oil.Mass {
		t.Errorf("%s of oil on the sheet, supplies %+v, costed %+v", oil.Mass, supplies.Items, cost.Lines)
	}
	s.now = b.Make.To
	b, _, err = s.book.Pour(s.ctx, s.owner, b.ID, b.Version, orders.PourFact{})
	s.must(err)
	b, _, err = s.book.Fail(s.ctx, s.owner, b.ID, b.Version, orders.FailFact{Pieces: 9})
	s.must(err)
	s.mold.Length, s.mold.MinFill = 500*calc.Millimetre, 90*calc.Percent
	s.mold, err = s.book.Molds.Change(s.ctx, s.owner, s.mold)
	s.must(err)
	if poured := s.pours(b); poured.Fills[1] != sheet.Fills[1] || poured.Weights.Total != sheet.Weights.Total || b.Uses[0].Mass != sheet.Weights.Oils[0].Mass {
		t.Errorf("poured %+v, planned %+v", poured.Fills, sheet.Fills)
	}
}

// A batch whose times are kept keeps its molds: when they can not hold its pieces
// any more the sheet says by how many.
func TestSheetSaysThatMoldsDoNotGiveThePieces(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(37, 60))
	b := s.batches(orders.BatchPlanned)[0]
	b, _, err := s.book.Pin(s.ctx, s.owner, b.ID, b.Version, true)
	s.must(err)
	for _, c := range []struct{ across, surplus int }{{2, 1}, {1, 0}} {
		s.design.Cut.PiecesPerSlice = c.across
		s.design, err = s.book.Designs.Change(s.ctx, s.owner, s.design)
		s.must(err)
		if sheet := s.sheet(b); sheet.Surplus != c.surplus {
			t.Errorf("%d pieces a slice give %d more than %d in %+v", c.across, sheet.Surplus, b.Pieces, sheet.Fills)
		}
	}
}
