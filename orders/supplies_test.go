package orders

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// pantry is a workshop with one recipe of one oil and a fragrance at 3 % of it,
// and a mold of one litre. Of the oil there is plenty.
func pantry(scent Ingredient) *Snapshot {
	oil := Ingredient{Meta: Meta{ID: "oil"}, Name: "Olive", Kind: KindOil, SVUsed: 190, Density: 0.9, Lots: 1}
	scent.ID, scent.Name, scent.Kind = "scent", "Cedar", KindFragrance
	return &Snapshot{
		Ingredients: []Ingredient{oil, scent},
		Lots:        []Lot{{Meta: Meta{ID: "olive"}, IngredientID: "oil", Received: 50 * calc.Kilogram, Left: 50 * calc.Kilogram}},
		Recipes: []Recipe{{
			Meta: Meta{ID: "r"}, Superfat: 5 * calc.Percent, LyePurity: calc.Whole, LyeConcentration: 33 * calc.Percent,
			Parts: []RecipePart{{IngredientID: "oil", Share: calc.Whole}, {IngredientID: "scent", Share: 3 * calc.Percent}},
		}},
		Molds:   []Mold{{Meta: Meta{ID: "m"}, Kind: calc.MoldLoaf, Length: 250 * calc.Millimetre, Width: 80 * calc.Millimetre, Depth: 50 * calc.Millimetre, Count: 1}},
		Designs: []Design{{Meta: Meta{ID: "d"}, RecipeID: "r", MoldIDs: []string{"m"}, Cut: CutPlan{Thickness: 25 * calc.Millimetre, PiecesPerSlice: 1}}},
	}
}

// cedar is a lot of the pantry's fragrance.
func cedar(id string, left calc.Mass, expires civil.Date) Lot {
	return Lot{Meta: Meta{ID: id}, IngredientID: "scent", Received: left, Left: left, ReceivedOn: day(1), ExpiresOn: expires}
}

func onOrder(mass calc.Mass, arrives civil.Date) Purchase {
	return Purchase{IngredientID: "scent", Quantity: mass, ArrivesOn: arrives}
}

// day is one of December 2026.
func day(d int) civil.Date { return civil.Date{Year: 2026, Month: 12, Day: d} }

// stocked is the pantry's design as the planner gets it.
func stocked(s *Snapshot, today civil.Date) schedule.Design {
	p := &schedule.Problem{Zone: time.UTC, Designs: []schedule.Design{{ID: "d", Fits: []schedule.Fit{{MoldID: "m", Full: 10, Min: 1, Step: 1}}}}}
	for _, o := range s.Orders {
		p.Orders = append(p.Orders, o.asked())
	}
	s.stockDesigns(p, today)
	return p.Designs[0]
}

// stairs writes the supplies of a design as "5, 12th 9, 19th endless".
func stairs(d schedule.Design) string {
	var out []string
	for _, s := range d.Supplies {
		text := strconv.Itoa(s.Pieces)
		if s.Endless {
			text = "endless"
		}
		if !s.From.IsZero() {
			text = ordinal(s.From.Day) + " " + text
		}
		out = append(out, text)
	}
	return strings.Join(out, ", ")
}

func ordinal(n int) string {
	switch n {
	case 3:
		return "3rd"
	case 22:
		return "22nd"
	}
	return strconv.Itoa(n) + "th"
}

// One litre, 10 pieces, takes about 21 g of the fragrance.
func TestSuppliesReady(t *testing.T) {
	t.Parallel()
	today, none := day(10), civil.Date{}
	for _, c := range []struct {
		name   string
		lots   []Lot
		coming []Purchase
		lead   int
		want   string
	}{
		{name: "on the shelf for one batch", lots: []Lot{cedar("a", 15_000, none), cedar("b", 15_000, none)}, lead: 9, want: "14, 19th endless"},
		{name: "to be had at once", lead: 0},
		{name: "ordered today", lead: 9, want: "19th endless"},
		{name: "expired", lots: []Lot{cedar("a", 30_000, day(9))}, lead: 9, want: "19th endless"},
		{name: "expires before what is ordered today is there", lots: []Lot{cedar("a", 30_000, day(10))}, lead: 9, want: "19th endless"},
		{name: "good to the end of its last day", lots: []Lot{cedar("a", 30_000, day(19))}, lead: 9, want: "14, 19th endless"},
		{name: "on order", coming: []Purchase{onOrder(30_000, day(14))}, lead: 9, want: "14th 14, 19th endless"},
		{name: "on order, amount not said", coming: []Purchase{onOrder(0, day(14))}, lead: 9, want: "14th endless"},
		{name: "on order, but sooner ordered today", coming: []Purchase{onOrder(30_000, day(30))}, lead: 9, want: "19th endless"},
		{name: "the shelf and two deliveries", lots: []Lot{cedar("a", 5_000, none)}, coming: []Purchase{onOrder(8_000, day(12)), onOrder(30_000, day(15))}, lead: 9, want: "2, 12th 6, 15th 20, 19th endless"},
		{name: "too little on order", coming: []Purchase{onOrder(8_000, day(12))}, lead: 9, want: "12th 3, 19th endless"},
		{name: "amount of the second not said", coming: []Purchase{onOrder(8_000, day(12)), onOrder(0, day(15))}, lead: 9, want: "12th 3, 15th endless"},
		{name: "should have come", coming: []Purchase{onOrder(30_000, day(8))}, lead: 9, want: "14, 19th endless"},
	} {
		s := pantry(Ingredient{LeadDays: c.lead})
		s.Lots, s.Purchases = append(s.Lots, c.lots...), c.coming
		if got := stairs(stocked(s, today)); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// TestTheShelfIsSharedOnce: what a planned batch or another order takes can not be
// poured again.
func TestTheShelfIsSharedOnce(t *testing.T) {
	t.Parallel()
	s := pantry(Ingredient{LeadDays: 9})
	s.Lots = append(s.Lots, cedar("a", 50_000, civil.Date{})) // for 23 pieces
	s.Batches = []Batch{planned("1", 12), planned("2", 13), planned("3", 14)}
	for i := range s.Batches {
		s.Batches[i].Pieces = 10
	}
	if got := stairs(stocked(s, day(10))); got != "23, 19th endless" {
		t.Errorf("%s; want two batches, and 3 pieces beside them", got)
	}
	s.Lots[1].ExpiresOn = day(12)
	if got := stairs(stocked(s, day(10))); got != "10, 19th endless" {
		t.Errorf("%s of a lot that has expired when the second batch is poured", got)
	}
}

// TestTheFastIngredientIsNotHeldUpByTheSlow: of the oil, which takes three weeks to
// come, there is enough for 39 pieces; of the fragrance, which comes in two days, for 14.
func TestTheFastIngredientIsNotHeldUpByTheSlow(t *testing.T) {
	t.Parallel()
	s := pantry(Ingredient{LeadDays: 2})
	s.Ingredients[0].LeadDays = 21
	s.Lots[0].Left = 2_800 * calc.Gram // a little over 70 g a piece
	s.Lots = append(s.Lots, cedar("a", 30_000, civil.Date{}))
	if got := stairs(stocked(s, day(1))); got != "14, 3rd 39, 22nd endless" {
		t.Errorf("%s", got)
	}
	s.Purchases = []Purchase{{IngredientID: "oil", Quantity: 700 * calc.Gram, ArrivesOn: day(8)}}
	if got := stairs(stocked(s, day(1))); got != "14, 3rd 39, 8th 49, 22nd endless" {
		t.Errorf("with oil on order %s", got)
	}
}

// TestWhatComesIsSharedOnce has two designs of the same fragrance: what one of them has
// planned for of a delivery is not there for the other, unless it is poured late enough
// to order for it.
func TestWhatComesIsSharedOnce(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		pour       int
		own, other string
	}{
		{13, "12th 14, 19th endless", "12th 4, 19th endless"},
		{11, "12th 14, 19th endless", "12th 4, 19th endless"}, // it waits for the delivery
		{19, "12th 14, 19th endless", "12th 14, 19th endless"},
	} {
		s := pantry(Ingredient{LeadDays: 9})
		s.Designs = append(s.Designs, s.Designs[0])
		s.Designs[1].ID = "e"
		s.Purchases = []Purchase{onOrder(30_000, day(12))}
		s.Batches = []Batch{planned("1", c.pour)}
		s.Batches[0].Pieces = 10
		fits := []schedule.Fit{{MoldID: "m", Full: 10, Min: 1, Step: 1}}
		p := &schedule.Problem{Zone: time.UTC, Designs: []schedule.Design{{ID: "d", Fits: fits}, {ID: "e", Fits: fits}}}
		s.stockDesigns(p, day(10))
		if own, other := stairs(p.Designs[0]), stairs(p.Designs[1]); own != c.own || other != c.other {
			t.Errorf("poured on the %dth: %s, and %s for the other; want %s and %s", c.pour, own, other, c.own, c.other)
		}
	}
}

// TestAnOrderTakesWhatComesFirst: what an accepted order lacks is served of the shelf
// and then of the delivery, and the rest of that is left to the other design.
func TestAnOrderTakesWhatComesFirst(t *testing.T) {
	t.Parallel()
	s := pantry(Ingredient{LeadDays: 9})
	s.Designs = append(s.Designs, s.Designs[0])
	s.Designs[1].ID = "e"
	s.Lots = append(s.Lots, cedar("a", 10_000, civil.Date{})) // for 4 pieces
	s.Purchases = []Purchase{onOrder(30_000, day(12))}
	fits := []schedule.Fit{{MoldID: "m", Full: 10, Min: 1, Step: 1}}
	p := &schedule.Problem{
		Zone: time.UTC, Designs: []schedule.Design{{ID: "d", Fits: fits}, {ID: "e", Fits: fits}},
		Orders: []schedule.Order{{ID: "o", Accepted: true, NeededBy: day(31), Lines: []schedule.Line{{ID: "l", DesignID: "d", Pieces: 9}}}},
	}
	s.stockDesigns(p, day(10))
	if own, other := stairs(p.Designs[0]), stairs(p.Designs[1]); own != "4, 12th 19, 19th endless" || other != "12th 10, 19th endless" {
		t.Errorf("%s, and %s for the other", own, other)
	}
}

// TestLyeThatNoRecipeNames holds a pour back as any other ingredient does.
func TestLyeThatNoRecipeNames(t *testing.T) {
	t.Parallel()
	s := pantry(Ingredient{})
	s.Ingredients = append(s.Ingredients, Ingredient{Meta: Meta{ID: "lye"}, Name: "Lye", Kind: KindLye, LeadDays: 12})
	if got := stairs(stocked(s, day(10))); got != "22nd endless" {
		t.Errorf("%s without any lye", got)
	}
}

// A batter of oil at 0.9 g/mL and a lye solution near 1.36 g/mL weighs close to
// 1 g/mL, of which about 0.7 is oil (derived); the mold holds a litre.
func TestMixtureOfALitre(t *testing.T) {
	s := pantry(Ingredient{})
	mix, err := mixtureOf(s.Recipes[0], s.Ingredients)
	if err != nil {
		t.Fatal(err)
	}
	oil := mix.forVolume(mix.needs[0], calc.Litre)
	if oil < 650*calc.Gram || oil > 750*calc.Gram {
		t.Errorf("a litre of batter takes %s of oil, want about 700 g", oil)
	}
	if scent := mix.forVolume(mix.needs[1], calc.Litre); scent < oil*29/1000 || scent > oil*31/1000 {
		t.Errorf("a litre of batter takes %s of fragrance, want 3 %% of the %s of oil", scent, oil)
	}
}

// planned is a planned batch of one litre, poured on a day.
func planned(id string, on int) Batch {
	full := []schedule.MoldUse{{MoldID: "m", Units: 1, Pieces: 10}}
	at := time.Date(2026, 12, on, 18, 0, 0, 0, time.UTC)
	return Batch{Meta: Meta{ID: id}, Lot: "LOT-" + id, DesignID: "d", State: BatchPlanned, Molds: full, Make: schedule.Interval{From: at}}
}

// supplyOf is the pantry's fragrance against two litres, on the 20th and 22nd.
func supplyOf(t *testing.T, lots []Lot, coming []Purchase) Supply {
	t.Helper()
	s := pantry(Ingredient{LeadDays: 7})
	s.Lots, s.Purchases = append(s.Lots, lots...), coming
	s.Batches = []Batch{planned("2", 22), planned("1", 20)}
	all, unknown := s.supplies(time.UTC)
	if len(all) != 2 || len(unknown) != 0 || all[0].Name != "Cedar" {
		t.Fatalf("supplies %+v, unknown %v; want cedar and olive", all, unknown)
	}
	return all[0]
}

func TestSuppliesTakeTheShelfInTurn(t *testing.T) {
	t.Parallel()
	none := civil.Date{}
	for _, c := range []struct {
		name    string
		lots    []Lot
		coming  []Purchase
		shortOn civil.Date
	}{
		{name: "enough for both", lots: []Lot{cedar("a", 50_000, none)}},
		{name: "enough for the first", lots: []Lot{cedar("a", 30_000, none)}, shortOn: day(22)},
		{name: "nothing", shortOn: day(20)},
		{name: "expires between the two", lots: []Lot{cedar("a", 50_000, day(21))}, shortOn: day(22)},
		{name: "what expires first is used first", lots: []Lot{cedar("a", 25_000, none), cedar("b", 25_000, day(20))}},
		{name: "the rest comes in time", lots: []Lot{cedar("a", 30_000, none)}, coming: []Purchase{onOrder(15_000, day(22))}},
		{name: "the rest comes a day late", lots: []Lot{cedar("a", 30_000, none)}, coming: []Purchase{onOrder(15_000, day(23))}, shortOn: day(22)},
		{name: "enough comes, how much was not said", coming: []Purchase{onOrder(0, day(20))}},
		{name: "a delivery is used up once", coming: []Purchase{onOrder(25_000, day(19))}, shortOn: day(22)},
	} {
		got := supplyOf(t, c.lots, c.coming)
		if got.ShortOn != c.shortOn {
			t.Errorf("%s: short on %s, want %s (%+v)", c.name, got.ShortOn, c.shortOn, got.Needs)
		}
		want := c.shortOn
		if !want.IsZero() {
			want = want.AddDays(-7)
		}
		if got.OrderBy != want {
			t.Errorf("%s: order by %s, want %s", c.name, got.OrderBy, want)
		}
		var needed, lacking calc.Mass
		for _, n := range got.Needs {
			needed, lacking = needed+n.Mass, lacking+n.Lacks
		}
		if needed != got.Needed || lacking != got.Lacking || (lacking > 0) == c.shortOn.IsZero() || got.Needs[0].Lot != "LOT-1" {
			t.Errorf("%s: %+v does not add up", c.name, got)
		}
	}
}

func TestLyeIsWeighedOutThoughNoRecipeNamesIt(t *testing.T) {
	t.Parallel()
	s := pantry(Ingredient{})
	s.Ingredients = append(s.Ingredients, Ingredient{Meta: Meta{ID: "lye"}, Name: "Lye", Kind: KindLye})
	needs, err := s.workings().needsOf(planned("1", 20))
	if err != nil {
		t.Fatal(err)
	}
	// About 690 g of oil of SV 190 at 5 % superfat: 690 * 0.190 * 0.712895 * 0.95 (derived).
	if last := needs[len(needs)-1]; last.ingredient.ID != "lye" || last.mass < 80*calc.Gram || last.mass > 100*calc.Gram {
		t.Errorf("last need %+v, want about 90 g of lye", last)
	}
	s.Ingredients = append(s.Ingredients, Ingredient{Meta: Meta{ID: "lye2"}, Name: "Other lye", Kind: KindLye, OnHand: calc.Gram})
	if needs, err = s.workings().needsOf(planned("1", 20)); err != nil || len(needs) != 3 || needs[2].ingredient.ID != "lye2" {
		t.Errorf("with two lyes the needs are %+v (%v), want the lye there is most of", needs, err)
	}
}

func TestLotsAreDrawnFirstExpiredFirstOut(t *testing.T) {
	t.Parallel()
	i := Ingredient{Meta: Meta{ID: "scent"}}
	late := cedar("late", 10_000, civil.Date{})
	late.ReceivedOn = day(21)
	lots := []Lot{cedar("never", 10_000, civil.Date{}), cedar("soon", 10_000, day(20)), cedar("gone", 10_000, day(19)), cedar("next", 10_000, day(28)), late}
	for _, c := range []struct {
		needs calc.Mass
		want  []LotUse
	}{
		{5_000, []LotUse{{"scent", "soon", 5_000}}},
		{12_000, []LotUse{{"scent", "soon", 10_000}, {"scent", "next", 2_000}}},
		{30_000, []LotUse{{"scent", "soon", 10_000}, {"scent", "next", 10_000}, {"scent", "never", 10_000}}},
		{31_000, []LotUse{{"scent", "soon", 10_000}, {"scent", "next", 10_000}, {"scent", "never", 10_000}, {"scent", "", 1_000}}},
	} {
		if got := drawn([]need{{ingredient: i, mass: c.needs}}, lots, day(20)); !slices.Equal(got, c.want) {
			t.Errorf("%s on the 20th: %+v, want %+v", c.needs, got, c.want)
		}
	}
}

// TestDrawnIsWhatWasNeeded: whatever the lots, what is written adds up to what
// is weighed out, and no lot gives more than it holds.
func TestDrawnIsWhatWasNeeded(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var lots []Lot
		for i := range rapid.IntRange(0, 8).Draw(t, "lots") {
			lots = append(lots, cedar(strconv.Itoa(i), calc.Mass(rapid.IntRange(0, 5_000).Draw(t, "left")), day(rapid.IntRange(1, 31).Draw(t, "expires"))))
		}
		mass := calc.Mass(rapid.IntRange(0, 20_000).Draw(t, "need"))
		var sum calc.Mass
		for _, u := range drawn([]need{{ingredient: Ingredient{Meta: Meta{ID: "scent"}}, mass: mass}}, lots, day(15)) {
			l, _ := find(lots, u.LotID, func(l Lot) string { return l.ID })
			if u.Mass <= 0 || u.LotID != "" && (u.Mass > l.Left || l.Expired(day(15))) {
				t.Fatalf("%+v of %+v", u, l)
			}
			sum += u.Mass
		}
		if sum != mass {
			t.Fatalf("%s were written, %s needed", sum, mass)
		}
	})
}

// TestWhatToBuyIsNeverTooLittle rounds a lack up, in the workshop's unit.
func TestWhatToBuyIsNeverTooLittle(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		units string
		lacks calc.Mass
		want  string
	}{
		{"metric", 400, "1 g"},
		{"metric", 1_400, "2 g"},
		{"metric", 12 * calc.Gram, "12 g"},
		{"imperial", 400, "0.1 oz"},
		{"imperial", 28_350, "1.1 oz"}, // half a milligram over an ounce
		{"imperial", 28_349, "1.0 oz"},
	} {
		x := Supply{Lacking: c.lacks, LeadDays: 3, Needs: []SupplyNeed{{Lot: "OAT-261201-1", Day: day(1), Lacks: c.lacks}}}
		want := c.want + ", first for OAT-261201-1 on Tue 1 Dec; 3 days to arrive."
		if got := x.lackText(Workshop{Units: c.units}); got != want {
			t.Errorf("%s: lacking %s it says %q, want %q", c.units, c.lacks, got, want)
		}
	}
}
