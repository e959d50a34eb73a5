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

// TriglycerideSV is the saponification value of a pure triglyceride of the
// given molar mass in mg/mol: three moles of KOH to one of fat.
func TriglycerideSV(molarMass int64) (SV, error) {
	if molarMass < 100_000 || molarMass > 2_000_000 {
		return 0, fieldErr("molar_mass", "must lie between 100 and 2000 g/mol")
	}
	return SV(mulDiv(3*molarKOH, 1_000_000, molarMass)), nil
}

// Titration is a saponification value found in the laboratory: fat boiled with
// alkali in excess, the rest titrated with acid.
type Titration struct {
	Blank, Sample Volume // acid used without and with the fat
	Normality     PPM    // acid, in millionths of a mole per litre
	Fat           Mass
	Equivalent    int64 // mg of KOH per mole; zero means 56,105
}

// SV is the value that the titration shows. Errors at blank, normality, fat.
func (t Titration) SV() (SV, error) {
	if t.Equivalent == 0 {
		t.Equivalent = molarKOH
	}
	var errs FieldErrors
	if t.Sample < 0 || t.Blank <= t.Sample || t.Blank > Litre {
		errs.add("blank", "must be more than the sample's volume and at most 1 l")
	}
	if t.Normality <= 0 || t.Normality > 10*Whole {
		errs.add("normality", "must lie above 0 and at most 10 mol/l")
	}
	if t.Fat <= 0 || t.Fat > Kilogram {
		errs.add("fat", "must be more than 0 and at most 1 kg")
	}
	if t.Equivalent < 0 || t.Equivalent > 1_000_000 {
		errs.add("equivalent", "must lie between 1 and 1000 g/mol")
	}
	if err := errs.Err(); err != nil {
		return 0, err
	}
	// mg/mol x umol/l x ul = 1e-12 mg of KOH; per mg of fat, in ug per g.
	r := new(big.Rat).SetFrac(
		product(t.Equivalent, int64(t.Normality), int64(t.Blank-t.Sample)),
		product(int64(t.Fat), 1_000_000),
	)
	return SV(rounded(r)), nil
}

func product(factors ...int64) *big.Int {
	p := big.NewInt(1)
	for _, f := range factors {
		p.Mul(p, big.NewInt(f))
	}
	return p
}
