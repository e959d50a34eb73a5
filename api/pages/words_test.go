package pages

import (
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// wordsFor writes for a workshop on Wednesday 25 November 2026.
func wordsFor(t *testing.T, locale, units string) words {
	t.Helper()
	zone, err := civil.LoadZone("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	shop := orders.Workshop{Locale: locale, Units: units}
	return newWords(shop, zone, time.Date(2026, 11, 25, 23, 30, 0, 0, time.UTC))
}

func TestDaysInTheWorkshopsLanguage(t *testing.T) {
	t.Parallel()
	day := civil.Date{Year: 2026, Month: time.December, Day: 3}
	for locale, want := range map[string]string{
		"en-GB": "Thu 3 Dec", "en-US": "Thu 3 Dec", "de-AT": "Do 3. Dez", "fr": "jeu. 3 déc.", "pt-PT": "qui 3 dez", "es-MX": "jue 3 dic",
		"ja": "Thu 3 Dec", "nonsense!": "Thu 3 Dec",
	} {
		if got := wordsFor(t, locale, "metric").day(day); got != want {
			t.Errorf("in %s it is %q, want %q", locale, got, want)
		}
	}
	w := wordsFor(t, "en-GB", "metric")
	for _, c := range []struct {
		day  civil.Date
		want string
	}{
		{civil.Date{}, ""},
		{w.today, "today, Wed 25 Nov"},
		{w.today.AddDays(1), "tomorrow, Thu 26 Nov"},
		{w.today.AddDays(-1), "yesterday, Tue 24 Nov"},
		{w.today.AddDays(-3), "Sun 22 Nov, 3 days ago"},
		{w.today.AddDays(40), "Mon 4 Jan 2027, in 40 days"},
	} {
		if got := w.near(c.day); got != c.want {
			t.Errorf("%s is %q, want %q", c.day, got, c.want)
		}
	}
}

func TestStoredSentencesAreDatedAsTheWorkshopReads(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ locale, stored, want string }{
		{"en-GB", "Accepted 12 Naming day, needed by 2026-12-03.", "Accepted 12 Naming day, needed by Thu 3 Dec."},
		{"de-AT", "2026-12-03 to 2027-01-04", "Do 3. Dez to Mo 4. Jan 2027"},
		{"en-GB", "Lot OAT-2026-12-03 of 2026-13-40", "Lot OAT-2026-12-03 of 2026-13-40"},
	} {
		if got := wordsFor(t, c.locale, "metric").dated(c.stored); got != c.want {
			t.Errorf("%q is read as %q, want %q", c.stored, got, c.want)
		}
	}
}

func TestTimesAreTheWorkshops(t *testing.T) {
	t.Parallel()
	w := wordsFor(t, "en-GB", "metric")
	from := time.Date(2026, 7, 1, 22, 30, 0, 0, time.UTC) // 23:30 in Lisbon's summer
	if got, want := w.span(from, from.Add(20*time.Minute)), "Wed 1 Jul 23:30–23:50"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := w.span(from, from.Add(time.Hour)), "Wed 1 Jul 23:30 – Thu 2 Jul 00:30"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestAmountsReadBackAsTyped(t *testing.T) {
	t.Parallel()
	for _, units := range []string{"metric", "imperial"} {
		w := wordsFor(t, "en-GB", units)
		for _, l := range []calc.Length{calc.Millimetre, 25_400, 12_345, 600 * calc.Millimetre} {
			back, err := calc.ParseLength("x", w.lengthValue(l), calc.Unit(w.lengthUnit()))
			if err != nil || back != l {
				t.Errorf("%s: %v is written %q and read back as %v, %v", units, l, w.lengthValue(l), back, err)
			}
		}
		for _, m := range []calc.Mass{1, calc.Gram, 28_350, 12_345_678} {
			back, err := calc.ParseMass("x", w.massValue(m), calc.Unit(w.massUnit()))
			if err != nil || back != m {
				t.Errorf("%s: %v is written %q and read back as %v, %v", units, m, w.massValue(m), back, err)
			}
		}
	}
	if got := wordsFor(t, "en-GB", "imperial").mass(calc.Kilogram); got != "35.27 oz" {
		t.Errorf("a kilogram is %q", got)
	}
}

// TestSmallDosesAreWeighedClosely writes what may be the largest safe dose never
// above what it is, and in ounces so finely that little is lost; and what is lacking
// never below what it is.
func TestSmallDosesAreWeighedClosely(t *testing.T) {
	t.Parallel()
	metric, imperial := wordsFor(t, "en-GB", "metric"), wordsFor(t, "en-GB", "imperial")
	for _, c := range []struct {
		got, want string
	}{
		{imperial.mass(3 * calc.Gram), "0.106 oz"}, // 0.10582 oz
		{imperial.dose(3 * calc.Gram), "0.105 oz"},
		{imperial.dose(28_349), "0.999 oz"},
		{imperial.dose(28_350), "1.00 oz"},
		{imperial.dose(100 * calc.Gram), "3.52 oz"}, // 3.52740 oz
		{metric.dose(3_099), "3.0 g"},
		{metric.dose(3_100), "3.1 g"},
		{metric.dose(2_000_999), "2000 g"},
		{metric.mass(3_099), "3.1 g"},
		{imperial.workedDose(3_000), "0.105 oz"}, // 0.10582 oz
		{metric.workedDose(3_099), "3.099 g"},
		{metric.lacking(3_001), "3.1 g"},
		{metric.lacking(1_004_000), "1.01 kg"},
		{metric.lacking(2_000_000), "2 kg"},
		{imperial.lacking(3_000), "0.11 oz"},
		{imperial.lacking(470_000), "1.1 lb"}, // 1.036 lb
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestCounts(t *testing.T) {
	t.Parallel()
	for want, got := range map[string]string{
		"1 day": count(1, "day"), "0 days": count(0, "day"), "2 batches": count(2, "batch"), "3 cavities": count(3, "cavity"),
		"6 shelves": count(6, "shelf"), "a, b and c": join([]string{"a", "b", "c"}), "a": join([]string{"a"}), "Été": capital("été"),
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestMessagesAreSentences(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ label, message, want string }{
		{"Name", "is empty; give it a name", "Name is empty; give it a name."},
		{"Length", `"x" is not a unit of length`, `Length: "x" is not a unit of length.`},
		{"Molds", "choose at least one", "Molds: choose at least one."},
		{"Parts", "the oils add up to 90 %", "Parts: the oils add up to 90 %."},
		{"Value used", "an oil needs its value", "Value used: an oil needs its value."},
		{"Mold", "must be chosen", "Mold must be chosen."},
		{"Weight", "weight must be more than 0", "Weight must be more than 0."},
		{"Lye concentration, in %", "the lye concentration must lie between 10 % and 50 %", "The lye concentration must lie between 10 % and 50 %."},
		{"Quiet hours", "quiet hours need a start and an end", "Quiet hours need a start and an end."},
		{"When it was done, at", "at 3 it was not poured", "When it was done, at: at 3 it was not poured."},
		{"Lines", "add up to more than 9 pieces", "Lines add up to more than 9 pieces."},
		{"", "must be chosen", "Must be chosen."},
		{"Customer", "Either choose or name one.", "Either choose or name one."},
	} {
		if got := messageOf(c.label, c.message); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestFewerPiecesLeaveTheFirstLines(t *testing.T) {
	t.Parallel()
	q := orders.Question{Lines: []orders.OrderLine{
		{DesignID: "a", Pieces: 20, Spares: 2, Keepsakes: 1}, {DesignID: "b", Pieces: 10, Spares: 5},
	}}
	for _, pieces := range []int{38, 30, 25, 23, 21, 7} {
		total := 0
		for _, l := range fewer(q, pieces).Lines {
			total += l.Total()
		}
		if total != pieces {
			t.Errorf("asking for %d asks for %d", pieces, total)
		}
	}
	if got := fewer(q, 23).Lines; len(got) != 1 || got[0].DesignID != "a" {
		t.Errorf("23 pieces are %+v", got)
	}
}

func TestRowsAreCompacted(t *testing.T) {
	t.Parallel()
	v := &visit{}
	f := v.blankForm()
	f.sent = true
	f.values.Set("lines[0].pieces", " ")
	f.values.Set("lines[2].pieces", "4")
	f.values.Set("lines[2].design_id", "d")
	f.values.Set("lines[5].pieces", "x")
	if n := f.compact("lines", 10, "pieces", "design_id"); n != 2 {
		t.Fatalf("%d rows are filled, want 2", n)
	}
	if f.text("lines[0].design_id") != "d" || f.whole("lines[0].pieces", 0) != 4 {
		t.Errorf("the first filled row did not move up: %v", f.values)
	}
	if f.whole("lines[1].pieces", 7) != 7 || f.ok() {
		t.Error("a row that can not be read has no message")
	}
}

func TestWeightsOnAShelfAreReadInLargeUnits(t *testing.T) {
	t.Parallel()
	metric, imperial := wordsFor(t, "en-GB", "metric"), wordsFor(t, "en-GB", "imperial")
	for want, got := range map[string]string{
		"10 kg": metric.stored(10 * calc.Kilogram), "1.25 kg": metric.stored(1250 * calc.Kilogram / 1000), "999.0 g": metric.stored(999 * calc.Kilogram / 1000),
		"22 lb": imperial.stored(10 * calc.Kilogram), "14.11 oz": imperial.stored(400 * calc.Kilogram / 1000),
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestPlanFitsPaper(t *testing.T) {
	t.Parallel()
	for width, want := range map[int]int{100: 9, 540: 9, 1000: 6, 3200: 2, 100000: 2} {
		if got := fitPaper(width); got != want {
			t.Errorf("a picture %d wide has %d tenths of its size on paper, want %d", width, got, want)
		}
	}
}

func TestOrdersToWatchBeginWithTheWorst(t *testing.T) {
	t.Parallel()
	day := func(d int) civil.Date { return civil.Date{Year: 2026, Month: 12, Day: d} }
	var got []string
	for _, o := range worstFirst([]schedule.OrderOutcome{
		{OrderID: "no second try", Ready: day(5)},
		{OrderID: "in doubt", Ready: day(30)},
		{OrderID: "late", Ready: day(20), LateDays: 3},
		{OrderID: "no second try, sooner", Ready: day(2)},
		{OrderID: "short", Ready: day(8), Short: 4},
	}, []orders.Obstacle{{OrderIDs: []string{"in doubt"}}}) {
		got = append(got, o.OrderID)
	}
	if want := "short, late, in doubt, no second try, sooner and no second try"; join(got) != want {
		t.Errorf("the orders stand as %s, want %s", join(got), want)
	}
}
