package calc

import (
	"bytes"
	"encoding/csv"
	"os"
	"testing"

	"pgregory.net/rapid"
)

// table reads a table of published figures beside the project's tests, without
// its heading.
func table(t *testing.T, name string) [][]string {
	t.Helper()
	text, err := os.ReadFile("../testdata/trade/" + name)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

// TestLyeDensity holds every point at 20 C of the published table, and those
// from memory above 40 %, against the embedded one. Between 20 and 40 % the
// points from memory are not embedded: the straight line must stay within 0.1 %.
func TestLyeDensity(t *testing.T) {
	checked := 0
	for _, row := range table(t, "naoh_density.csv") {
		if row[2] != "20" {
			continue
		}
		checked++
		c, want := PPM(tableNumber(row[0], int64(Percent))), Density(tableNumber(row[1], int64(GramPerML)))
		got := must[Density](t)(LyeDensity(c))
		off := max(got-want, want-got)
		if embedded := row[4] == "published" || c > 40*Percent; embedded && off != 0 || off > want/1000 {
			t.Errorf("%s: %s, want %s", c, got, want)
		}
	}
	if checked < 19 {
		t.Errorf("only %d points checked", checked)
	}
	for _, c := range []PPM{-1, 50*Percent + 1} {
		_, err := LyeDensity(c)
		wantField(t, err, "concentration")
	}
}

// TestOilDensity is the worked batch's oils at 40 C (derived by the published
// formula; iodine values 82, 9 and 50 from memory).
func TestOilDensity(t *testing.T) {
	for _, c := range []struct {
		sv     string
		iodine int64
		want   string
	}{
		{"190", 8_200, "0.8992"},
		{"256.5", 900, "0.9089"},
		{"200", 5_000, "0.8977"},
	} {
		got := must[Density](t)(OilDensity(sv(c.sv), c.iodine, 40*Celsius))
		if decimal(int64(got), int64(GramPerML), 4) != c.want {
			t.Errorf("SV %s, iodine value %d: %s, want %s", c.sv, c.iodine/100, got, c.want)
		}
	}
	_, err := OilDensity(0, 0, 0)
	wantField(t, err, "sv")
	_, err = OilDensity(sv("190"), -1, 0)
	wantField(t, err, "iodine_value")
	_, err = OilDensity(sv("190"), 0, 300*Celsius)
	wantField(t, err, "temperature")
}

func workedParts(t *testing.T) []Part {
	t.Helper()
	solution := must[Part](t)(must[Lye](t)(ComputeLye(workedRecipe())).Part())
	return []Part{
		{"olive oil", 500 * Gram, 899_200},
		{"coconut oil", 300 * Gram, 908_900},
		{"palm oil", 200 * Gram, 897_700},
		solution,
	}
}

func TestWorkedBatter(t *testing.T) { // derived
	parts := workedParts(t)
	oils := must[Batter](t)(Mix(parts[:3]))
	if decimal(int64(oils.Volume), 1000, 2) != "1108.91" {
		t.Errorf("oils %s, want 1108.91 mL", oils.Volume)
	}
	if got := parts[3].Density.String(); got != "1.3618 g/ml" {
		t.Errorf("lye solution %s, want 1.3618 g/mL", got)
	}
	if v := parts[3].Density.VolumeOf(parts[3].Mass); decimal(int64(v), 1000, 2) != "316.23" {
		t.Errorf("lye solution %s, want 316.23 mL", v)
	}
	batter := must[Batter](t)(Mix(parts))
	if batter.Mass != 1_430_630 || decimal(int64(batter.Volume), 1000, 2) != "1425.14" {
		t.Errorf("batter %s, %s; want 1430.63 g, 1425.14 mL", batter.Mass, batter.Volume)
	}
	if got := decimal(int64(batter.Density()), int64(GramPerML), 3); got != "1.004" {
		t.Errorf("batter %s g/mL, want 1.004", got)
	}
}

func TestMixRefuses(t *testing.T) {
	_, err := Mix(nil)
	wantField(t, err, "parts")
	_, err = Mix([]Part{{"oil", 1, 0}})
	wantField(t, err, "parts[0].density")
	_, err = Mix([]Part{{"oil", -1, GramPerML}})
	wantField(t, err, "parts[0].mass")
}

func litreLoaf() Mold {
	return Mold{Kind: MoldLoaf, Length: 250 * Millimetre, Width: 80 * Millimetre, Depth: 50 * Millimetre}
}

func cavities() Mold {
	return Mold{Kind: MoldCavity, Length: 80 * Millimetre, Width: 55 * Millimetre, Cavities: 6, CavityVolume: 100 * Millilitre}
}

func TestFillMolds(t *testing.T) {
	batter := Batter{Mass: 2_008_000, Volume: 2 * Litre}
	got := must[Filling](t)(FillMolds(batter, []MoldFill{{litreLoaf(), 1, 90 * Percent}, {cavities(), 1, Whole}}))
	if got.Wanted != 1_500_000 || got.Left.Volume != 500_000 || got.Left.Mass != 502_000 || got.Missing != (Batter{}) {
		t.Errorf("got %+v; want 1.5 l poured, 500 mL and 502 g left", got)
	}
	if got.Poured[0] != (Pour{903_600, 900_000}) || got.Poured[1] != (Pour{602_400, 600_000}) {
		t.Errorf("poured %+v", got.Poured)
	}
	got = must[Filling](t)(FillMolds(batter, []MoldFill{{litreLoaf(), 3, Whole}}))
	if got.Missing.Volume != Litre || got.Missing.Mass != 1_004_000 || got.Left != (Batter{}) {
		t.Errorf("got %+v; want 1004 g missing", got)
	}
}

func TestFillMoldsRefuses(t *testing.T) {
	batter := Batter{Mass: Kilogram, Volume: Litre}
	for _, c := range []struct {
		field  string
		batter Batter
		molds  []MoldFill
	}{
		{"molds", batter, nil},
		{"batter", Batter{}, []MoldFill{{litreLoaf(), 1, Whole}}},
		{"batter", Batter{Mass: Kilogram, Volume: 1}, []MoldFill{{litreLoaf(), 1, Whole}}},
		{"molds[0].count", batter, []MoldFill{{litreLoaf(), 0, Whole}}},
		{"molds[0].share", batter, []MoldFill{{litreLoaf(), 1, Whole + 1}}},
		{"molds[0].mold.kind", batter, []MoldFill{{Mold{Length: Inch, Width: Inch}, 1, Whole}}},
	} {
		_, err := FillMolds(c.batter, c.molds)
		wantField(t, err, c.field)
	}
}

func TestFillingConservesMass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		volume := rapid.Int64Range(1000, 50_000_000).Draw(t, "ul")
		batter := Batter{Mass: Mass(volume + rapid.Int64Range(0, volume/20).Draw(t, "mg")), Volume: Volume(volume)}
		molds := []MoldFill{
			{litreLoaf(), rapid.IntRange(1, 5).Draw(t, "loaves"), PPM(rapid.Int64Range(1, int64(Whole)).Draw(t, "share"))},
			{cavities(), rapid.IntRange(1, 20).Draw(t, "trays"), Whole},
		}
		f, err := FillMolds(batter, molds)
		if err != nil {
			t.Fatal(err)
		}
		mass, room := f.Left.Mass, f.Left.Volume
		for _, p := range f.Poured {
			mass, room = mass+p.Mass, room+p.Volume
		}
		if mass != batter.Mass || room != batter.Volume {
			t.Fatalf("%+v does not add up to %+v", f, batter)
		}
		if f.Left.Volume > 0 && f.Missing.Volume > 0 {
			t.Fatalf("batter is both left and missing: %+v", f)
		}
	})
}

func TestBestForRest(t *testing.T) {
	small := cavities()
	small.Cavities = 2
	spare := []Mold{litreLoaf(), cavities(), small, {}}
	for _, c := range []struct {
		left Volume
		want int
		ok   bool
	}{
		{500_000, 1, true}, // 600 mL is 83 % full, nothing left
		{480_000, 1, true}, // 80 % to a hair
		{479_999, 2, true},
		{900_000, 0, true},
		{220_000, 2, true},
		{100_000, 0, false},
	} {
		if got, ok := BestForRest(c.left, spare, 80*Percent); ok != c.ok || got != c.want {
			t.Errorf("%s: mold %d %v, want %d %v", c.left, got, ok, c.want, c.ok)
		}
	}
}

func TestScaleOils(t *testing.T) {
	got := must[[]Oil](t)(ScaleOils(workedOils(), Litre, 2*Litre))
	for i, o := range workedOils() {
		if got[i].Mass != 2*o.Mass || got[i].Name != o.Name || got[i].SV != o.SV {
			t.Errorf("twice %+v is %+v", o, got[i])
		}
	}
	_, err := ScaleOils(workedOils(), 0, Litre)
	wantField(t, err, "volume")
	_, err = ScaleOils(workedOils(), 1, maxVolume)
	wantField(t, err, "volume")
	_, err = ScaleOils(nil, Litre, Litre)
	wantField(t, err, "oils")
}

func TestScalingIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		oils := drawOils(t)
		from := rapid.Int64Range(100_000, 20_000_000).Draw(t, "from")
		to := rapid.Int64Range(1000, 20_000_000).Draw(t, "to")
		scaled, err := ScaleOils(oils, Volume(from), Volume(to))
		if err != nil {
			t.Fatal(err)
		}
		var before, after Mass
		for i, o := range oils {
			before, after = before+o.Mass, after+scaled[i].Mass
			if d := int64(scaled[i].Mass) - mulDiv(int64(o.Mass), to, from); d < -1 || d > 1 {
				t.Fatalf("%s x %d/%d is %s", o.Mass, to, from, scaled[i].Mass)
			}
		}
		if want := Mass(mulDiv(int64(before), to, from)); after != want {
			t.Fatalf("scaled oils weigh %s, want %s", after, want)
		}
	})
}

func TestPots(t *testing.T) {
	got := must[[]Mass](t)(Pots(1_000, []Pot{{"white", 333_334}, {"blue", 333_333}, {"green", 333_333}}))
	if got[0] != 334 || got[1] != 333 || got[2] != 333 {
		t.Errorf("got %v, want [334 333 333]", got)
	}
	for _, c := range []struct {
		field string
		total Mass
		pots  []Pot
	}{
		{"pots", 1000, nil},
		{"pots", 1000, []Pot{{"white", Whole - 1}}},
		{"pots[1].share", 1000, []Pot{{"white", Whole}, {"blue", 0}}},
		{"total", 0, []Pot{{"white", Whole}}},
	} {
		_, err := Pots(c.total, c.pots)
		wantField(t, err, c.field)
	}
}

func TestPotsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "pots")
		pots := make([]Pot, n)
		left := Whole
		for i := range pots {
			pots[i].Share = left
			if i < n-1 {
				pots[i].Share = PPM(rapid.Int64Range(1, int64(left)-int64(n-1-i)).Draw(t, "share"))
			}
			left -= pots[i].Share
		}
		total := Mass(rapid.Int64Range(1, int64(maxMass)).Draw(t, "mg"))
		masses, err := Pots(total, pots)
		if err != nil {
			t.Fatal(err)
		}
		var all Mass
		for i, m := range masses {
			all += m
			if exact := pots[i].Share.Of(total); m < exact-1 || m > exact+1 {
				t.Fatalf("pot %d: %s of %s is %s", i, pots[i].Share, total, m)
			}
		}
		if all != total {
			t.Fatalf("pots hold %s of %s", all, total)
		}
	})
}

// TestKnownOils holds the embedded table against the table of sources: its
// preferred rows, no more and no fewer.
func TestKnownOils(t *testing.T) {
	status := map[string]Status{"published": Published, "second-hand": SecondHand, "memory": FromMemory}
	known := KnownOils()
	i := 0
	for _, row := range table(t, "saponification.csv") {
		if row[7] != "yes" {
			continue
		}
		if i == len(known) {
			t.Fatalf("%s and what follows is not embedded", row[0])
		}
		o := known[i]
		i++
		if want := (SVRange{sv(row[2]), sv(row[6]), sv(row[3])}); o.Name != row[0] || o.SV != want || o.Source != row[4] || o.Status != status[row[5]] {
			t.Errorf("embedded %+v, table %v", o, row)
		}
		if o.Density > 0 {
			low, high := Density(tableNumber(row[8], int64(GramPerML))), Density(tableNumber(row[9], int64(GramPerML)))
			if o.Density < low || o.Density > high {
				t.Errorf("%s: density %v, the table says %s to %s", o.Name, o.Density, row[8], row[9])
			}
		}
		var errs FieldErrors
		o.SV.check(&errs, o.Name)
		if errs != nil || o.LabelName == "" || o.IodineHundredths == 0 {
			t.Errorf("%s: %v, label name %q, iodine value %d", o.Name, errs, o.LabelName, o.IodineHundredths)
		}
	}
	if i != len(known) {
		t.Errorf("%d oils embedded, %d in the table of sources", len(known), i)
	}
	known[0].Name = "changed"
	if KnownOils()[0].Name == "changed" {
		t.Error("a caller can change the embedded table")
	}
}
