package orders

import (
	"context"
	"fmt"
	"strings"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// Limits of a weighing, and when soap counts as stable: when a week costs it
// no more than stableWeek of its weight (common practice: weekly weighing until
// it is stable).
const (
	maxPieceMass = 20 * calc.Kilogram
	maxWeighings = 500
	maxMark      = 40 // characters
	stableWeek   = calc.Percent
)

// Weigh adds a weighing to a curing batch. Once the weighings show a curve,
// the batch is not planned to be wrapped before the day the curve says it is stable;
// where that is later than published, the new plan waits for a yes.
func (b *Book) Weigh(ctx context.Context, a Actor, id string, version int, w Weighing) (Batch, PlanChange, error) {
	return b.changeBatch(ctx, a, Helper, id, version, func(e event, x *Batch) (fact, error) {
		if x.State != BatchCuring {
			return fact{}, x.refuse("weighed", "Only a batch on the rack is weighed.")
		}
		if len(x.Weighings) >= maxWeighings {
			return fact{}, &Conflict{fmt.Sprintf("%s has %d weighings, and no batch can have more.", x.Lot, maxWeighings)}
		}
		var c Check
		w.At = e.at(&c, w.At, x.CutAt, "cut")
		w.Mark = strings.TrimSpace(w.Mark)
		w.check(&c, *x)
		if err := c.Err(); err != nil {
			return fact{}, err
		}
		x.Weighings = append(x.Weighings, w)
		until := x.stableFrom(e)
		f := fact{action: "batch.weigh", text: fmt.Sprintf("Weighed %s: %s.", w.what(*x), w.Mass), keep: until == x.CureUntil, guess: true}
		if x.CureUntil = until; !f.keep && !until.IsZero() {
			f.text += fmt.Sprintf(" By its weighings it is stable from %s.", until)
		}
		return f, nil
	})
}

func (w Weighing) check(c *Check, x Batch) {
	within(c, "pieces", w.Pieces, 1, max(1, x.Sound), "pieces on the rack")
	c.Want(w.Mass > 0 && w.Mass <= maxPieceMass*calc.Mass(max(1, w.Pieces)), "mass_mg", "must be more than 0 and at most 20 kg a piece")
	checkText(c, "mark", w.Mark, maxMark, false)
	c.Want(w.Mark == "" || w.Pieces == 1, "pieces", "must be 1 for a marked piece; weigh each marked piece by itself")
}

// what is what was weighed, in words.
func (w Weighing) what(x Batch) string {
	if w.Mark != "" {
		return fmt.Sprintf("the piece marked %q of %s", w.Mark, x.Lot)
	}
	return pieces(w.Pieces) + " of " + x.Lot
}

// stableFrom is the day the weighings say the batch is stable, zero while they
// are too few or show no bend. It may lie before the end of the shortest cure,
// which holds all the same.
func (x Batch) stableFrom(e event) civil.Date {
	fit, err := x.drying()
	if err != nil || fit.Few || fit.Flat {
		return civil.Date{} // no curve yet: the cure goes by its days
	}
	days, ok := fit.Curve.StableAfter(stableWeek)
	if !ok || days > maxCureDays {
		return civil.Date{}
	}
	return e.day(x.CutAt).AddDays(days)
}
