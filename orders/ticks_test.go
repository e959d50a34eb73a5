package orders_test

import (
	"encoding/json"
	"errors"
	"slices"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/orders"
)

// sameJSON wants two values to read the same.
func sameJSON(t testing.TB, what string, got, want any) {
	t.Helper()
	a, errA := json.Marshal(got)
	b, errB := json.Marshal(want)
	if errA != nil || errB != nil || string(a) != string(b) {
		t.Errorf("%s:\n got %s %v\nwant %s %v", what, a, errA, b, errB)
	}
}

func TestTicksAreSaved(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	tick := func(in orders.TickInput) orders.Sheet {
		t.Helper()
		sheet, err := s.book.Tick(s.ctx, s.owner, b.ID, in)
		s.must(err)
		return sheet
	}
	water := func(sheet orders.Sheet) orders.SheetItem { return sheet.Work[1].Items[0] }
	if w := water(s.sheet(b)); w.Item != "water" || !w.At.IsZero() || w.By != "" || w.Mass == 0 {
		t.Fatalf("before: %+v", w)
	}
	s.now = s.now.Add(time.Hour)
	if w := water(tick(orders.TickInput{Item: "water", Done: true})); !w.At.Equal(s.now) || w.By != "Inês" {
		t.Errorf("ticked: %+v", w)
	}
	if r := tick(orders.TickInput{Item: orders.ReadOilsTemp, Done: true, Reading: 38_500}).Readings[0]; r.Reading != 38_500 || r.By != "Inês" {
		t.Errorf("read: %+v", r)
	}
	if w := water(tick(orders.TickInput{Item: "water"})); !w.At.IsZero() {
		t.Errorf("taken back: %+v", w)
	}
	if now, err := s.book.Batch(s.ctx, s.owner, b.ID); err != nil || now.Version != b.Version {
		t.Errorf("ticking changed the batch to version %d, %v", now.Version, err)
	}
	for field, in := range map[string]orders.TickInput{
		"item":    {Item: "the kettle", Done: true},
		"reading": {Item: orders.ReadLyeTemp, Done: true, Reading: -1},
		"done":    {Item: orders.ReadLyeTemp, Reading: 41_000}, // kept, or taken back?
	} {
		_, err := s.book.Tick(s.ctx, s.owner, b.ID, in)
		invalidAt(t, err, field)
	}
	_, err := s.book.Tick(s.ctx, s.owner, b.ID, orders.TickInput{Item: "water", Done: true, Reading: 5})
	invalidAt(t, err, "reading")
	if _, err := s.book.Tick(s.ctx, s.owner, s.design.ID, orders.TickInput{Item: "water", Done: true}); !errors.Is(err, orders.ErrNotFound) {
		t.Errorf("tick on no batch: %v", err)
	}
}

// TestTicksGoByWhatWasTicked reorders the colours of a design, and changes its
// recipe, after things were ticked: a tick stays with its colour, and what is weighed
// otherwise now is not done.
func TestTicksGoByWhatWasTicked(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.design.Colours = []orders.Colour{{Name: "Plain", Share: 70 * calc.Percent}, {Name: "Honey", Share: 30 * calc.Percent}}
	var err error
	s.design, err = s.book.Designs.Change(s.ctx, s.owner, s.design)
	s.must(err)
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	item := func(sheet orders.Sheet, text string) orders.SheetItem {
		t.Helper()
		for _, stage := range sheet.Work {
			for _, i := range stage.Items {
				if contains(i.Text, text) {
					return i
				}
			}
		}
		t.Fatalf("the sheet has no %s", text)
		return orders.SheetItem{}
	}
	lye := item(s.sheet(b), "Lye (NaOH)")
	for _, i := range []orders.SheetItem{lye, item(s.sheet(b), "Plain")} {
		_, err := s.book.Tick(s.ctx, s.owner, b.ID, orders.TickInput{Item: i.Item, Done: true, Mass: &i.Mass})
		s.must(err)
	}
	slices.Reverse(s.design.Colours)
	_, err = s.book.Designs.Change(s.ctx, s.owner, s.design)
	s.must(err)
	if sheet := s.sheet(b); item(sheet, "Plain").At.IsZero() || !item(sheet, "Honey").At.IsZero() {
		t.Errorf("the tick went to another pot: %+v", sheet.Work)
	}

	recipe, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	recipe.Superfat += 4 * calc.Percent
	_, err = s.book.Recipes.Change(s.ctx, s.owner, recipe)
	s.must(err)
	now := item(s.sheet(b), "Lye (NaOH)")
	if k := now.Earlier; now.Mass == lye.Mass || !now.At.IsZero() || k == nil || k.Mass != lye.Mass || k.By != "Inês" || k.At.IsZero() {
		t.Errorf("%s was ticked at %s, now it is %+v", lye.Text, lye.Mass, now)
	}
	var conflict *orders.Conflict
	if _, err := s.book.Tick(s.ctx, s.owner, b.ID, orders.TickInput{Item: now.Item, Done: true, Mass: &lye.Mass}); !errors.As(err, &conflict) {
		t.Errorf("a tick of what the sheet showed before: %v", err)
	}
	_, err = s.book.Tick(s.ctx, s.owner, b.ID, orders.TickInput{Item: now.Item, Done: true, Mass: &now.Mass})
	s.must(err)
	s.journalSays(b.ID, "Noted anew on the sheet of "+b.Lot+": Lye (NaOH), into the water, "+lye.Mass.String()+", ticked by Inês")
	if again := item(s.sheet(b), "Lye (NaOH)"); again.At.IsZero() || again.Earlier != nil {
		t.Errorf("ticked anew: %+v", again)
	}
	_, err = s.book.Tick(s.ctx, s.owner, b.ID, orders.TickInput{Item: now.Item})
	s.must(err)
	s.journalSays(b.ID, "Took back on the sheet of "+b.Lot+": Lye (NaOH), into the water, "+now.Mass.String())
}

// TestReadingsAreNotedTogether notes several readings at once, all or none, and
// none over what was not seen.
func TestReadingsAreNotedTogether(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	note := func(all ...orders.ReadingChange) ([]orders.SheetReading, error) {
		t.Helper()
		_, err := s.book.NoteReadings(s.ctx, s.owner, b.ID, all)
		return s.sheet(b).Readings, err
	}
	oils := orders.ReadingChange{Item: orders.ReadOilsTemp, Done: true, Reading: 41_000}
	got, err := note(oils, orders.ReadingChange{Item: orders.ReadTrace, Done: true, Reading: 9999})
	invalidAt(t, err, orders.ReadTrace)
	if got[0].Reading != 0 {
		t.Errorf("one was noted beside another that was refused: %+v", got)
	}
	if got, err = note(oils); err != nil || got[0].Reading != 41_000 {
		t.Errorf("noted: %+v, %v", got, err)
	}
	s.now = s.now.Add(time.Minute)
	if again, err := note(oils); err != nil || !again[0].At.Equal(got[0].At) {
		t.Errorf("noted again as it is: %+v, %v, want it as noted at %s", again, err, got[0].At)
	}
	oils.Reading = 42_000 // not having seen the 41
	var conflict *orders.Conflict
	if got, err = note(oils); !errors.As(err, &conflict) || got[0].Reading != 41_000 {
		t.Errorf("over what was not seen: %+v, %v", got, err)
	}
	oils.Was = 41_000
	if got, err = note(oils); err != nil || got[0].Reading != 42_000 {
		t.Errorf("over what was seen: %+v, %v", got, err)
	}
	s.journalSays(b.ID, "Oils when combined, 41.0 °C, by Inês")
	_, err = note(orders.ReadingChange{Item: "the kettle", Done: true, Reading: 1})
	invalidAt(t, err, "the kettle")
}

// TestStockWithoutWater draws lye from a stock as strong as the recipe asks: there
// is no water to weigh.
func TestStockWithoutWater(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	s.design = s.newDesign("From the stock", "STK", func(r *orders.Recipe) { r.LyeStock = r.LyeConcentration })
	s.take(s.wants(20, 60))
	sheet := s.sheet(s.batches(orders.BatchPlanned)[0])
	if lye := sheet.Work[1].Items; len(lye) != 1 || lye[0].Text != "Lye stock of 33 %" || lye[0].Mass != sheet.Weights.Lye.Stock.Mass {
		t.Errorf("the lye is %+v", lye)
	}
}
