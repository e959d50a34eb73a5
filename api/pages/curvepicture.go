package pages

import (
	"fmt"
	"strings"

	"ripeline/calc"
	"ripeline/orders"
)

// curvePicture is the drying curve of a piece from the cut to the wrap, with
// its weighings as dots.
type curvePicture struct {
	Title string
	Line  string // points of the curve
	Dots  []dot
}

type dot struct{ X, Y int }

// The drawing's inside, in its own units; the template leaves room around it.
const (
	curveWidth  = 600
	curveHeight = 160
)

// drawCurve draws the curve of the cure, which has one; nil while it does not
// fall or lasts less than a day.
func drawCurve(w words, cure orders.SheetCure) *curvePicture {
	c := cure.Curve
	last := len(c.ByDay) - 1
	high, low := c.Start, c.AtWrap
	for _, x := range cure.Weighings {
		high, low = max(high, x.Each), min(low, x.Each)
	}
	if last < 1 || high <= low {
		return nil
	}
	at := func(day float64, each calc.Mass) dot {
		return dot{int(min(1, day/float64(last)) * curveWidth), int(float64(high-each) / float64(high-low) * curveHeight)}
	}
	points := make([]string, len(c.ByDay))
	for day, each := range c.ByDay {
		p := at(float64(day), each)
		points[day] = fmt.Sprintf("%d,%d", p.X, p.Y)
	}
	pic := &curvePicture{
		Title: fmt.Sprintf("One piece drying from %s to %s in %s", w.mass(c.Start), w.mass(c.AtWrap), count(last, "day")),
		Line:  strings.Join(points, " "),
	}
	for _, x := range cure.Weighings {
		pic.Dots = append(pic.Dots, at(x.Day, x.Each))
	}
	return pic
}

// curveLines says in words what the curve through the weighings says.
func (v *visit) curveLines(c orders.CureCurve, cure orders.SheetCure) []string {
	lines := []string{
		fmt.Sprintf("At the wrap a piece weighs about %s%s, %s %% less than at the cut.", v.words.mass(c.AtWrap), v.give(c.WrapWithin), c.LostThen.Percent(1)),
		fmt.Sprintf("After the wished cure of %s it weighs about %s%s.", count(c.TargetDay, "day"), v.words.mass(c.AtTarget), v.give(c.TargetWithin)),
	}
	if !c.Flat {
		lines = append(lines, fmt.Sprintf("In the end it weighs about %s.", v.words.mass(c.End)))
	}
	if !cure.StableOn.IsZero() {
		ready := "It hardly loses any more from " + v.words.day(cure.StableOn)
		if !cure.StableLate.IsZero() {
			ready += fmt.Sprintf(", nine times in ten between %s and %s", v.words.day(cure.StableEarly), v.words.day(cure.StableLate))
		}
		lines = append(lines, ready+".")
	}
	return lines
}

// give is how far a predicted weight may be off, nine times in ten; "" when
// nothing checks it.
func (v *visit) give(within calc.Mass) string {
	if within == 0 {
		return ""
	}
	return " (± " + v.words.mass(within) + ", nine times in ten)"
}
