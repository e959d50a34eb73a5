package calc

import (
	"fmt"
	"math"
)

// Weighing is a bar's or batch's weight some days after the cut. Parts of a
// day count.
type Weighing struct {
	Days float64
	Mass Mass
}

// DryingCurve is M(t) = End + (Start - End) e^(-Rate t): the thin-layer drying
// law (published). No published Rate is known for bars, so it comes from the
// maker's own weighings. Rate is per day.
type DryingCurve struct {
	Start Mass // at the cut
	End   Mass // after endless curing
	Rate  float64
}

// At is the weight after the given days, rounded to the milligram.
func (c DryingCurve) At(days float64) Mass {
	return c.End + Mass(math.Round(float64(c.Start-c.End)*math.Exp(-c.Rate*days)))
}

// LossAt is the share of the starting weight lost after the given days; zero
// for a curve without a start.
func (c DryingCurve) LossAt(days float64) PPM {
	return ShareOf(c.Start-c.At(days), c.Start)
}

// StableAfter is the first day from which a week costs at most the share
// weekly of the weight, rounded up to a whole day; 0 when that holds from the start. ok is false
// for a curve that never gets there within ten years, or a share of nothing.
func (c DryingCurve) StableAfter(weekly PPM) (days int, ok bool) {
	const tenYears = 3653
	s := float64(weekly) / float64(Whole)
	fall := float64(c.Start - c.End)
	excess := fall * (1 - math.Exp(-7*c.Rate) - s)
	if s <= 0 || c.End <= 0 || c.Rate <= 0 {
		return 0, false
	}
	if excess <= s*float64(c.End) {
		return 0, true
	}
	t := math.Ceil(math.Log(excess/(s*float64(c.End))) / c.Rate)
	return int(min(t, tenYears+1)), t <= tenYears
}

// CureFit is a curve fitted to weighings.
type CureFit struct {
	Curve    DryingCurve
	N        int     // weighings
	Residual float64 // residual standard error in milligrams; 0 for three weighings, which fit exactly
	Few      bool    // fewer than four weighings: the curve has nothing to be checked by
	Flat     bool    // the weighings do not show the bend yet: the end weight is a guess
}

// The rates searched, per day: half the water gone in a year and a half, and
// in a quarter of a day.
const (
	slowestRate = 0.00125
	fastestRate = 2.8
)

// FitCure is the least squares fit of the drying curve to at least three
// weighings on different days, in any order. For a given rate the best start
// and end are linear; the rate is found on a logarithmic grid and refined by golden
// section. Errors at weighings and weighings[i].days or .mass; weights that do not fall
// are refused.
func FitCure(weighings []Weighing) (CureFit, error) {
	if err := checkWeighings(weighings); err != nil {
		return CureFit{}, err
	}
	const cells = 120
	step := math.Log(fastestRate/slowestRate) / cells
	rate := func(x float64) float64 { return slowestRate * math.Exp(x*step) }
	best, least := 0, math.Inf(1)
	for i := range cells + 1 {
		if l := fitAtRate(weighings, rate(float64(i))); l.end > 0 && l.squares < least {
			best, least = i, l.squares
		}
	}
	x := goldenSection(float64(max(0, best-1)), float64(min(cells, best+1)), func(x float64) float64 {
		l := fitAtRate(weighings, rate(x))
		if l.end <= 0 {
			return math.Inf(1)
		}
		return l.squares
	})
	line := fitAtRate(weighings, rate(x))
	if math.IsInf(least, 1) || line.fall <= 0 {
		return CureFit{}, fieldErr("weighings", "do not fall as drying soap does; check them and weigh again in a week")
	}
	fit := CureFit{
		Curve: DryingCurve{
			Start: Mass(math.Round(line.end + line.fall)),
			End:   Mass(math.Round(line.end)),
			Rate:  rate(x),
		},
		N:    len(weighings),
		Few:  len(weighings) < 4,
		Flat: best <= 1 || best >= cells-1,
	}
	if free := len(weighings) - 3; free > 0 {
		fit.Residual = math.Sqrt(line.squares / float64(free))
	}
	return fit, nil
}

// rateFit is the best end and fall (start - end), in milligrams, at one rate.
type rateFit struct {
	end, fall, squares float64
}

func fitAtRate(weighings []Weighing, rate float64) rateFit {
	var meanE, meanM float64
	n := float64(len(weighings))
	for _, w := range weighings {
		meanE += math.Exp(-rate*w.Days) / n
		meanM += float64(w.Mass) / n
	}
	var ee, em float64
	for _, w := range weighings {
		e := math.Exp(-rate*w.Days) - meanE
		ee += e * e
		em += e * (float64(w.Mass) - meanM)
	}
	var f rateFit
	if ee > 0 {
		f.fall = em / ee
	}
	f.end = meanM - f.fall*meanE
	for _, w := range weighings {
		r := float64(w.Mass) - f.end - f.fall*math.Exp(-rate*w.Days)
		f.squares += r * r
	}
	return f
}

// goldenSection is where f is least between low and high, for one valley.
func goldenSection(low, high float64, f func(float64) float64) float64 {
	const ratio = 0.6180339887498949
	for range 80 {
		a := high - ratio*(high-low)
		b := low + ratio*(high-low)
		if f(a) <= f(b) {
			high = b
		} else {
			low = a
		}
	}
	return (low + high) / 2
}

func checkWeighings(weighings []Weighing) error {
	const most = 1_000
	var errs FieldErrors
	days := make(map[float64]bool)
	for i, w := range weighings {
		field := fmt.Sprintf("weighings[%d]", i)
		if !(w.Days >= 0 && w.Days <= most) {
			errs.add(field+".days", "must lie between 0 and %d", most)
		}
		checkMass(&errs, field+".mass", w.Mass)
		days[w.Days] = true
	}
	if len(days) < 3 || len(weighings) > most {
		errs.add("weighings", "a curve needs weighings on at least 3 different days and takes at most %d", most)
	}
	return errs.Err()
}
