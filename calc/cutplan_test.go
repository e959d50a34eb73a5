package calc

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func loafPlan() CutPlan {
	return CutPlan{Thickness: 25 * Millimetre, TrimEnds: 5 * Millimetre, PiecesPerSlice: 1, Spacing: 10 * Millimetre}
}

// TestYield: all derived.
func TestYield(t *testing.T) {
	slab := Mold{Kind: MoldSlab, Length: 310 * Millimetre, Width: 210 * Millimetre, Depth: 30 * Millimetre}
	halved := loafPlan()
	halved.PiecesPerSlice = 2
	for _, c := range []struct {
		name string
		mold Mold
		plan CutPlan
		want Cut
	}{
		{"loaf: floor(240 / 25) slices", litreLoaf(), loafPlan(), Cut{
			Units: 9, Step: 1, Pieces: 9,
			Piece:     Size{80 * Millimetre, 50 * Millimetre, 25 * Millimetre},
			PieceSize: 100_000, Waste: 100_000, WasteShare: 100_000,
			TrimShare: 40_000, UnitShare: 100_000, Footprint: 90 * 35,
		}},
		{"loaf: bars halved across their long side", litreLoaf(), halved, Cut{
			Units: 9, Step: 2, Pieces: 18,
			Piece:     Size{50 * Millimetre, 40 * Millimetre, 25 * Millimetre},
			PieceSize: 50_000, Waste: 100_000, WasteShare: 100_000,
			TrimShare: 40_000, UnitShare: 100_000, Footprint: 60 * 35,
		}},
		{"slab: a grid within the trims", slab, CutPlan{TrimEnds: 5 * Millimetre, Rows: 4, Columns: 5, Spacing: 5 * Millimetre}, Cut{
			Units: 5, Step: 4, Pieces: 20,
			Piece:     Size{60 * Millimetre, 50 * Millimetre, 30 * Millimetre},
			PieceSize: 90_000, Waste: 153_000, WasteShare: 78_341, // 153 of 1953 mL
			TrimShare: 32_259, UnitShare: 193_549, Footprint: 65 * 35,
		}},
		{"cavities: one piece each, depth from the volume", cavities(), CutPlan{PiecesPerSlice: 1}, Cut{
			Units: 6, Step: 1, Pieces: 6,
			Piece:     Size{80 * Millimetre, 55 * Millimetre, 22_728}, // 100 mL over 44 cm2
			PieceSize: 100_000, UnitShare: 166_667, Footprint: 1_819,
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := must[Cut](t)(Yield(c.mold, c.plan)); got != c.want {
				t.Errorf("got  %+v\nwant %+v", got, c.want)
			}
		})
	}
}

func TestYieldRefuses(t *testing.T) {
	for _, c := range []struct {
		field  string
		change func(*Mold, *CutPlan)
	}{
		{"mold.kind", func(m *Mold, _ *CutPlan) { m.Kind = "bucket" }},
		{"mold.depth", func(m *Mold, _ *CutPlan) { m.Depth = 0 }},
		{"mold.length", func(m *Mold, _ *CutPlan) { m.Length = -1 << 62 }},
		{"mold.width", func(m *Mold, _ *CutPlan) { m.Width = 1 << 62 }},
		{"mold.cavities", func(m *Mold, _ *CutPlan) { m.Cavities = 3 }},
		{"thickness", func(_ *Mold, p *CutPlan) { p.Thickness = 0 }},
		{"thickness", func(_ *Mold, p *CutPlan) { p.Thickness = 241 * Millimetre }},
		{"trim_ends", func(_ *Mold, p *CutPlan) { p.TrimEnds = 125 * Millimetre }},
		{"trim_ends", func(_ *Mold, p *CutPlan) { p.TrimEnds = -1 }},
		{"trim_ends", func(_ *Mold, p *CutPlan) { p.TrimEnds = 1 << 62 }},
		{"pieces_per_slice", func(_ *Mold, p *CutPlan) { p.PiecesPerSlice = 0 }},
		{"pieces_per_slice", func(_ *Mold, p *CutPlan) { p.PiecesPerSlice = 1_000_000 }},
		{"pieces_per_slice", func(_ *Mold, p *CutPlan) { p.PiecesPerSlice = 97 }},
		{"spacing", func(_ *Mold, p *CutPlan) { p.Spacing = -1 }},
		{"dressing_clear", func(_ *Mold, p *CutPlan) { p.DressingClear = 13 * Millimetre }},
		{"rows", func(_ *Mold, p *CutPlan) { p.Rows = 2 }},
		{"columns", func(_ *Mold, p *CutPlan) { p.Columns = 2 }},
		{"rows", func(m *Mold, p *CutPlan) { m.Kind = MoldSlab; *p = CutPlan{Columns: 2} }},
		{"thickness", func(m *Mold, p *CutPlan) { m.Kind = MoldSlab; *p = CutPlan{Rows: 1, Columns: 2, Thickness: Inch} }},
		{"trim_ends", func(m *Mold, p *CutPlan) {
			m.Kind = MoldSlab
			*p = CutPlan{Rows: 1, Columns: 2, TrimEnds: 40 * Millimetre}
		}},
		{"dressing_clear", func(m *Mold, p *CutPlan) {
			m.Kind = MoldSlab
			*p = CutPlan{Rows: 8, Columns: 2, DressingClear: 5 * Millimetre}
		}},
		{"thickness", func(m *Mold, p *CutPlan) { *m = cavities(); *p = CutPlan{PiecesPerSlice: 1, Thickness: Inch} }},
		{"mold.cavity_volume", func(m *Mold, p *CutPlan) {
			*m, *p = cavities(), CutPlan{PiecesPerSlice: 1}
			m.Depth = 20 * Millimetre
		}},
		{"mold.cavities", func(m *Mold, p *CutPlan) { *m, *p = cavities(), CutPlan{PiecesPerSlice: 1}; m.Cavities = 0 }},
	} {
		mold, plan := litreLoaf(), loafPlan()
		c.change(&mold, &plan)
		_, err := Yield(mold, plan)
		wantField(t, err, c.field)
	}
	if v := (Mold{Kind: MoldLoaf, Length: 1 << 62, Width: 1 << 62, Depth: 1 << 62}).Volume(); v != 0 {
		t.Errorf("an impossible mold holds %s", v)
	}
}

func TestYieldEdges(t *testing.T) {
	whole := loafPlan()
	whole.Thickness = 240 * Millimetre
	if cut := must[Cut](t)(Yield(litreLoaf(), whole)); cut.Pieces != 1 {
		t.Errorf("a slice as long as the mold gives %d pieces, want 1", cut.Pieces)
	}
	if rows, columns := sliceGrid(50*Millimetre, 50*Millimetre, 2); rows != 1 || columns != 2 {
		t.Errorf("a square face is halved into %d rows and %d columns, want one cut from the top", rows, columns)
	}
	if rows, columns := sliceGrid(80*Millimetre, 50*Millimetre, 4); rows != 2 || columns != 2 {
		t.Errorf("quarters are %d rows and %d columns, want 2 and 2", rows, columns)
	}
	if layout := must[Layout](t)(CutLayout(cavities(), CutPlan{PiecesPerSlice: 1}, 1)); !reflect.DeepEqual(layout, Layout{}) {
		t.Errorf("cavities have cut lines: %+v", layout)
	}
	_, err := CutLayout(litreLoaf(), CutPlan{PiecesPerSlice: 1}, 1)
	wantField(t, err, "thickness")
}

func TestPartFill(t *testing.T) {
	cut := must[Cut](t)(Yield(litreLoaf(), loafPlan()))
	for _, c := range []struct {
		pieces int
		want   PPM
	}{{0, 0}, {1, 140_000}, {4, 440_000}, {9, Whole}, {100, Whole}} {
		if got := cut.FillFor(c.pieces); got != c.want {
			t.Errorf("%d pieces: %s, want %s", c.pieces, got, c.want)
		}
	}
	for _, c := range []struct {
		share PPM
		want  int
	}{{0, 1}, {44 * Percent, 4}, {44*Percent + 1, 5}, {Whole, 9}} {
		if got := cut.MinPieces(c.share); got != c.want {
			t.Errorf("at least %s: %d pieces, want %d", c.share, got, c.want)
		}
	}
}

func TestLessWaste(t *testing.T) {
	better, gives, ok := LessWaste(litreLoaf(), loafPlan()) // 240 mm: ten of 24 mm are nearer than nine of 26.6 mm
	if !ok || better.Thickness != 24*Millimetre || gives.Units != 10 {
		t.Errorf("got %s %v with %d slices, want ten of 24 mm", better.Thickness, ok, gives.Units)
	}
	thin := loafPlan()
	thin.Thickness = 23_500 // ten of 24 mm are nearer than eleven of 21.8 mm
	if better, _, ok := LessWaste(litreLoaf(), thin); !ok || better.Thickness != 24*Millimetre {
		t.Errorf("got %s %v, want 24 mm", better.Thickness, ok)
	}
	if again, _, ok := LessWaste(litreLoaf(), better); ok {
		t.Errorf("%s wastes less than a plan with no rest", again.Thickness)
	}
	if _, _, ok := LessWaste(cavities(), CutPlan{PiecesPerSlice: 1}); ok {
		t.Error("a cavity mold has no slices to improve")
	}
}

func TestCutLayout(t *testing.T) {
	mold := litreLoaf()
	mold.Length = 60 * Millimetre
	plan := loafPlan()
	plan.PiecesPerSlice, plan.DressingClear = 2, 3*Millimetre
	got := must[Layout](t)(CutLayout(mold, plan, 4))
	want := Layout{
		Filled: 60_000,
		Across: []Length{5_000, 30_000, 55_000},
		Along:  []Length{40_000},
		Spots: []Spot{
			{8_000, 27_000, 3_000, 37_000},
			{33_000, 52_000, 3_000, 37_000},
			{8_000, 27_000, 43_000, 77_000},
			{33_000, 52_000, 43_000, 77_000},
		},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	slab := Mold{Kind: MoldSlab, Length: 100 * Millimetre, Width: 70 * Millimetre, Depth: 30 * Millimetre}
	got = must[Layout](t)(CutLayout(slab, CutPlan{Rows: 2, Columns: 3}, 6))
	if !reflect.DeepEqual(got.Across, []Length{33_333, 66_666}) || !reflect.DeepEqual(got.Along, []Length{35_000}) {
		t.Errorf("slab without trims is cut at %v and %v; the walls are no cuts", got.Across, got.Along)
	}
}

// TestPartLayoutIsWhatIsPoured holds the picture of a part-full mold against the
// share that is poured: it ends where that share of the length does, to the rounding of a share.
func TestPartLayoutIsWhatIsPoured(t *testing.T) {
	slab := Mold{Kind: MoldSlab, Length: 100 * Millimetre, Width: 70 * Millimetre, Depth: 30 * Millimetre}
	for name, c := range map[string]struct {
		mold   Mold
		plan   CutPlan
		pieces int
		want   Layout
	}{
		"loaf":            {litreLoaf(), loafPlan(), 3, Layout{Filled: 85_000, Across: []Length{5_000, 30_000, 55_000, 80_000}}},
		"loaf, no trims":  {litreLoaf(), CutPlan{Thickness: 25 * Millimetre, PiecesPerSlice: 1}, 2, Layout{Filled: 50_000, Across: []Length{25_000}}},
		"full":            {litreLoaf(), CutPlan{Thickness: 120 * Millimetre, PiecesPerSlice: 1}, 99, Layout{Filled: 250_000, Across: []Length{120_000, 240_000}}},
		"slab":            {slab, CutPlan{Rows: 2, Columns: 4, TrimEnds: 10 * Millimetre}, 5, Layout{Filled: 80_000, Across: []Length{10_000, 30_000, 50_000, 70_000}, Along: []Length{10_000, 35_000, 60_000}}},
		"halved hollows":  {cavities(), CutPlan{PiecesPerSlice: 2}, 3, Layout{Across: []Length{cavities().Length / 2}}},
		"hollows as cast": {cavities(), CutPlan{PiecesPerSlice: 1}, 3, Layout{}},
	} {
		got := must[Layout](t)(CutLayout(c.mold, c.plan, c.pieces))
		if got.Filled != c.want.Filled || !slices.Equal(got.Across, c.want.Across) || !slices.Equal(got.Along, c.want.Along) {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
		if c.mold.Kind == MoldCavity {
			continue
		}
		share := must[Cut](t)(Yield(c.mold, c.plan)).FillFor(c.pieces)
		if off := Length(share)*c.mold.Length/Length(Whole) - got.Filled; off < 0 || off > 10 {
			t.Errorf("%s: drawn to %s, %d um from what is poured", name, got.Filled, off)
		}
		for _, s := range got.Spots {
			if s.ToX > got.Filled {
				t.Errorf("%s: dressing at %+v lies beyond the divider", name, s)
			}
		}
	}
}

func TestYieldConservesVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := func(name string, from, to int64) Length {
			return Length(rapid.Int64Range(from*1000, to*1000).Draw(t, name))
		}
		mold := Mold{Kind: MoldLoaf, Length: mm("length", 100, 600), Width: mm("width", 40, 150), Depth: mm("depth", 40, 150)}
		plan := CutPlan{
			Thickness: mm("thickness", 10, 40), TrimEnds: mm("trim", 0, 20),
			PiecesPerSlice: rapid.IntRange(1, 8).Draw(t, "pieces"), Spacing: mm("spacing", 0, 30),
		}
		cut, err := Yield(mold, plan)
		if err != nil {
			t.Fatal(err)
		}
		used := Length(cut.Units) * plan.Thickness
		if left := mold.Length - 2*plan.TrimEnds - used; left < 0 || left >= plan.Thickness {
			t.Fatalf("%d slices leave %s", cut.Units, left)
		}
		if got := Volume(cut.Pieces)*cut.PieceSize + cut.Waste; got < mold.Volume() || got > mold.Volume()+Volume(cut.Pieces) {
			t.Fatalf("pieces and waste make %s of %s", got, mold.Volume())
		}
		if share := cut.FillFor(cut.Step); cut.MinPieces(share) != cut.Step {
			t.Fatalf("%s fills one unit, yet at least %d pieces", share, cut.MinPieces(share))
		}
	})
}
