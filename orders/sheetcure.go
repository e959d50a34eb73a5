package orders

import (
	"math"
	"slices"
	"time"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// SheetCure is how a batch dries: its weighings and the curve through them.
type SheetCure struct {
	// Fresh is what a piece weighs when it is cut, by the recipe; absent when that
	// can not be worked out.
	Fresh     *FreshPiece     `json:"fresh,omitempty"`
	Weighings []SheetWeighing `json:"weighings"`
	Curve     *CureCurve      `json:"curve,omitempty"`
	StableOn  civil.Date      `json:"stable_on"` // by its weighings; zero while they do not say
	// Nine times in ten StableOn lies between these days; zero when the weighings
	// do not say.
	StableEarly civil.Date `json:"stable_early"`
	StableLate  civil.Date `json:"stable_late"`
	Waits       bool       `json:"waits_for_yes"` // StableOn is later than the planned wrap
	Note        string     `json:"note"`          // what the weighings can and can not say
}

// FreshPiece is the batter in the smallest and in the largest piece of a batch.
type FreshPiece struct {
	Least calc.Mass `json:"least_mg"`
	Most  calc.Mass `json:"most_mg"`
}

// SheetWeighing is a weighing as the weight of one piece.
type SheetWeighing struct {
	Number int       `json:"number"` // its place among the batch's weighings, from 1
	At     time.Time `json:"at"`
	Pieces int       `json:"pieces"`
	Mark   string    `json:"mark,omitempty"`
	Each   calc.Mass `json:"each_mg"`
	Lost   calc.PPM  `json:"lost_ppm"` // since the first weighing of the same pieces
	Day    float64   `json:"day"`      // since the cut
}

// CureCurve is the drying curve of one piece, or the mean of the marked ones: End + (Start - End) e^(-Rate t),
// t in days from the cut.
type CureCurve struct {
	Start    calc.Mass   `json:"start_mg"`
	End      calc.Mass   `json:"end_mg"`
	Rate     float64     `json:"rate_per_day"`
	Residual calc.Mass   `json:"residual_mg"` // how far the weighings usually lie off it
	ByDay    []calc.Mass `json:"by_day_mg"`   // on day 0, the cut, and every day to the wrap
	AtWrap   calc.Mass   `json:"at_wrap_mg"`
	LostThen calc.PPM    `json:"lost_at_wrap_ppm"` // since the cut
	// At the end of the wished cure, TargetDay days after the cut. Nine times in
	// ten the weights lie within so much of the curve; 0 when nothing checks it.
	TargetDay    int       `json:"target_day"`
	AtTarget     calc.Mass `json:"at_target_mg"`
	WrapWithin   calc.Mass `json:"at_wrap_within_mg"`
	TargetWithin calc.Mass `json:"at_target_within_mg"`
	Few          bool      `json:"few"`  // nothing checks it yet
	Flat         bool      `json:"flat"` // it does not show its bend yet
}

// The notes on a cure. The advice follows while the soap is to cure.
const (
	noteUnweighed = "Not weighed yet. Weigh the same marked pieces once a week: when they hardly lose any more, they are ready."
	noteNever     = "It was not weighed."
	noteTooFew    = "Too few weighings for a curve: it takes three on different days, and a fourth to check it."
	noteFew       = "So few weighings give a curve that nothing checks."
	noteFlat      = "The weighings do not show where the weight settles."
	noteFitted    = "The curve goes by this batch's own weighings."
	noteNoCurve   = "The weighings do not fall as drying soap does."
	adviceMore    = " Weigh again in a week; until then the cure goes by its days."
	adviceCheck   = " Check them and weigh again in a week; until then the cure goes by its days."
)

// drying is the curve through the batch's weighings, by the weight of a piece.
func (x Batch) drying() (calc.CureFit, error) {
	points := make([]calc.Weighing, len(x.Weighings))
	for i, w := range x.Weighings {
		points[i] = calc.Weighing{Days: x.daysFromCut(w.At), Mass: w.each(), Mark: w.Mark}
	}
	return calc.FitCure(points)
}

// lossByWeighings is the share of its weight that the batch has lost by its wrap,
// planned or done, as its curve says; 0 while the weighings do not say.
func (x Batch) lossByWeighings() calc.PPM {
	fit, err := x.drying()
	if err != nil || fit.Few || fit.Flat || x.Wrap.From.IsZero() {
		return 0 // no curve yet: it goes by the recipe
	}
	return min(maxCureLoss, fit.Curve.LossAt(x.daysFromCut(x.Wrap.From)))
}

func (x Batch) daysFromCut(t time.Time) float64 { return t.Sub(x.CutAt).Hours() / 24 }

// each is the weight of one piece.
func (w Weighing) each() calc.Mass { return w.Mass / calc.Mass(max(1, w.Pieces)) }

// numbered is a weighing with its place among those of its batch, from 1.
type numbered struct {
	Weighing
	number int
}

// weighed is the weighings by the time they were made, which need not be the
// order they were written down in.
func (x Batch) weighed() []numbered {
	out := make([]numbered, len(x.Weighings))
	for i, w := range x.Weighings {
		out[i] = numbered{w, i + 1}
	}
	slices.SortStableFunc(out, func(a, b numbered) int { return a.At.Compare(b.At) })
	return out
}

// sheetCure is how the batch dries; wished is the days of its wished cure.
func (x Batch) sheetCure(wished int, zone *time.Location) SheetCure {
	out := SheetCure{StableOn: x.CureUntil}
	first, days := make(map[string]calc.Mass), make(map[string]map[int]bool)
	longest := 0
	for _, w := range x.weighed() {
		if days[w.Mark] == nil {
			first[w.Mark], days[w.Mark] = w.each(), make(map[int]bool)
		}
		lost := calc.ShareOf(first[w.Mark]-w.each(), first[w.Mark])
		out.Weighings = append(out.Weighings, SheetWeighing{
			Number: w.number, At: w.At, Pieces: w.Pieces, Mark: w.Mark, Each: w.each(), Lost: lost, Day: x.daysFromCut(w.At),
		})
		days[w.Mark][int(x.daysFromCut(w.At))] = true
		longest = max(longest, len(days[w.Mark]))
	}
	fit, err := x.drying()
	switch {
	case len(x.Weighings) == 0:
		out.Note = x.whileCuring(noteUnweighed, noteNever)
	case longest < 3:
		out.Note = noteTooFew
	case err != nil: // they are many enough, so it is their fall that is amiss
		out.Note = x.whileCuring(noteNoCurve+adviceCheck, noteNoCurve)
	default:
		out.Curve, out.Note = x.curve(fit, wished), x.fitNote(fit)
		x.addReady(&out, fit, zone)
	}
	return out
}

// addReady says between which days the batch becomes stable, and whether that
// is later than planned.
func (x Batch) addReady(out *SheetCure, fit calc.CureFit, zone *time.Location) {
	if out.StableOn.IsZero() {
		return
	}
	if early, late, ok := fit.StableBetween(stableWeek); ok {
		cut := civil.Of(x.CutAt.In(zone))
		out.StableEarly, out.StableLate = cut.AddDays(early), cut.AddDays(late)
	}
	out.Waits = x.State == BatchCuring && civil.Of(x.Wrap.From.In(zone)).Before(out.StableOn)
}

func (x Batch) fitNote(fit calc.CureFit) string {
	switch {
	case fit.Few:
		return x.whileCuring(noteFew+adviceMore, noteFew)
	case fit.Flat:
		return x.whileCuring(noteFlat+adviceMore, noteFlat)
	}
	return noteFitted
}

// whileCuring is what is said of a batch that cures or is still to do so, or else
// of one whose cure is over.
func (x Batch) whileCuring(said, over string) string {
	switch x.State {
	case BatchWrapped, BatchFailed, BatchCancelled:
		return over
	case BatchPlanned, BatchPoured, BatchCuring:
	}
	return said
}

// curve is the fit with what it says of the wrap, planned or done.
func (x Batch) curve(fit calc.CureFit, wished int) *CureCurve {
	wrap := x.WrappedAt
	if wrap.IsZero() {
		wrap = x.Wrap.From
	}
	days := x.daysFromCut(wrap)
	byDay := make([]calc.Mass, 1+int(min(maxCureDays, max(0, math.Ceil(days)))))
	for day := range byDay {
		byDay[day] = fit.Curve.At(float64(day))
	}
	wrapWithin, _ := fit.Around(days)
	targetWithin, _ := fit.Around(float64(wished))
	return &CureCurve{
		TargetDay: wished, AtTarget: fit.Curve.At(float64(wished)), WrapWithin: wrapWithin, TargetWithin: targetWithin,
		Start: fit.Curve.Start, End: fit.Curve.End, Rate: fit.Curve.Rate, Residual: calc.Mass(math.Round(fit.Residual)),
		ByDay: byDay, AtWrap: fit.Curve.At(days), LostThen: fit.Curve.LossAt(days), Few: fit.Few, Flat: fit.Flat,
	}
}
