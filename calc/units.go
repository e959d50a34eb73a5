package calc

// Mass is a weight in milligrams.
type Mass int64

// Length is in micrometres.
type Length int64

// Area is in square millimetres.
type Area int64

// Volume is in microlitres, which are cubic millimetres.
type Volume int64

// Density is in milligrams per litre: 1 g/mL is 1,000,000.
type Density int64

// Temperature is in thousandths of a degree Celsius.
type Temperature int64

// PPM is a share in parts per million: 1,000,000 is 100 %, 10,000 is 1 %.
// The shares of a whole are exact when they are written with at most four
// decimals of a percent.
type PPM int64

// Units in terms of the integers above.
const (
	Milligram  Mass        = 1
	Gram       Mass        = 1_000
	Kilogram   Mass        = 1_000_000
	Millimetre Length      = 1_000
	Centimetre Length      = 10_000
	Inch       Length      = 25_400 // exact by definition
	Millilitre Volume      = 1_000
	Litre      Volume      = 1_000_000
	GramPerML  Density     = 1_000_000
	Celsius    Temperature = 1_000
	Percent    PPM         = 10_000
	Whole      PPM         = 1_000_000
)

// One avoirdupois ounce is 28349.523125 mg exactly (international pound of
// 0.45359237 kg, published).
const (
	ounceNum = 28_349_523_125
	ounceDen = 1_000_000
)

// Limits that hold every intermediate result inside 64 bits. They lie far
// beyond one person's workshop.
const (
	maxMass   = 10_000 * Kilogram
	maxLength = 5_000 * Millimetre
	maxVolume = 10_000 * Litre
	// maxEntries bounds every list that a person types: oils, parts, pots, molds.
	maxEntries = 100
)

// Grams writes m in grams with the given decimals and no unit: "147.983".
func (m Mass) Grams(decimals int) string { return decimal(int64(m), int64(Gram), decimals) }

// Ounces writes m in avoirdupois ounces with the given decimals and no unit.
// Five decimals tell every milligram apart, so they read back as the same
// Mass; an amount entered with up to four decimals of an ounce prints as entered.
func (m Mass) Ounces(decimals int) string {
	return decimal(int64(m)*ounceDen, ounceNum, decimals)
}

// String is m in grams to the milligram, without trailing zeros: "28.35 g".
func (m Mass) String() string { return trimmed(int64(m), int64(Gram), 3) + " g" }

// Millimetres writes l in millimetres with the given decimals and no unit.
func (l Length) Millimetres(decimals int) string {
	return decimal(int64(l), int64(Millimetre), decimals)
}

// Inches writes l in inches with the given decimals and no unit.
func (l Length) Inches(decimals int) string { return decimal(int64(l), int64(Inch), decimals) }

// String is l in millimetres, without trailing zeros: "25.4 mm".
func (l Length) String() string { return trimmed(int64(l), int64(Millimetre), 3) + " mm" }

// String is v in millilitres, without trailing zeros: "1425.14 ml".
func (v Volume) String() string { return trimmed(int64(v), int64(Millilitre), 3) + " ml" }

// String is a in square centimetres: "42.5 cm²".
func (a Area) String() string { return trimmed(int64(a), 100, 2) + " cm²" }

// String is d in grams per millilitre to four decimals: "1.3618 g/ml".
func (d Density) String() string { return decimal(int64(d), int64(GramPerML), 4) + " g/ml" }

// Percent writes p as a percentage with the given decimals and no sign.
func (p PPM) Percent(decimals int) string { return decimal(int64(p), int64(Percent), decimals) }

// String is p as a percentage, without trailing zeros: "4.878 %".
func (p PPM) String() string { return trimmed(int64(p), int64(Percent), 4) + " %" }

// Celsius writes t in degrees Celsius with the given decimals and no unit.
func (t Temperature) Celsius(decimals int) string {
	return decimal(int64(t), int64(Celsius), decimals)
}

// Fahrenheit writes t in degrees Fahrenheit with the given decimals and no unit.
func (t Temperature) Fahrenheit(decimals int) string {
	return decimal(int64(t)*9+160*int64(Celsius), 5*int64(Celsius), decimals)
}

// Of is the share p of m, rounded to the milligram.
func (p PPM) Of(m Mass) Mass { return Mass(mulDiv(int64(m), int64(p), int64(Whole))) }

// OfVolume is the share p of v, rounded to the microlitre.
func (p PPM) OfVolume(v Volume) Volume { return Volume(mulDiv(int64(v), int64(p), int64(Whole))) }

// VolumeOf is the room that m takes at density d, rounded to the microlitre;
// d must be positive.
func (d Density) VolumeOf(m Mass) Volume {
	return Volume(mulDiv(int64(m), int64(Litre), int64(d)))
}

// MassOf is the weight of v at density d, rounded to the milligram.
func (d Density) MassOf(v Volume) Mass {
	return Mass(mulDiv(int64(v), int64(d), int64(Litre)))
}

// ShareOf is part/whole, rounded; zero for a whole of nothing.
func ShareOf(part, whole Mass) PPM {
	if whole <= 0 {
		return 0
	}
	return PPM(mulDiv(int64(part), int64(Whole), int64(whole)))
}
