package pages

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"ripeline/calc"
)

// metricLimit is a length or a weight as the messages about inputs have it,
// with the words before it that make it a bound. What follows tells a density
// or a rate, which are no weights.
var metricLimit = regexp.MustCompile(`(?:\b(between|least is|at least|and|at most|most is|more than(?: the)?|only) )?(\d[\d,]*(?:\.\d+)?) (mm|cm|m|kg|g)\b(/| per\b)?`)

// limits writes the amounts of a message about an input in the unit that the
// input takes, in no more digits than are of use. What is a bound is rounded to
// the side that is allowed, so that what is read can be typed.
func (w words) limits(message string) string {
	if !w.imperial {
		return message
	}
	return metricLimit.ReplaceAllStringFunc(message, func(found string) string {
		part := metricLimit.FindStringSubmatch(found)
		bound, digits, unit, rate := part[1], part[2], part[3], part[4]
		n, err := strconv.ParseFloat(strings.ReplaceAll(digits, ",", ""), 64)
		if err != nil || rate != "" {
			return found // it only looks like an amount of the unit
		}
		if bound != "" {
			bound += " "
		}
		size, other := imperialSize(n, unit)
		return bound + readable(size, towards(bound)) + " " + other
	})
}

// imperialSize is n of a metric unit in inches or ounces, with their unit.
func imperialSize(n float64, unit string) (size float64, other string) {
	const ounce = 28.349_523_125 // grams, by definition
	switch unit {
	case "kg":
		return n * 1000 / ounce, "oz"
	case "g":
		return n / ounce, "oz"
	case "m":
		n *= 1000
	case "cm":
		n *= 10
	}
	return n * float64(calc.Millimetre) / float64(calc.Inch), "in"
}

// towards is how an amount behind the words of a bound is rounded: a least one
// up, a largest one down.
func towards(bound string) func(float64) float64 {
	const hair = 1e-6 // far below a digit that is shown, far above what a division loses
	switch strings.TrimSpace(bound) {
	case "":
		return math.Round
	case "between", "least is", "at least":
		return func(f float64) float64 { return math.Ceil(f - hair) }
	}
	return func(f float64) float64 { return math.Floor(f + hair) }
}

// readable writes a size with two decimals, more of them for one under a tenth,
// and no more than four digits that tell for a large one.
func readable(size float64, round func(float64) float64) string {
	decimals := 2
	switch power := int(math.Floor(math.Log10(size))); {
	case size <= 0:
	case power < -1:
		decimals = 1 - power
	case power > 1:
		decimals = 3 - power
	}
	scale := math.Pow10(decimals)
	return trimZeros(strconv.FormatFloat(round(size*scale)/scale, 'f', max(decimals, 0), 64))
}
