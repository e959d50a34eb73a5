package calc

import (
	"testing"

	"pgregory.net/rapid"
)

func TestCostOf(t *testing.T) { // derived
	got := must[Cost](t)(CostOf(BatchCost{
		Materials: []Material{
			{Mass: 500 * Gram, Price: 899, Per: Kilogram},     // 4.495, half up
			{Mass: 143_543, Price: 1250, Per: 2500 * Gram},    // 0.7177
			{Mass: 30 * Gram, Price: 1490, Per: 100 * Gram},   // 4.47
			{Mass: Milligram, Price: maxMoney, Per: Kilogram}, // 10.00
		},
		PerPiece: 35, Minutes: 150, HourlyRate: 1801, Pieces: 9,
	}))
	want := Cost{Materials: 450 + 72 + 447 + 1000, Packaging: 315, Labour: 4503, Total: 6787, Piece: 755}
	if got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestCostRefuses(t *testing.T) {
	for _, c := range []struct {
		field string
		in    BatchCost
	}{
		{"pieces", BatchCost{}},
		{"minutes", BatchCost{Pieces: 1, Minutes: -1}},
		{"hourly_rate", BatchCost{Pieces: 1, HourlyRate: -1}},
		{"per_piece", BatchCost{Pieces: 1, PerPiece: maxMoney + 1}},
		{"materials[0].per", BatchCost{Pieces: 1, Materials: []Material{{Mass: 1, Price: 1}}}},
		{"materials[0].mass", BatchCost{Pieces: 1, Materials: []Material{{Per: Gram}}}},
		{"materials[0].price", BatchCost{Pieces: 1, Materials: []Material{{Mass: 1, Per: Gram, Price: -1}}}},
	} {
		_, err := CostOf(c.in)
		wantField(t, err, c.field)
	}
}

func TestPiecePriceCoversTheBatch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := BatchCost{
			Materials: []Material{{
				Mass:  Mass(rapid.Int64Range(1, int64(maxMass)).Draw(t, "mg")),
				Price: Money(rapid.Int64Range(0, int64(maxMoney)).Draw(t, "price")),
				Per:   Gram,
			}},
			HourlyRate: Money(rapid.Int64Range(0, int64(maxMoney)).Draw(t, "rate")),
			Minutes:    rapid.IntRange(0, 100_000).Draw(t, "minutes"),
			PerPiece:   Money(rapid.Int64Range(0, int64(maxMoney)).Draw(t, "packaging")),
			Pieces:     rapid.IntRange(1, 1_000_000).Draw(t, "pieces"),
		}
		c, err := CostOf(b)
		if err != nil {
			t.Fatal(err)
		}
		if c.Materials+c.Packaging+c.Labour != c.Total {
			t.Fatalf("%+v does not add up", c)
		}
		if rest := c.Piece*Money(b.Pieces) - c.Total; rest < 0 || rest >= Money(b.Pieces) {
			t.Fatalf("%d pieces at %d leave %d", b.Pieces, c.Piece, rest)
		}
	})
}
