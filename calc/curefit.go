package calc

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// series is the weighings of one mark, in days and milligrams.
type series struct {
	mark   string
	at     []float64
	masses []float64
}

// seriesOf sorts weighings by mark; a mark weighed within one day only is left out,
// for what it lost then is hardly more than a scale's error.
func seriesOf(weighings []Weighing) []series {
	var all []series
	for _, w := range weighings {
		i := slices.IndexFunc(all, func(s series) bool { return s.mark == w.Mark })
		if i < 0 {
			all, i = append(all, series{mark: w.Mark}), len(all)
		}
		all[i].at = append(all[i].at, w.Days)
		all[i].masses = append(all[i].masses, float64(w.Mass))
	}
	all = slices.DeleteFunc(all, func(s series) bool { return slices.Max(s.at)-slices.Min(s.at) < 1 })
	slices.SortFunc(all, func(a, b series) int { return strings.Compare(a.mark, b.mark) })
	return all
}

func count(all []series) int {
	n := 0
	for _, s := range all {
		n += len(s.at)
	}
	return n
}

// decay is e^(-rate t) of each weighing.
func (s series) decay(rate float64) []float64 {
	out := make([]float64, len(s.at))
	for i, t := range s.at {
		out[i] = math.Exp(-rate * t)
	}
	return out
}

// rateFit is the mean end and fall (start - end) of the series, in milligrams,
// at one rate, and the squares that are left of all of them.
type rateFit struct {
	end, fall, squares float64
}

func fitAtRate(all []series, rate float64) rateFit {
	var f rateFit
	for _, s := range all {
		e := s.decay(rate)
		end, fall := stat.LinearRegression(e, s.masses, nil, false)
		f.end += end / float64(len(all))
		f.fall += fall / float64(len(all))
		for i, m := range s.masses {
			r := m - end - fall*e[i]
			f.squares += r * r
		}
	}
	return f
}

// bendAt is half the second derivative of the squares by the logarithm of the
// rate: the more they bend, the better the rate is known.
func bendAt(all []series, rate float64) float64 {
	const h = 0.02
	low, mid, high := fitAtRate(all, rate*math.Exp(-h)), fitAtRate(all, rate), fitAtRate(all, rate*math.Exp(h))
	return max(0, (low.squares-2*mid.squares+high.squares)/(2*h*h))
}

// scaleError is the standard error of a weight that a scale shows to a tenth
// of a gram (derived: a step of 100 mg over the root of 12). The fit is taken to be
// no better than that, even where it meets every weighing.
const scaleError = 29

// spread is the half width, nine times in ten, of a value that depends on the
// mean end, the mean fall and the logarithm of the rate by the given slopes;
// infinite when nothing is left to check the curve by. The ends and falls are refitted
// with the rate, so that its error and theirs add as squares.
func (f CureFit) spread(value func(DryingCurve) float64) float64 {
	free := f.free()
	if free < 1 || f.bend <= 0 {
		return math.Inf(1)
	}
	at := f.Curve.Rate
	slope := func(alter func(c *floatCurve, h float64), h float64) float64 {
		up, down := f.mean(at), f.mean(at)
		alter(&up, h)
		alter(&down, -h)
		return (value(up.curve()) - value(down.curve())) / (2 * h)
	}
	byEnd := slope(func(c *floatCurve, h float64) { c.end += h }, 100)
	byFall := slope(func(c *floatCurve, h float64) { c.fall += h }, 100)
	byRate := (value(f.mean(at*math.Exp(0.02)).curve()) - value(f.mean(at*math.Exp(-0.02)).curve())) / 0.04
	variance := byRate * byRate / f.bend
	for _, s := range f.series {
		e := s.decay(at)
		mean := stat.Mean(e, nil)
		sum := float64(len(e)-1) * stat.Variance(e, nil)
		lever := byFall - mean*byEnd
		variance += (byEnd*byEnd/float64(len(e)) + lever*lever/sum) / float64(f.Marks*f.Marks)
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(free)}.Quantile(0.95)
	return t * max(f.Residual, scaleError) * math.Sqrt(variance)
}

// floatCurve is a drying curve before its weights are rounded.
type floatCurve struct{ end, fall, rate float64 }

func (f CureFit) mean(rate float64) floatCurve {
	l := fitAtRate(f.series, rate)
	return floatCurve{l.end, l.fall, rate}
}

func (c floatCurve) curve() DryingCurve {
	return DryingCurve{Start: Mass(math.Round(c.end + c.fall)), End: Mass(math.Round(c.end)), Rate: c.rate}
}

// Around is how far the weight after the given days may lie from the curve's,
// nine times in ten; ok is false when nothing checks the curve.
func (f CureFit) Around(days float64) (within Mass, ok bool) {
	half := f.spread(func(c DryingCurve) float64 { return float64(c.At(days)) })
	if math.IsInf(half, 1) {
		return 0, false
	}
	return Mass(math.Ceil(half)), true
}

// StableBetween is the days between which the soap becomes stable, nine times
// in ten, around Curve.StableAfter(weekly); ok is false when the weighings do not say.
func (f CureFit) StableBetween(weekly PPM) (early, late int, ok bool) {
	day, known := f.Curve.StableAfter(weekly)
	half := f.spread(func(c DryingCurve) float64 { return c.stableTime(weekly) })
	if !known || math.IsInf(half, 0) || math.IsNaN(half) || half > 3_653 {
		return 0, 0, false
	}
	reach := int(math.Ceil(half))
	return max(0, day-reach), day + reach, true
}
