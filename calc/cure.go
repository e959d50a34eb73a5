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
	Mark string // tells marked pieces apart; "" for the batch as a whole
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
	if weekly <= 0 || c.End <= 0 || c.Rate <= 0 {
		return 0, false
	}
	t := math.Ceil(c.stableTime(weekly))
	return int(max(0, min(t, tenYears+1))), t <= tenYears
}

// stableTime is StableAfter in parts of a day: below zero when the curve was
// stable before its start, and minus infinity when every week of it costs less.
func (c DryingCurve) stableTime(weekly PPM) float64 {
	s := float64(weekly) / float64(Whole)
	excess := float64(c.Start-c.End) * (1 - math.Exp(-7*c.Rate) - s)
	return math.Log(max(0, excess)/(s*float64(c.End))) / c.Rate
}

// CureFit is a drying curve fitted to weighings, with what the fit leaves open.
type CureFit struct {
	Curve    DryingCurve // of a piece: the mean of the marks
	N        int         // weighings that the fit uses
	Marks    int         // series among them
	Residual float64     // residual standard error in milligrams; 0 when nothing is left to check the curve by
	Few      bool        // weighed on fewer than four days, or no more often than the curve has unknowns: nothing checks it
	Flat     bool        // the weighings do not show the bend yet: the end weight is a guess

	series []series
	bend   float64 // half the second derivative of the squares by the rate's logarithm
}

// The rates searched, per day: half the water gone in a year and a half, and
// in a quarter of a day.
const (
	slowestRate = 0.00125
	fastestRate = 2.8
)

// mostWet is the most that a bar may have weighed at the cut beside its heaviest
// weighing (our own choice: no batter is half water). It keeps weighings that begin
// late from being led back to any weight.
const mostWet = 2

// FitCure is the least squares fit of the drying curve to weighings in any
// order. Weighings of one mark are of the same piece; those without a mark are
// one series of their own. Every series has its own start and end weight and all
// share the rate, since they dry in one place; a series of one weighing says nothing
// and is left out. For a given rate the best starts and ends are linear; the rate is
// found on a logarithmic grid and refined by golden section. At least one series has
// three different days. Errors at weighings and weighings[i].days or .mass; weights
// that do not fall are refused.
func FitCure(weighings []Weighing) (CureFit, error) {
	if err := checkWeighings(weighings); err != nil {
		return CureFit{}, err
	}
	all, most := seriesOf(weighings), mostWet*heaviest(weighings)
	const cells = 120
	step := math.Log(fastestRate/slowestRate) / cells
	rate := func(x float64) float64 { return slowestRate * math.Exp(x*step) }
	squares := func(x float64) float64 {
		l := fitAtRate(all, rate(x))
		if l.end > 0 && l.end+l.fall <= most {
			return l.squares
		}
		return math.Inf(1)
	}
	best, least := 0, math.Inf(1)
	for i := range cells + 1 {
		if l := squares(float64(i)); l < least {
			best, least = i, l
		}
	}
	x := goldenSection(float64(max(0, best-1)), float64(min(cells, best+1)), squares)
	line := fitAtRate(all, rate(x))
	if math.IsInf(least, 1) || line.fall <= 0 {
		return CureFit{}, fieldErr("weighings", "do not fall as drying soap does; check them and weigh again in a week")
	}
	fit := CureFit{
		Curve: DryingCurve{
			Start: Mass(math.Round(line.end + line.fall)),
			End:   Mass(math.Round(line.end)),
			Rate:  rate(x),
		},
		N: count(all), Marks: len(all), Flat: best <= 1 || best >= cells-1,
		series: all, bend: bendAt(all, rate(x)),
	}
	fit.Few = days(all) < 4 || fit.free() < 1
	if free := fit.free(); free > 0 {
		fit.Residual = math.Sqrt(line.squares / float64(free))
	}
	return fit, nil
}

// free is the degrees of freedom: weighings beyond a start and an end for each
// series and the one rate.
func (f CureFit) free() int { return f.N - 2*f.Marks - 1 }

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
	longest := 0
	byMark := make(map[string]map[int]bool)
	for i, w := range weighings {
		field := fmt.Sprintf("weighings[%d]", i)
		if !(w.Days >= 0 && w.Days <= most) {
			errs.add(field+".days", "must lie between 0 and %d", most)
		}
		checkMass(&errs, field+".mass", w.Mass)
		if byMark[w.Mark] == nil {
			byMark[w.Mark] = make(map[int]bool)
		}
		byMark[w.Mark][int(w.Days)] = true
		longest = max(longest, len(byMark[w.Mark]))
	}
	if longest < 3 || len(weighings) > most {
		errs.add("weighings", "a curve needs weighings of the same pieces on at least 3 different days and takes at most %d", most)
	}
	return errs.Err()
}

// heaviest is the largest weight in milligrams.
func heaviest(weighings []Weighing) float64 {
	var most Mass
	for _, w := range weighings {
		most = max(most, w.Mass)
	}
	return float64(most)
}

// days is on how many different days the series were weighed.
func days(all []series) int {
	seen := make(map[int]bool)
	for _, s := range all {
		for _, day := range s.at {
			seen[int(day)] = true
		}
	}
	return len(seen)
}
