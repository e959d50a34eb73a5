package calc

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// wantField fails unless err complains at field, and of nothing else.
func wantField(t *testing.T, err error, field string) {
	t.Helper()
	var list FieldErrors
	if !errors.As(err, &list) {
		t.Fatalf("got %v, want a complaint at %q", err, field)
	}
	for _, fe := range list {
		if fe.Field != field {
			t.Errorf("complaint at %q (%s), want only %q", fe.Field, fe.Message, field)
		}
		if strings.TrimSpace(fe.Message) == "" || strings.Contains(fe.Message, "%!") {
			t.Errorf("message at %q is %q", fe.Field, fe.Message)
		}
	}
}

func must[T any](t *testing.T) func(v T, err error) T {
	t.Helper()
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func TestParseMass(t *testing.T) {
	for _, c := range []struct {
		text string
		bare Unit
		want Mass
	}{
		{"500", UnitGram, 500_000},
		{"500 g", UnitOunce, 500_000},
		{" 500g ", UnitGram, 500_000},
		{"0.5 KG", UnitGram, 500_000},
		{"17.6 oz", UnitGram, 498_952}, // 17.6 x 28.349523125 g = 498.9516... g; ounce published
		{"17,6", UnitOunce, 498_952},
		{"1 lb", UnitGram, 453_592}, // 453.59237 g, published
		{"147,983 g", UnitGram, 0},
		{"0,500", UnitGram, 500},
		{"1,50", UnitGram, 1_500},
		{"12 mg", UnitGram, 12},
		{".5", UnitGram, 500},
		{"5.", UnitGram, 5_000},
		{"0.0005", UnitGram, 1}, // half a milligram rounds away from zero
	} {
		got, err := ParseMass("oil", c.text, c.bare)
		if c.want == 0 {
			wantField(t, err, "oil")
			continue
		}
		if err != nil || got != c.want {
			t.Errorf("ParseMass(%q, %s) = %d, %v; want %d", c.text, c.bare, got, err, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, text := range []string{
		"", "  ", "g", "NaN", "inf", "-5", "−5 g", "1.2.3", "1,234.5", "1,500", "1e9", "0x10", "1/2", "5 stone",
		"5 g 6", "99999999 kg", strings.Repeat("9", 5000), "5\n6", ".", ",",
	} {
		_, err := ParseMass("oils[0].mass", text, UnitGram)
		wantField(t, err, "oils[0].mass")
	}
	_, err := ParseLength("width", "6 m", UnitMillimetre)
	wantField(t, err, "width")
	_, err = ParsePercent("superfat", "5 g")
	wantField(t, err, "superfat")
	_, err = ParseTemperature("temperature", "200 C", UnitCelsius)
	wantField(t, err, "temperature")
	_, err = ParseTemperature("temperature", "20 F", UnitCelsius)
	wantField(t, err, "temperature")
	_, err = ParseTemperature("temperature", "20 K", UnitCelsius)
	wantField(t, err, "temperature")
}

func TestParseOthers(t *testing.T) {
	if got := must[Length](t)(ParseLength("f", `1 in`, UnitMillimetre)); got != 25_400 { // exact by definition
		t.Errorf("1 in = %d um", got)
	}
	if got := must[Length](t)(ParseLength("f", `2,5`, UnitCentimetre)); got != 25_000 {
		t.Errorf("2,5 cm = %d um", got)
	}
	if got := must[Volume](t)(ParseVolume("f", "1.2 L", UnitMillilitre)); got != 1_200_000 {
		t.Errorf("1.2 l = %d ul", got)
	}
	for _, c := range []struct {
		text string
		want Length
	}{{"25 mm", 25_000}, {"0.3 m", 300_000}, {"1.5\"", 38_100}} {
		if got := must[Length](t)(ParseLength("f", c.text, UnitInch)); got != c.want {
			t.Errorf("%s = %d um, want %d", c.text, got, c.want)
		}
	}
	if got := must[Volume](t)(ParseVolume("f", "120 ml", UnitLitre)); got != 120_000 {
		t.Errorf("120 ml = %d ul", got)
	}
	_, err := ParseVolume("f", "1 pint", UnitMillilitre)
	wantField(t, err, "f")
	if got := must[PPM](t)(ParsePercent("f", "4,5 %")); got != 45_000 {
		t.Errorf("4,5 %% = %d ppm", got)
	}
	if got := must[Temperature](t)(ParseTemperature("f", "104 °F", UnitCelsius)); got != 40_000 { // by definition
		t.Errorf("104 F = %d mC", got)
	}
}

func TestFormat(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Mass(147_983).Grams(3), "147.983"},
		{Mass(147_983).Grams(1), "148.0"},
		{Mass(147_983).String(), "147.983 g"},
		{Mass(500_000).String(), "500 g"},
		{Mass(28_350).Ounces(2), "1.00"},
		{Length(25_400).String(), "25.4 mm"},
		{Length(25_400).Inches(2), "1.00"},
		{Length(25_449).Millimetres(1), "25.4"},
		{Volume(316_229).String(), "316.229 ml"},
		{Area(2_550).String(), "25.5 cm²"},
		{Density(1_361_767).String(), "1.3618 g/ml"},
		{PPM(48_780).String(), "4.878 %"},
		{PPM(48_780).Percent(1), "4.9"},
		{Temperature(40_000).Fahrenheit(1), "104.0"},
		{Temperature(40_000).Celsius(0), "40"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestOunceRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Mass(rapid.Int64Range(0, int64(maxMass)).Draw(t, "mg"))
		back, err := ParseMass("m", m.Ounces(5), UnitOunce)
		if err != nil || back != m {
			t.Fatalf("%d mg -> %s oz -> %d mg, %v", m, m.Ounces(5), back, err)
		}
		typed := decimal(rapid.Int64Range(0, 1_000_000_000).Draw(t, "oz"), 10_000, 4)
		m, err = ParseMass("m", typed, UnitOunce)
		if err != nil || m.Ounces(4) != typed {
			t.Fatalf("%s oz -> %d mg -> %s oz, %v", typed, m, m.Ounces(4), err)
		}
	})
}

func TestLengthAndTemperatureRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(0, int64(maxLength)).Draw(t, "um"))
		if back, err := ParseLength("l", l.Inches(5), UnitInch); err != nil || back != l {
			t.Fatalf("%d um -> %s in -> %d, %v", l, l.Inches(5), back, err)
		}
		typed := decimal(rapid.Int64Range(320, 3020).Draw(t, "F"), 10, 1)
		if c, err := ParseTemperature("t", typed, UnitFahrenheit); err != nil || c.Fahrenheit(1) != typed {
			t.Fatalf("%s F -> %d mC -> %s F, %v", typed, c, c.Fahrenheit(1), err)
		}
	})
}

func TestParseNeverPanics(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		if m, err := ParseMass("m", text, UnitGram); err == nil && (m < 0 || m > maxMass) {
			t.Fatalf("%q gave %d", text, m)
		}
	})
}

func TestFieldErrors(t *testing.T) {
	var none FieldErrors
	if none.Err() != nil {
		t.Error("an empty list is an error")
	}
	list := FieldErrors{{"width", "is missing"}, {"depth", "is zero"}}.Under("mold")
	if got := list.Error(); got != "mold.width: is missing; mold.depth: is zero" {
		t.Errorf("got %q", got)
	}
}

func TestMulDiv(t *testing.T) {
	for _, c := range []struct{ a, b, c, near, up int64 }{
		{7, 1, 2, 4, 4},
		{5, 1, 3, 2, 2},
		{4, 1, 3, 1, 2},
		{6, 2, 3, 4, 4},
		{1 << 62, 1 << 20, 1 << 21, 1 << 61, 1 << 61},
	} {
		if got := mulDiv(c.a, c.b, c.c); got != c.near {
			t.Errorf("mulDiv(%d, %d, %d) = %d, want %d", c.a, c.b, c.c, got, c.near)
		}
		if up := mulDivUp(c.a, c.b, c.c); up != c.up {
			t.Errorf("mulDivUp(%d, %d, %d) = %d, want %d", c.a, c.b, c.c, up, c.up)
		}
	}
	if got := mulDiv(-7, 1, 2); got != -4 {
		t.Errorf("mulDiv(-7, 1, 2) = %d, want -4: half away from zero", got)
	}
}
