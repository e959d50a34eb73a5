package pages

import (
	"math"
	"strconv"
	"strings"

	"ripeline/calc"
)

// mass is a weight to put on the scale: grams with one decimal under a
// kilogram, ounces to a hundredth, or to a thousandth under one ounce, where a
// hundredth would be much of it.
func (w words) mass(m calc.Mass) string {
	if w.imperial {
		return m.Ounces(w.decimals(m)) + " oz"
	}
	return m.Grams(w.decimals(m)) + " g"
}

// decimals is how many a weight to put on the scale is written with.
func (w words) decimals(m calc.Mass) int {
	const ounce = calc.Mass(28_350) // the least whole milligrams that make one
	switch {
	case w.imperial && m < ounce && m > 0:
		return 3
	case w.imperial:
		return 2
	case m >= calc.Kilogram:
		return 0
	}
	return 1
}

// dose is a weight to put on the scale that may be its largest safe one: like
// mass, but rounded down.
func (w words) dose(m calc.Mass) string {
	exact, unit, tells := m.Grams(3), " g", 3
	if w.imperial {
		exact, unit, tells = m.Ounces(5), " oz", 5
	}
	drop := tells - w.decimals(m)
	return strings.TrimSuffix(exact[:len(exact)-drop], ".") + unit
}

// stored is a weight on a shelf, to read rather than to weigh: kilograms or
// pounds where there are some.
func (w words) stored(m calc.Mass) string {
	const pound = 453_592 * calc.Kilogram / 1_000_000 // to the milligram, 453.59237 g
	switch {
	case w.imperial && m >= pound:
		return trimZeros(strconv.FormatFloat(float64(m)/float64(pound), 'f', 1, 64)) + " lb"
	case !w.imperial && m >= calc.Kilogram:
		return trimZeros(strconv.FormatFloat(float64(m)/float64(calc.Kilogram), 'f', 2, 64)) + " kg"
	}
	return w.mass(m)
}

// worked is a weight that was worked out, to the milligram or a thousandth of
// an ounce.
func (w words) worked(m calc.Mass) string {
	if w.imperial {
		return m.Ounces(3) + " oz"
	}
	return m.Grams(3) + " g"
}

// workedDose is worked of what may be at its largest safe weight: rounded down.
func (w words) workedDose(m calc.Mass) string {
	if w.imperial {
		exact := m.Ounces(5) // tells every milligram apart
		return exact[:len(exact)-2] + " oz"
	}
	return w.worked(m)
}

// lacking is a weight that is to be got: like stored, but rounded up.
func (w words) lacking(m calc.Mass) string {
	const ounce, pound = 28_349.523_125, 453_592.37 // in milligrams, by definition
	up := func(unit float64, decimals int) string {
		tells := math.Pow10(decimals)
		return strconv.FormatFloat(math.Ceil(float64(m)/unit*tells)/tells, 'f', decimals, 64)
	}
	switch {
	case w.imperial && float64(m) >= pound:
		return trimZeros(up(pound, 1)) + " lb"
	case w.imperial:
		return up(ounce, 2) + " oz"
	case m >= calc.Kilogram:
		return trimZeros(up(float64(calc.Kilogram), 2)) + " kg"
	}
	return up(float64(calc.Gram), 1) + " g"
}
