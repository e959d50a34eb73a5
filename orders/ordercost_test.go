package orders_test

import (
	"fmt"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// pay writes what was paid for a lot.
func (s *shop) pay(id string, price calc.Money) {
	s.t.Helper()
	l, err := s.book.Lots.Get(s.ctx, s.owner, id)
	s.must(err)
	l.Price = price
	_, err = s.book.Lots.Change(s.ctx, s.owner, l)
	s.must(err)
}

// TestOrderCostsWhatItsBatchCosts pours an order's batch of lots with a price, of
// ingredients without one: poured, wrapped and handed over, its pieces bear their
// share of what was paid.
func TestOrderCostsWhatItsBatchCosts(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b, soon, later := s.pouredOf()
	s.pay(soon.ID, 500)
	s.pay(later.ID, 30_000)
	o, err := s.book.Orders(s.ctx, s.owner, orders.ListQuery{Limit: 1})
	s.must(err)
	order := o.Items[0]
	costs := func(when string) {
		t.Helper()
		batch, err := s.book.BatchCost(s.ctx, s.owner, b.ID)
		s.must(err)
		c, err := s.book.OrderCost(s.ctx, s.owner, order.ID)
		s.must(err)
		l, sound := c.Lines[0], calc.Money(batch.Pieces)
		if want := (batch.Materials*20*2 + sound) / (2 * sound); batch.Materials == 0 || l.Materials != want || l.Basis != "Batch "+b.Lot {
			t.Errorf("%s, 20 of %d pieces cost %+v, want materials of %d by batch %s", when, sound, l, want, b.Lot)
		}
		if strings.Contains(strings.Join(c.Missing, " "), "Oil") {
			t.Errorf("%s, missing is %q", when, c.Missing)
		}
	}
	costs("poured")
	s.now = b.Cut.To
	_, _, err = s.book.Cut(s.ctx, s.owner, b.ID, 0, orders.CutFact{})
	s.must(err)
	s.now = b.Wrap.To
	_, _, err = s.book.Wrap(s.ctx, s.owner, b.ID, 0, orders.WrapFact{})
	s.must(err)
	costs("wrapped")
	_, _, err = s.book.HandOver(s.ctx, s.owner, order.ID, 0, orders.HandOverFact{})
	s.must(err)
	costs("handed over")
}

// TestPiecesOfNoBatchCostWhatTheirDesignDoes takes five pieces that were counted
// in by hand and the rest of a batch.
func TestPiecesOfNoBatchCostWhatTheirDesignDoes(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.design = s.priced()
	_, err := s.book.Stock.Create(s.ctx, s.owner, orders.Stock{DesignID: s.design.ID, Pieces: 5})
	s.must(err)
	o, _ := s.take(s.wants(20, 80))
	c, err := s.book.OrderCost(s.ctx, s.owner, o.ID)
	s.must(err)
	b := s.batches(orders.BatchPlanned)[0]
	batch, err := s.book.BatchCost(s.ctx, s.owner, b.ID)
	s.must(err)
	whole, err := s.book.DesignCost(s.ctx, s.owner, s.design.ID)
	s.must(err)
	l := c.Lines[0]
	if want := fmt.Sprintf("Batch %s for 15 pieces, %s for 5 pieces", b.Lot, whole.Basis); l.Basis != want {
		t.Errorf("costed by %q, want %q", l.Basis, want)
	}
	share := func(of calc.Money, n, by int) calc.Money {
		return (of*calc.Money(2*n) + calc.Money(by)) / calc.Money(2*by)
	}
	if want := share(batch.Labour, 15, batch.Pieces) + share(whole.Labour, 5, whole.Pieces); l.Labour != want {
		t.Errorf("the work costs %d, want %d", l.Labour, want)
	}
	if l.Materials+l.Packaging+l.Labour != l.Total || l.Packaging != 35*20 || l.Piece*20 < l.Total || (l.Piece-1)*20 >= l.Total {
		t.Errorf("the parts do not add up: %+v", l)
	}
}

// TestIngredientWithoutAPriceCostsWhatItsLatestLotDid has a later lot whose price
// is not on record.
func TestIngredientWithoutAPriceCostsWhatItsLatestLotDid(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	oil := s.emptied()
	day := s.today()
	s.lot(orders.Lot{IngredientID: oil.ID, Code: "OLD", Received: 10 * calc.Kilogram, ReceivedOn: day.AddDays(-50), Price: 5_000})
	s.lot(orders.Lot{IngredientID: oil.ID, Code: "LATEST", Received: 20 * calc.Kilogram, ReceivedOn: day.AddDays(-20), Price: 14_000})
	s.lot(orders.Lot{IngredientID: oil.ID, Code: "UNPAID", Received: 5 * calc.Kilogram, ReceivedOn: day.AddDays(-2)})
	cost := func() (orders.Cost, orders.MaterialCost) {
		t.Helper()
		c, err := s.book.DesignCost(s.ctx, s.owner, s.design.ID)
		s.must(err)
		return c, c.Lines[0]
	}
	c, l := cost()
	if want := (calc.Money(l.Mass)*700 + 500_000) / 1_000_000; l.PricedBy != orders.PricedByLatest || l.Price != 700 || l.Cost != want {
		t.Errorf("at 140.00 for 20 kg the oil costs %+v, want %d", l, want)
	}
	if strings.Contains(strings.Join(c.Missing, " "), oil.Name) {
		t.Errorf("missing is %q", c.Missing)
	}
	oil, err := s.book.Ingredients.Get(s.ctx, s.owner, oil.ID)
	s.must(err)
	oil.Price = 900
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, oil)
	s.must(err)
	if _, l = cost(); l.PricedBy != orders.PricedByList || l.Price != 900 {
		t.Errorf("with a price of its own it costs %+v", l)
	}
}
