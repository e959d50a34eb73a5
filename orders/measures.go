package orders

import (
	"fmt"
	"math"
	"strings"

	"ripeline/calc"
)

// An ounce is 28.349523125 g by definition.
const ounce = 28_349.523125 // milligrams

// imperial reports whether the workshop reads ounces, inches and degrees
// Fahrenheit. What is kept is the same either way.
func (w Workshop) imperial() bool { return w.Units == "imperial" }

// mass writes a mass in the workshop's unit: grams to the milligram, or ounces to a
// hundredth, to a thousandth under one ounce.
func (w Workshop) mass(m calc.Mass) string { return w.rounded(m, math.Round) }

// atMost is mass for a largest weight: never more than it, so that what is read can
// be typed.
func (w Workshop) atMost(m calc.Mass) string { return w.rounded(m, math.Floor) }

func (w Workshop) rounded(m calc.Mass, round func(float64) float64) string {
	if !w.imperial() {
		return grams(m)
	}
	parts, decimals := 100.0, 2
	if math.Abs(float64(m)) < ounce {
		parts, decimals = 1000, 3
	}
	text := fmt.Sprintf("%.*f", decimals, round(float64(m)/ounce*parts)/parts)
	return strings.TrimRight(strings.TrimRight(text, "0"), ".") + " oz"
}

// between is a range of weights as bounds: neither end lies outside it.
func (w Workshop) between(low, high calc.Mass) string {
	if w.imperial() {
		return "between " + w.rounded(low, math.Ceil) + " and " + w.atMost(high)
	}
	return fmt.Sprintf("between %d g and %d g", (low+calc.Gram-1)/calc.Gram, high/calc.Gram)
}

// about is a mass that is only about right: to the gram, or the hundredth of an
// ounce.
func (w Workshop) about(m calc.Mass) string {
	if w.imperial() {
		return w.mass(m)
	}
	return m.Grams(0) + " g"
}

// temperature writes a temperature in the workshop's unit, to a tenth of a degree.
func (w Workshop) temperature(t calc.Temperature) string {
	if w.imperial() {
		return t.Fahrenheit(1) + " °F"
	}
	return t.Celsius(1) + " °C"
}

// grams writes a mass in whole grams, with the milligrams when that would hide some.
func grams(m calc.Mass) string {
	if m%calc.Gram != 0 {
		return strings.TrimRight(m.Grams(3), "0") + " g"
	}
	return m.Grams(0) + " g"
}
