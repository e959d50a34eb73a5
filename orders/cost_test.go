package orders_test

import (
	"strings"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// priced is the worked design with a rate, a markup and packaging.
func (s *shop) priced() orders.Design {
	s.t.Helper()
	w, err := s.book.Workshop(s.ctx, s.owner)
	s.must(err)
	w.HourlyRate, w.Markup = 1801, 50*calc.Percent
	_, err = s.book.ChangeWorkshop(s.ctx, s.owner, w)
	s.must(err)
	d := s.workedDesign()
	d.Packaging = 35
	d, err = s.book.Designs.Change(s.ctx, s.owner, d)
	s.must(err)
	return d
}

// TestCostsAddUp holds a design's cost against its weights (derived).
func TestCostsAddUp(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.design = s.priced()
	c, err := s.book.DesignCost(s.ctx, s.owner, s.design.ID)
	s.must(err)
	var lines calc.Money
	for _, l := range c.Lines {
		lines += l.Cost
		if want := (int64(l.Mass)*int64(l.Price) + 500_000) / 1_000_000; int64(l.Cost) != want {
			t.Errorf("%s: %d, want %d for %s at %d a kilogram", l.Name, l.Cost, want, l.Mass, l.Price)
		}
	}
	// 24 pieces poured, of which 4 % spoil, rounded up; 130 minutes and a minute a piece to wrap.
	if c.Pieces != 23 || c.Minutes != 130+24 || c.Labour != (1801*154+30)/60 || c.Packaging != 35*23 || c.Currency != "EUR" {
		t.Errorf("costed %+v", c)
	}
	if lines != c.Materials || c.Materials+c.Packaging+c.Labour != c.Total || c.Piece*23 < c.Total || (c.Piece-1)*23 >= c.Total {
		t.Errorf("the parts do not add up: %+v", c)
	}
	if text := strings.Join(c.Missing, " "); !strings.Contains(text, "Palm has no price") || strings.Contains(text, "Olive") {
		t.Errorf("missing is %q", text)
	}
}

func TestOrderIsCostedAndQuoted(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.design = s.priced()
	in := s.wants(20, 80)
	in.Title, in.Lines[0].Spares = "Naming day", 3 // as many as a full mold leaves sound
	o, _ := s.take(in)
	c, err := s.book.OrderCost(s.ctx, s.owner, o.ID)
	s.must(err)
	whole, err := s.book.DesignCost(s.ctx, s.owner, s.design.ID)
	s.must(err)
	l := c.Lines[0]
	if l.Pieces != 23 || l.Materials+l.Packaging+l.Labour != l.Total || c.Total != l.Total || l.Packaging != 35*23 ||
		l.Total != whole.Total {
		t.Errorf("23 pieces cost %+v of %+v", l, whole)
	}
	if l.Price != l.Each*20 || l.Price*2 < l.Total*3 || (l.Each-1)*20*2 >= l.Total*3 || c.Price != l.Price {
		t.Errorf("half as much on top of %d gives %d each, %d", l.Total, l.Each, l.Price)
	}
	for _, want := range []string{"Quote for Naming day", "20 × Worked at " + orders.MoneyText(l.Each, "EUR") + " each: " + orders.MoneyText(l.Price, "EUR") + ", with 3 spares on top", "Needed by " + written(o.NeededBy)} {
		if !strings.Contains(c.Quote, want) {
			t.Errorf("the quote lacks %q: %s", want, c.Quote)
		}
	}
	b, err := s.book.BatchCost(s.ctx, s.owner, s.batches(orders.BatchPlanned)[0].ID)
	s.must(err)
	if b.Trouble != "" || b.Total == 0 || b.Materials+b.Packaging+b.Labour != b.Total {
		t.Errorf("its batch costs %+v", b)
	}
}

// TestDesignThatCanNotBeWorkedOutSaysWhy takes its mold away.
func TestDesignThatCanNotBeWorkedOutSaysWhy(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.mold.Retired = true
	_, err := s.book.Molds.Change(s.ctx, s.owner, s.mold)
	s.must(err)
	c, err := s.book.DesignCost(s.ctx, s.owner, s.design.ID)
	s.must(err)
	l, err := s.book.DesignLabel(s.ctx, s.owner, s.design.ID, orders.LabelQuestion{})
	s.must(err)
	const why = "the design has no mold that its cut fits; give it one"
	if c.Trouble != why || l.Trouble != why || l.Net != nil || c.Total != 0 {
		t.Errorf("cost says %q, label %q", c.Trouble, l.Trouble)
	}
}

func TestMoneyIsWrittenByItsCurrency(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		m    calc.Money
		code string
		want string
	}{{1250, "EUR", "12.50 EUR"}, {5, "USD", "0.05 USD"}, {1250, "JPY", "1250 JPY"}, {1250, "TND", "1.250 TND"}, {1, "??", "0.01 ??"}} {
		if got := orders.MoneyText(c.m, c.code); got != c.want {
			t.Errorf("%d %s is written %q, want %q", c.m, c.code, got, c.want)
		}
	}
}

func TestBadPricesNameTheirFields(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	for _, price := range []calc.Money{-1, 1_000_000_001} {
		_, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{Name: "x", Kind: orders.KindColour, Price: price, SoapName: "y"})
		if got := fieldsOf(t, err); got["price_minor_per_kg"] == "" || got["soap_name"] == "" {
			t.Errorf("complaints at %v", got)
		}
		d := s.design
		d.Packaging = price
		if _, err = s.book.Designs.Change(s.ctx, s.owner, d); fieldsOf(t, err)["packaging_minor"] == "" {
			t.Errorf("packaging at %d gives %v", price, err)
		}
	}
	r, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	for _, loss := range []calc.PPM{-1, 51 * calc.Percent} {
		r.CureLoss = loss
		if _, err = s.book.Recipes.Change(s.ctx, s.owner, r); fieldsOf(t, err)["cure_loss_ppm"] == "" {
			t.Errorf("a loss of %s gives %v", loss, err)
		}
	}
}

// written is a day as a letter has it.
func written(d civil.Date) string {
	return time.Date(d.Year, d.Month, d.Day, 12, 0, 0, 0, time.UTC).Format("Monday 2 January 2006")
}

// TestNothingIsQuotedForNothing: without any price there is no quote to paste.
func TestNothingIsQuotedForNothing(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	o, _ := s.take(s.wants(20, 80))
	c, err := s.book.OrderCost(s.ctx, s.owner, o.ID)
	s.must(err)
	if c.Price != 0 || c.Quote != "" || len(c.Missing) == 0 {
		t.Errorf("without prices %d is asked, %q, and %v are missing", c.Price, c.Quote, c.Missing)
	}
}

// TestBatchCostGoesByWhatItsLotsCost pours a batch of two lots at different prices
// and some oil of no lot: each gram costs what was paid for it (derived).
func TestBatchCostGoesByWhatItsLotsCost(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	b, soon, later := s.pouredOf()
	for lot, price := range map[*orders.Lot]calc.Money{&soon: 500, &later: 30_000} { // 5.00 for a kilogram, 300.00 for thirty
		var err error
		*lot, err = s.book.Lots.Get(s.ctx, s.owner, lot.ID)
		s.must(err)
		lot.Price = price
		*lot, err = s.book.Lots.Change(s.ctx, s.owner, *lot)
		s.must(err)
	}
	taken := oilOf(b, soon, later)
	want := (calc.Money(taken[0])*500+500_000)/1_000_000 + (calc.Money(taken[1])*1000+500_000)/1_000_000
	c, err := s.book.BatchCost(s.ctx, s.owner, b.ID)
	s.must(err)
	oil := c.Lines[0]
	if oil.PricedBy != orders.PricedByLots || oil.Mass != taken[0]+taken[1] || oil.Cost != want || c.Materials != want {
		t.Errorf("%v of lots at 5.00 and 10.00 a kilogram cost %+v, want %d", taken, oil, want)
	}
	if lye := c.Lines[1]; lye.PricedBy != orders.PricedByList || !strings.Contains(strings.Join(c.Missing, " "), lye.Name+" has no price") {
		t.Errorf("lye of no lot is costed %+v, missing %q", lye, c.Missing)
	}
	oilRecord, err := s.book.Ingredients.Get(s.ctx, s.owner, soon.IngredientID)
	s.must(err)
	oilRecord.Price = 2_000
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, oilRecord)
	s.must(err)
	later.Price = 0
	_, err = s.book.Lots.Change(s.ctx, s.owner, later)
	s.must(err)
	c, err = s.book.BatchCost(s.ctx, s.owner, b.ID)
	s.must(err)
	want = (calc.Money(taken[0])*500+500_000)/1_000_000 + (calc.Money(taken[1])*2000+500_000)/1_000_000
	if oil = c.Lines[0]; oil.PricedBy != orders.PricedByBoth || oil.Cost != want {
		t.Errorf("with one lot's price it costs %+v, want %d", oil, want)
	}
}

// TestUnnamedLyeIsCostedAsItIsDrawn has two lyes, of which a pour draws from the
// one there is most of.
func TestUnnamedLyeIsCostedAsItIsDrawn(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	for name, has := range map[string]calc.Mass{"Flakes": 2 * calc.Kilogram, "Pearls": 20 * calc.Kilogram} {
		_, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{
			Name: name, Kind: orders.KindLye, OnHand: has, Price: map[string]calc.Money{"Flakes": 900}[name],
		})
		s.must(err)
	}
	s.take(s.wants(20, 75))
	b := s.batches(orders.BatchPlanned)[0]
	lye := func() string {
		t.Helper()
		c, err := s.book.BatchCost(s.ctx, s.owner, b.ID)
		s.must(err)
		if len(c.Lines) != 2 {
			t.Fatalf("costed %+v", c.Lines)
		}
		return c.Lines[1].Name
	}
	if got := lye(); got != "Pearls" {
		t.Errorf("planned, the lye is %s", got)
	}
	s.now = b.Make.To
	_, _, err := s.book.Pour(s.ctx, s.owner, b.ID, 0, orders.PourFact{})
	s.must(err)
	if got := lye(); got != "Pearls" {
		t.Errorf("poured, the lye is %s", got)
	}
}
