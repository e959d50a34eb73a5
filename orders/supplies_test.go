package orders

import (
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// pantry is a workshop with one recipe of one oil and a fragrance at 3 % of it,
// and a mold of one litre.
func pantry(oil, scent Ingredient) *Snapshot {
	oil.ID, oil.Kind, oil.SVUsed, oil.Density = "oil", KindOil, 190, 0.9
	scent.ID, scent.Name, scent.Kind = "scent", "Cedar", KindFragrance
	return &Snapshot{
		Ingredients: []Ingredient{oil, scent},
		Recipes: []Recipe{{
			Meta: Meta{ID: "r"}, Superfat: 5 * calc.Percent, LyePurity: calc.Whole, LyeConcentration: 33 * calc.Percent,
			Parts: []RecipePart{{IngredientID: "oil", Share: calc.Whole}, {IngredientID: "scent", Share: 3 * calc.Percent}},
		}},
		Molds:   []Mold{{Meta: Meta{ID: "m"}, Kind: calc.MoldLoaf, Length: 250 * calc.Millimetre, Width: 80 * calc.Millimetre, Depth: 50 * calc.Millimetre, Count: 1}},
		Designs: []Design{{Meta: Meta{ID: "d"}, RecipeID: "r", MoldIDs: []string{"m"}, Cut: CutPlan{Thickness: 25 * calc.Millimetre, PiecesPerSlice: 1}}},
	}
}

func TestSuppliesReady(t *testing.T) {
	today := civil.Date{Year: 2026, Month: 12, Day: 1}
	plenty := 10 * calc.Kilogram
	for _, c := range []struct {
		name       string
		oil, scent Ingredient
		want       civil.Date
	}{
		{"all on the shelf", Ingredient{OnHand: plenty}, Ingredient{OnHand: plenty, LeadDays: 9}, civil.Date{}},
		{"ordered today", Ingredient{OnHand: plenty}, Ingredient{LeadDays: 9}, today.AddDays(9)},
		{"on order", Ingredient{OnHand: plenty}, Ingredient{LeadDays: 9, ExpectedOn: today.AddDays(4)}, today.AddDays(4)},
		{"the last one counts", Ingredient{LeadDays: 2}, Ingredient{LeadDays: 9}, today.AddDays(9)},
		{"should have come", Ingredient{OnHand: plenty}, Ingredient{LeadDays: 9, ExpectedOn: today.AddDays(-2)}, today},
	} {
		s := pantry(c.oil, c.scent)
		if got := s.suppliesReady(s.Designs[0], s.Recipes[0], today); got != c.want {
			t.Errorf("%s: ready %s, want %s", c.name, got, c.want)
		}
	}
}

// A batter of oil at 0.9 g/mL and a lye solution near 1.36 g/mL weighs close to
// 1 g/mL, of which about 0.7 is oil (derived); the mold holds a litre.
func TestMixtureOfALitre(t *testing.T) {
	s := pantry(Ingredient{}, Ingredient{})
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

func TestToOrderTakesTheShelfInTurn(t *testing.T) {
	// 30 g of fragrance: enough for one litre (about 21 g), not for two.
	s := pantry(Ingredient{OnHand: 10 * calc.Kilogram}, Ingredient{OnHand: 30 * calc.Gram, LeadDays: 7})
	day := civil.Date{Year: 2026, Month: 12, Day: 20}
	full := []schedule.MoldUse{{MoldID: "m", Units: 1, Pieces: 10}}
	first := Batch{Meta: Meta{ID: "1"}, DesignID: "d", State: BatchPlanned, Molds: full, Make: schedule.Interval{From: noon}}
	second := Batch{Meta: Meta{ID: "2"}, DesignID: "d", State: BatchPlanned, Molds: full, Make: schedule.Interval{From: noon.AddDate(0, 0, 1)}}
	got := s.toOrder([]Batch{second, first}, func(Batch) civil.Date { return day })
	if len(got) != 1 || got[0].batch.ID != "2" || got[0].day != day.AddDays(-7) || !strings.HasPrefix(got[0].lacks[0], "Cedar, ") {
		t.Fatalf("to order: %+v; want cedar for the second batch, a week before its day", got)
	}
	s.Ingredients[1].ExpectedOn = day
	if got := s.toOrder([]Batch{first, second}, func(Batch) civil.Date { return day }); len(got) != 0 {
		t.Errorf("to order although it is on order in time: %+v", got)
	}
}
