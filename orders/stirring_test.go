package orders_test

import (
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// stirredInto is the masses of a stirred-in ingredient by what is said of them,
// in the order of work.
func stirredInto(t *testing.T, sheet orders.Sheet) (titles []string, items []orders.SheetItem) {
	t.Helper()
	for _, stage := range sheet.Work {
		titles = append(titles, stage.Title)
		if strings.HasPrefix(stage.Title, "Stir in") {
			items = append(items, stage.Items...)
		}
	}
	return titles, items
}

// Half of the batter stays white; the other pots are 30 and 20 parts of it, so the
// browning fragrance goes 3 to 2 between them, and the petals go into all.
func TestStirringInPotByPot(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	r := s.worked(func(r *orders.Recipe) {
		for _, in := range []struct {
			kind  orders.IngredientKind
			name  string
			share calc.PPM
		}{{orders.KindFragrance, "Tonka", 2 * calc.Percent}, {orders.KindBotanical, "Petals", 10_007}, {orders.KindColour, "Kelp powder", 5_003}, {orders.KindPackaging, "Paper", calc.Percent}} {
			made, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{
				Name: in.name, Kind: in.kind, OnHand: calc.Kilogram, Fragrance: orders.Fragrance{Vanillin: in.kind == orders.KindFragrance},
			})
			s.must(err)
			r.Parts = append(r.Parts, orders.RecipePart{IngredientID: made.ID, Share: in.share})
		}
	})
	b := s.pourOf(r, 3_333_333, orders.Colour{Name: "Chalk white", Share: 500_000}, orders.Colour{Name: "Kelp", Share: 300_000}, orders.Colour{Name: "Sand", Share: 200_000})
	sheet := s.sheet(b)
	titles, items := stirredInto(t, sheet)
	if got, want := strings.Join(titles[4:], " | "), `Combine (pots before what is stirred in) | Stir in at trace; no Tonka into "Chalk white" | Pour`; got != want {
		t.Errorf("after the weighing comes %q, want %q", got, want)
	}
	texts := []string{}
	sums := map[string]calc.Mass{}
	for _, i := range items {
		name, _, _ := strings.Cut(i.Text, " into ")
		texts, sums[name] = append(texts, i.Text), sums[name]+i.Mass
		if i.AtMost != (name == "Tonka") {
			t.Errorf("%q is to be rounded down: %t", i.Text, i.AtMost)
		}
	}
	if got, want := strings.Join(texts, ", "), `Kelp powder into "Kelp", Petals into "Chalk white", Petals into "Kelp", Petals into "Sand", Tonka into "Kelp", Tonka into "Sand"`; got != want {
		t.Fatalf("stirred in: %s; want %s", got, want)
	}
	for _, w := range sheet.Weights.Added {
		if w.Kind != orders.KindPackaging && (sums[w.Name] != w.Mass || w.Mass == 0) {
			t.Errorf("%s: the pots' parts are %s, want %s", w.Name, sums[w.Name], w.Mass)
		}
	}
	if kelp, sand := items[4].Mass, items[5].Mass; 2*kelp-3*sand > 3 || 3*sand-2*kelp > 3 {
		t.Errorf("Tonka is %s and %s, want 3 to 2", kelp, sand)
	}
	if last := sheet.Cautions[len(sheet.Cautions)-1].Text; !strings.Contains(last, "Tonka goes into the other pots only") {
		t.Errorf("the last caution is %q, want that the other pots hold more", last)
	}
	ticked, err := s.book.Tick(s.ctx, s.owner, b.ID, orders.TickInput{Item: items[4].Item, Done: true, Mass: &items[4].Mass})
	s.must(err)
	if _, now := stirredInto(t, ticked); now[4].At.IsZero() || !now[5].At.IsZero() {
		t.Errorf("after a tick of the first: %+v", now)
	}
}

// Without colours all is stirred into the one batter; when every pot is white a
// browning fragrance has nowhere else to go.
func TestStirringInWithoutOtherPots(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	tonka, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{
		Name: "Tonka", Kind: orders.KindFragrance, OnHand: calc.Kilogram, Fragrance: orders.Fragrance{Vanillin: true},
	})
	s.must(err)
	r := s.worked(func(r *orders.Recipe) {
		r.Parts = append(r.Parts, orders.RecipePart{IngredientID: tonka.ID, Share: 2 * calc.Percent})
	})
	for text, colours := range map[string][]orders.Colour{"Tonka": nil, `Tonka into "white"`: {{Name: "white", Share: calc.Whole}}} {
		sheet := s.sheet(s.pourOf(r, tray, colours...))
		if _, items := stirredInto(t, sheet); len(items) != 1 || items[0].Text != text || items[0].Mass != sheet.Weights.Added[0].Mass {
			t.Errorf("stirred in %+v, want all of %q", items, text)
		}
	}
	plain := s.sheet(s.pourOf(s.worked(func(*orders.Recipe) {}), tray))
	if titles, _ := stirredInto(t, plain); strings.Join(titles[3:], ", ") != "Combine, Pour" {
		t.Errorf("nothing is stirred in, and the work is %q", titles)
	}
}
