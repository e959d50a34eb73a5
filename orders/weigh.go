package orders

import (
	"context"
	"fmt"
	"slices"
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

// Weigh adds a weighing to a curing batch; one that can not be right, by the recipe
// or by earlier weighings, is refused. Once the weighings show a curve, the batch is
// not planned to be wrapped before the day the curve says it is stable; where that is
// later than published, the new plan waits for a yes.
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
		had := *x
		x.Weighings = append(slices.Clone(x.Weighings), w)
		f := x.learn(e, "batch.weigh", fmt.Sprintf("Weighed %s: %s.", w.what(*x), e.shop.mass(w.Mass)))
		f.before = func(ctx context.Context, tx Tx, _ *Batch) ([]string, error) { return nil, w.plausible(ctx, tx, e, had) }
		return f, nil
	})
}

// WeighingTaken names a weighing of a batch that is to be taken back.
type WeighingTaken struct {
	Number int `json:"number"` // its place among the batch's weighings, from 1
}

// Unweigh takes back a weighing that was wrong, of a batch that cures or is wrapped.
// The cure of a curing batch then goes by the weighings that are left.
func (b *Book) Unweigh(ctx context.Context, a Actor, id string, version int, t WeighingTaken) (Batch, PlanChange, error) {
	return b.changeBatch(ctx, a, Helper, id, version, func(e event, x *Batch) (fact, error) {
		if x.State != BatchCuring && x.State != BatchWrapped {
			return fact{}, x.refuse("corrected in its weighings", "Only a batch that cures or is wrapped is.")
		}
		if t.Number < 1 || t.Number > len(x.Weighings) {
			return fact{}, &Invalid{Fields: []FieldError{{"number", fmt.Sprintf("is none of the %d weighings of %s; count them from 1 in the order in which they were written down", len(x.Weighings), x.Lot)}}}
		}
		w := x.Weighings[t.Number-1]
		x.Weighings = slices.Delete(slices.Clone(x.Weighings), t.Number-1, t.Number)
		text := fmt.Sprintf("Took back the weighing of %s on %s: %s.", w.what(*x), e.says(w.At), e.shop.mass(w.Mass))
		if x.State == BatchWrapped { // its cure is over, whatever they say
			return fact{action: "batch.unweigh", text: text, keep: true}, nil
		}
		return x.learn(e, "batch.unweigh", text), nil
	})
}

// learn takes from the weighings as they are now when the batch is stable, and says
// so after what was done.
func (x *Batch) learn(e event, action, did string) fact {
	until := x.stableFrom(e)
	f := fact{action: action, text: did, keep: until == x.CureUntil, guess: true}
	if x.CureUntil = until; !f.keep && !until.IsZero() {
		f.text += fmt.Sprintf(" By its weighings it is stable from %s.", until)
	}
	return f
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
