package orders

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// drawKind is a mold that suits the cut drawn with it.
func drawKind(t *rapid.T) (Mold, CutPlan) {
	mm := func(name string, from, to int64) calc.Length {
		return calc.Length(rapid.Int64Range(from*1000, to*1000).Draw(t, name))
	}
	m := Mold{
		Meta: Meta{ID: "m"}, Name: "Mold", Count: 12, MinFill: calc.PPM(rapid.Int64Range(0, int64(calc.Whole)).Draw(t, "least")),
		Kind:   rapid.SampledFrom([]calc.MoldKind{calc.MoldLoaf, calc.MoldSlab, calc.MoldCavity}).Draw(t, "kind"),
		Length: mm("length", 200, 600), Width: mm("width", 80, 300), Depth: mm("depth", 40, 90),
	}
	plan := CutPlan{TrimEnds: mm("trim", 0, 15), Spacing: calc.Millimetre}
	switch m.Kind {
	case calc.MoldLoaf:
		plan.Thickness, plan.PiecesPerSlice = mm("thickness", 15, 40), rapid.IntRange(1, 3).Draw(t, "across")
	case calc.MoldSlab:
		plan.Rows, plan.Columns = rapid.IntRange(1, 5).Draw(t, "rows"), rapid.IntRange(1, 9).Draw(t, "columns")
	default:
		m.Length, m.Width, m.Depth, plan.TrimEnds = mm("hollow's length", 50, 90), mm("hollow's width", 50, 90), 0, 0
		m.Cavities, m.CavityVolume = rapid.IntRange(1, 30).Draw(t, "cavities"), calc.Volume(rapid.Int64Range(50_000, 500_000).Draw(t, "hollow"))
		plan.PiecesPerSlice = rapid.IntRange(1, 2).Draw(t, "of each")
	}
	return m, plan
}

// drawUse fills some molds, each as far as the mold allows.
func drawUse(t *rapid.T, f schedule.Fit) schedule.MoldUse {
	use := schedule.MoldUse{MoldID: f.MoldID, Units: rapid.IntRange(1, 12).Draw(t, "molds")}
	for range use.Units {
		use.Pieces += f.Min + f.Step*rapid.IntRange(0, (f.Full-f.Min)/f.Step).Draw(t, "steps")
	}
	return use
}

// TestAPlannedBatchIsPouredToThePiece: whatever a plan gives to molds, the sheet
// cuts as many pieces of them, part of the batter goes into each and all of it into
// some, and the sheet, the supplies and the cost weigh the same.
func TestAPlannedBatchIsPouredToThePiece(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := pantry(Ingredient{})
		m, plan := drawKind(t)
		cut, err := calc.Yield(m.calcMold(), calc.CutPlan(plan))
		if err != nil {
			t.Fatal(err)
		}
		use := drawUse(t, m.fit(cut))
		s.Molds, s.Designs[0].Cut = []Mold{m}, plan
		s.Ingredients = append(s.Ingredients, Ingredient{Meta: Meta{ID: "lye"}, Name: "Lye", Kind: KindLye})
		b := Batch{Lot: "LOT", DesignID: "d", State: BatchPlanned, Molds: []schedule.MoldUse{use}, Pieces: use.Pieces}
		made := making{Making: Making{Recipe: s.Recipes[0], Design: s.Designs[0], Ingredients: s.Ingredients[:2], Molds: s.Molds}, batch: b, zone: time.UTC}
		sheet := made.sheet()
		if sheet.Trouble != "" || sheet.Surplus != 0 {
			t.Fatalf("%d pieces more than %+v; %s", sheet.Surplus, use, sheet.Trouble)
		}
		pouredToThePiece(t, sheet, use)
		sameWeights(t, s, made, sheet)
	})
}

func pouredToThePiece(t *rapid.T, sheet Sheet, use schedule.MoldUse) {
	t.Helper()
	molds, fills, cuts, part := 0, 0, 0, 0
	mass := sheet.Left.Mass
	for i, f := range sheet.Fills {
		c := sheet.Cuts[i]
		molds, fills, cuts, mass = molds+f.Units, fills+f.Pieces, cuts+c.Units*c.Pieces, mass+f.Batter.Mass
		if c.Units != f.Units || c.Pieces*c.Units != f.Pieces || (f.Fill == calc.Whole) == c.Part() {
			t.Fatalf("fill %+v of cut %+v", f, c)
		}
		if c.Part() {
			part++
		}
	}
	if len(sheet.Cuts) != len(sheet.Fills) || molds != use.Units || fills != use.Pieces || cuts != use.Pieces || part > 2 {
		t.Fatalf("%+v is filled as %+v", use, sheet.Fills)
	}
	if mass != sheet.Weights.Total.Mass || sheet.Missing.Mass != 0 {
		t.Fatalf("%s are poured and left of %s, %s missing", mass, sheet.Weights.Total.Mass, sheet.Missing.Mass)
	}
}

// sameWeights holds the sheet's weights against those that supplies and costs go by.
func sameWeights(t *rapid.T, s *Snapshot, made making, sheet Sheet) {
	t.Helper()
	needs, err := s.workings().needsOf(made.batch)
	if err != nil {
		t.Fatal(err)
	}
	costed, err := made.mixed()
	if err != nil {
		t.Fatal(err)
	}
	w := sheet.Weights
	weighed := []calc.Mass{w.Oils[0].Mass, w.Added[0].Mass, w.Lye.NaOH}
	for i, n := range costed.withLye(s.Ingredients, civil.Date{}) {
		if needs[i].ingredient.ID != n.ingredient.ID || needs[i].mass != n.mass || weighed[i] != n.mass {
			t.Fatalf("%s: the sheet has %s, supplies %s, the cost %s", n.ingredient.Name, weighed[i], needs[i].mass, n.mass)
		}
	}
}
