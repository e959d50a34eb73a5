package calc

import "math/big"

// SV is a saponification value: micrograms of KOH per gram of fat, so that
// 190.0 mg KOH/g is 190,000 (ISO 3657 defines the value; published).
type SV int64

// MilligramPerGram is one mg KOH per gram of fat.
const MilligramPerGram SV = 1_000

// Saponification values that a fat or wax may have. Jojoba and beeswax begin
// near 80, short-chain triglycerides end near 360 (from memory).
const (
	minSV = 50 * MilligramPerGram
	maxSV = 400 * MilligramPerGram
)

// String is v in mg KOH per gram without trailing zeros: "256.5".
func (v SV) String() string { return trimmed(int64(v), int64(MilligramPerGram), 3) }

// SVRange is what is known of an oil's saponification value: the ends of the
// published range and the value to compute with. Low and High may be zero when
// no range is known; they then count as Used.
type SVRange struct {
	Low, Used, High SV
}

func (r SVRange) low() SV {
	if r.Low == 0 {
		return r.Used
	}
	return r.Low
}

// check adds complaints at field, each of which says what to enter.
func (r SVRange) check(errs *FieldErrors, field string) {
	switch {
	case r.Used == 0:
		errs.add(field, "has no saponification value; enter the one on the supplier's sheet, in mg KOH per g")
	case r.Used < minSV || r.Used > maxSV:
		errs.add(field, "must lie between %s and %s mg KOH per g", minSV, maxSV)
	case r.Low < 0 || r.Low > r.Used:
		errs.add(field, "the low end of the range must not be above the value used, %s", r.Used)
	case r.High != 0 && r.High < r.Used:
		errs.add(field, "the high end of the range must not be below the value used, %s", r.Used)
	}
}

// Molar masses in milligrams per mole, from the IUPAC abridged standard atomic
// weights (derived).
const (
	molarNaOH     = 39_997
	molarKOH      = 56_105
	molarGlycerol = 92_094
)

func product(factors ...int64) *big.Int {
	p := big.NewInt(1)
	for _, f := range factors {
		p.Mul(p, big.NewInt(f))
	}
	return p
}
