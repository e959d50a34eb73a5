package orders

import (
	"context"
	"fmt"
	"strings"

	"ripeline/schedule"
)

// stepCure is where soap on the rack is lost. It is no hands-on step, so the
// planner does not know it.
const stepCure schedule.Step = "cure"

// Fail records that a batch, or some pieces of it, is lost, and proposes ways
// out; a batch that is only planned can not fail.
func (b *Book) Fail(ctx context.Context, a Actor, id string, version int, f FailFact) (Batch, PlanChange, error) {
	return b.changeBatch(ctx, a, Helper, id, version, func(e event, x *Batch) (fact, error) {
		before, step, done := x.PouredAt, schedule.StepMake, "poured"
		switch x.State {
		case BatchPoured:
		case BatchCuring:
			before, step, done = x.CutAt, stepCure, "cut"
		case BatchPlanned:
			return fact{}, &Conflict{x.Lot + " is planned and not poured yet, so nothing is lost and there is nothing to cancel. " +
				"Plan again when its time has passed, or pour it."}
		case BatchWrapped:
			return fact{}, &Conflict{x.Lot + " was wrapped already; its pieces are stock. Lower the stock by what is lost."}
		case BatchFailed, BatchCancelled:
			return fact{}, x.refuse("lost", "There is nothing of it to lose.")
		}
		left := x.left()
		var c Check
		at := e.at(&c, f.At, before, done)
		c.Want(f.Pieces >= 0, "pieces", "must not be negative; give the number of lost pieces, 0 for all")
		c.Want(f.Pieces <= left, "pieces", fmt.Sprintf("is more than the %s left; give 0 for all of them", pieces(left)))
		checkNote(&c, "reason", f.Reason)
		if err := c.Err(); err != nil {
			return fact{}, err
		}
		lost := f.Pieces
		if lost == 0 {
			lost = left
		}
		x.lose(at, step, lost, f.Reason)
		if lost == left {
			x.State, x.EndedAt, x.FailedStep, x.FailReason, x.Sound = BatchFailed, at, step, f.Reason, 0
			return fact{action: "batch.fail", text: because(fmt.Sprintf("All of %s, %s, is lost", x.Lot, pieces(lost)), f.Reason), lost: true}, nil
		}
		x.Sound = soundAfter(*x, left, lost)
		return fact{action: "batch.fail", text: because(fmt.Sprintf("%s of %s lost", pieces(lost), x.Lot), f.Reason), lost: true}, nil
	})
}

// left is how many pieces of a running batch are not lost: as poured until
// the cut counts the sound ones.
func (x Batch) left() int {
	if x.State == BatchPoured {
		return x.Pieces - x.lost()
	}
	return x.Sound
}

// soundAfter is how many of the pieces left will be sound: on the rack all of
// them, before the cut in the proportion expected of the batch.
func soundAfter(x Batch, left, lost int) int {
	if x.State == BatchCuring {
		return left - lost
	}
	return max(1, x.Sound*(left-lost)/left)
}

// because is a sentence of what happened and the reason given, if any.
func because(what, reason string) string {
	if reason = strings.TrimRight(strings.TrimSpace(reason), "."); reason != "" {
		what += ": " + reason
	}
	return what + "."
}
