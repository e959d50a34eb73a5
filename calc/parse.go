package calc

import (
	"math/big"
	"strings"
	"unicode"
)

// Unit names a unit that a person may type after a number, or that a bare
// number is taken to be in.
type Unit string

// Units understood by the Parse functions.
const (
	UnitMilligram  Unit = "mg"
	UnitGram       Unit = "g"
	UnitKilogram   Unit = "kg"
	UnitOunce      Unit = "oz" // avoirdupois
	UnitPound      Unit = "lb" // 16 oz
	UnitMillimetre Unit = "mm"
	UnitCentimetre Unit = "cm"
	UnitMetre      Unit = "m"
	UnitInch       Unit = "in"
	UnitMillilitre Unit = "ml"
	UnitLitre      Unit = "l"
	UnitCelsius    Unit = "c"
	UnitFahrenheit Unit = "f"
	UnitPercent    Unit = "%"
)

// longestNumber bounds the digits of a typed number.
const longestNumber = 24

// ParseMass reads a typed weight such as "500", "500 g", "17.6 oz" or "17,6oz",
// rounded to the milligram. A bare number is in bare (UnitGram or UnitOunce,
// say). Errors are FieldErrors at field: nothing typed, not a number, a
// negative number, an unknown unit, or more than 10 tonnes.
func ParseMass(field, text string, bare Unit) (Mass, error) {
	q := quantity{field: field, what: "weight", example: "500 g or 17.6 oz", most: int64(maxMass), mostText: "10000 kg"}
	v, err := q.parse(text, bare, massUnit)
	return Mass(v), err
}

// ParseLength reads a typed length such as "25 mm", "2,5 cm" or `1 in`, rounded
// to the micrometre. A bare number is in bare. Errors as for ParseMass; the
// largest length is 5 m.
func ParseLength(field, text string, bare Unit) (Length, error) {
	q := quantity{field: field, what: "length", example: "25 mm or 1 in", most: int64(maxLength), mostText: "5000 mm"}
	v, err := q.parse(text, bare, lengthUnit)
	return Length(v), err
}

// ParseVolume reads a typed volume such as "120 ml" or "1.2 l", rounded to the
// microlitre. A bare number is in bare. Errors as for ParseMass; the largest
// volume is 10,000 l.
func ParseVolume(field, text string, bare Unit) (Volume, error) {
	q := quantity{field: field, what: "volume", example: "120 ml", most: int64(maxVolume), mostText: "10000 l"}
	v, err := q.parse(text, bare, volumeUnit)
	return Volume(v), err
}

// ParsePercent reads a typed percentage such as "5", "5 %" or "4,5 %" to four
// decimals of a percent. Errors as for ParseMass; the largest share is 1000 %,
// which leaves room for a water to oil share and still catches a slip.
func ParsePercent(field, text string) (PPM, error) {
	q := quantity{field: field, what: "percentage", example: "5 %", most: int64(10 * Whole), mostText: "1000 %"}
	v, err := q.parse(text, UnitPercent, percentUnit)
	return PPM(v), err
}

// ParseTemperature reads a typed temperature such as "40", "40 C" or "104 °F",
// rounded to a thousandth of a degree Celsius. A bare number is in bare
// (UnitCelsius or UnitFahrenheit). It must lie between 0 and 150 C.
func ParseTemperature(field, text string, bare Unit) (Temperature, error) {
	value, unit, err := splitQuantity(field, strings.ReplaceAll(text, "°", ""), "40 C or 104 F")
	if err != nil {
		return 0, err
	}
	if unit == "" {
		unit = bare
	}
	switch unit {
	case UnitCelsius:
	case UnitFahrenheit:
		value.Sub(value, big.NewRat(32, 1)).Mul(value, big.NewRat(5, 9))
	default:
		return 0, fieldErr(field, "%q is not a unit of temperature; use C or F", string(unit))
	}
	v, ok := roundRat(value.Mul(value, big.NewRat(int64(Celsius), 1)))
	if !ok || v < 0 || v > 150*int64(Celsius) {
		return 0, fieldErr(field, "must lie between 0 and 150 C (32 and 302 F)")
	}
	return Temperature(v), nil
}

// quantity is what the Parse functions differ in.
type quantity struct {
	field, what, example string
	most                 int64
	mostText             string
}

func (q quantity) parse(text string, bare Unit, factor func(Unit) (*big.Rat, string)) (int64, error) {
	value, unit, err := splitQuantity(q.field, text, q.example)
	if err != nil {
		return 0, err
	}
	if unit == "" {
		unit = bare
	}
	f, known := factor(unit)
	if f == nil {
		return 0, fieldErr(q.field, "%q is not a unit of %s; use %s", string(unit), q.what, known)
	}
	v, ok := roundRat(value.Mul(value, f))
	if !ok || v > q.most {
		return 0, fieldErr(q.field, "is too large; the most is %s", q.mostText)
	}
	return v, nil
}

// splitQuantity parts "17,6 oz" into an exact number and a lower-case unit,
// which is empty when none was typed.
func splitQuantity(field, text, example string) (*big.Rat, Unit, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, "", fieldErr(field, "is empty; enter a number such as %s", example)
	}
	if strings.HasPrefix(text, "-") || strings.HasPrefix(text, "−") {
		return nil, "", fieldErr(field, "must not be negative")
	}
	digits := strings.TrimLeft(text, "0123456789.,")
	number := text[:len(text)-len(digits)]
	value, err := parseNumber(field, number, example)
	if err != nil {
		return nil, "", err
	}
	unit := strings.TrimFunc(digits, unicode.IsSpace)
	if strings.ContainsFunc(unit, unicode.IsDigit) {
		return nil, "", fieldErr(field, "holds more than one number; enter one such as %s", example)
	}
	return value, Unit(strings.ToLower(unit)), nil
}

// parseNumber reads digits with at most one decimal point or comma. "1,500" is
// refused: it is fifteen hundred to some readers and one and a half to others.
func parseNumber(field, number, example string) (*big.Rat, error) {
	whole, fraction, _ := strings.Cut(strings.ReplaceAll(number, ",", "."), ".")
	if whole+fraction == "" || strings.Contains(fraction, ".") || len(number) > longestNumber {
		return nil, fieldErr(field, "is not a number; enter one such as %s", example)
	}
	if strings.Contains(number, ",") && len(fraction) == 3 && strings.Trim(whole, "0") != "" {
		return nil, fieldErr(field, "%q can be read in two ways; write %s%s or %s.%s",
			number, whole, fraction, whole, fraction)
	}
	value, ok := new(big.Rat).SetString("0" + whole + "." + fraction + "0")
	if !ok {
		return nil, fieldErr(field, "is not a number; enter one such as %s", example)
	}
	return value, nil
}

func massUnit(u Unit) (factor *big.Rat, known string) {
	known = "g, kg, mg, oz or lb"
	switch u {
	case UnitMilligram:
		return big.NewRat(1, 1), known
	case UnitGram:
		return big.NewRat(int64(Gram), 1), known
	case UnitKilogram:
		return big.NewRat(int64(Kilogram), 1), known
	case UnitOunce:
		return big.NewRat(ounceNum, ounceDen), known
	case UnitPound:
		return big.NewRat(16*ounceNum, ounceDen), known
	}
	return nil, known
}

func lengthUnit(u Unit) (factor *big.Rat, known string) {
	known = "mm, cm, m or in"
	switch u {
	case UnitMillimetre:
		return big.NewRat(int64(Millimetre), 1), known
	case UnitCentimetre:
		return big.NewRat(int64(Centimetre), 1), known
	case UnitMetre:
		return big.NewRat(100*int64(Centimetre), 1), known
	case UnitInch, `"`:
		return big.NewRat(int64(Inch), 1), known
	}
	return nil, known
}

func volumeUnit(u Unit) (factor *big.Rat, known string) {
	known = "ml or l"
	switch u {
	case UnitMillilitre:
		return big.NewRat(int64(Millilitre), 1), known
	case UnitLitre:
		return big.NewRat(int64(Litre), 1), known
	}
	return nil, known
}

func percentUnit(u Unit) (factor *big.Rat, known string) {
	known = "%"
	if u == UnitPercent {
		return big.NewRat(int64(Percent), 1), known
	}
	return nil, known
}
