package orders

import (
	"context"
	"fmt"
	"strings"
	"time"

	"ripeline/schedule"
)

// batchChanged is a batch and what recording a fact about it did to the plan.
type batchChanged struct {
	Batch Batch      `json:"batch"`
	Plan  PlanChange `json:"plan"`
}

// Pour, Cut, Wrap and Fail record what happened to a batch, Weigh adds a
// weighing and Unweigh takes one back; each re-plans. Helpers may call them. A version of 0 is not
// compared. What happened is a fact even when the plan had it otherwise: the
// journal then says so.

// Pour records that a planned batch was poured, or one that had left the plan and was
// poured all the same: that it should not have been is said, and it is a fact.
func (b *Book) Pour(ctx context.Context, a Actor, id string, version int, f PourFact) (Batch, PlanChange, error) {
	return b.changeBatch(ctx, a, Helper, id, version, func(e event, x *Batch) (fact, error) {
		if x.State != BatchPlanned && x.State != BatchCancelled {
			return fact{}, x.refuse("poured", "Only a batch that was not poured yet can be.")
		}
		var c Check
		at := e.at(&c, f.At, time.Time{}, "")
		checkNote(&c, "notes", f.Notes)
		if err := c.Err(); err != nil {
			return fact{}, err
		}
		early := e.day(at).Before(e.day(x.Make.To))
		x.Make = endedAt(x.Make, at, time.Time{})
		left := x.State == BatchCancelled
		x.State, x.PouredAt, x.EndedAt = BatchPoured, at, time.Time{}
		x.note(f.Notes)
		draw := func(ctx context.Context, tx Tx, x *Batch) ([]string, error) {
			said, err := x.codeByPour(ctx, tx, e.day(at))
			if err != nil {
				return nil, err
			}
			lacks, err := drawLots(ctx, tx, e.day(at), x)
			if err != nil || !left {
				return append(said, lacks...), err
			}
			against, err := pouredAllTheSame(ctx, tx, *x)
			return append(append(said, lacks...), against...), err
		}
		return fact{action: "batch.pour", text: fmt.Sprintf("Poured %s, %s, %s.", x.Lot, pieces(x.Pieces), e.says(at)), early: early, before: draw, then: keepMaking}, nil
	})
}

// Cut records that a poured batch was cut, and the pieces spoiled by then.
func (b *Book) Cut(ctx context.Context, a Actor, id string, version int, f CutFact) (Batch, PlanChange, error) {
	return b.changeBatch(ctx, a, Helper, id, version, func(e event, x *Batch) (fact, error) {
		if x.State != BatchPoured {
			return fact{}, x.refuse("cut", "Only a poured batch can be cut.")
		}
		var c Check
		at := e.at(&c, f.At, x.PouredAt, "poured")
		left := x.Pieces - x.lost()
		checkSpoiled(&c, f.Spoiled, left, f.Reason, f.Notes)
		if err := c.Err(); err != nil {
			return fact{}, err
		}
		early := e.day(at).Before(e.day(x.Cut.To))
		x.Cut = endedAt(x.Cut, at, x.PouredAt)
		x.State, x.CutAt, x.Sound = BatchCuring, at, left-f.Spoiled
		x.lose(at, schedule.StepCut, f.Spoiled, f.Reason)
		x.note(f.Notes)
		out := fact{action: "batch.cut", text: fmt.Sprintf("Cut %s, %s sound, %d spoiled, %s.", x.Lot, pieces(x.Sound), f.Spoiled, e.says(at)), early: early}
		if x.cutOutside() {
			out.warn("This was outside its cut window, %s to %s.", e.says(x.CutFrom), e.says(x.CutTo))
		}
		return out, nil
	})
}

// Wrap records that a curing batch was wrapped; its sound pieces become stock.
func (b *Book) Wrap(ctx context.Context, a Actor, id string, version int, f WrapFact) (Batch, PlanChange, error) {
	return b.changeBatch(ctx, a, Helper, id, version, func(e event, x *Batch) (fact, error) {
		if x.State != BatchCuring {
			return fact{}, x.refuse("wrapped", "Only a batch that cures can be wrapped.")
		}
		var c Check
		at := e.at(&c, f.At, x.CutAt, "cut")
		checkSpoiled(&c, f.Spoiled, x.Sound, f.Reason, f.Notes)
		if err := c.Err(); err != nil {
			return fact{}, err
		}
		x.Wrap = endedAt(x.Wrap, at, x.CutAt)
		x.WrapParts = []schedule.Interval{x.Wrap}
		x.State, x.WrappedAt = BatchWrapped, at
		x.Sound -= f.Spoiled
		x.lose(at, schedule.StepWrap, f.Spoiled, f.Reason)
		x.note(f.Notes)
		out := fact{action: "batch.wrap", text: fmt.Sprintf("Wrapped %s, %s for the shelf, %d spoiled, %s.", x.Lot, pieces(x.Sound), f.Spoiled, e.says(at)), then: shelve}
		if day := e.day(at); !x.CureMin.IsZero() && day.Before(x.CureMin) {
			out.warn("This was before %s, the end of its shortest cure.", x.CureMin)
		}
		return out, nil
	})
}

// shelve makes stock of a wrapped batch and moves what was allocated of it.
func shelve(ctx context.Context, tx Tx, x Batch) error {
	stock := Stock{DesignID: x.DesignID, BatchID: x.ID, Pieces: x.Sound, Note: x.Lot}
	if err := tx.Stocks().Insert(ctx, &stock); err != nil {
		return fmt.Errorf("shelve %s: %w", x.Lot, err)
	}
	all, err := tx.Allocations(ctx)
	if err != nil {
		return err
	}
	for i := range all {
		if all[i].BatchID == x.ID {
			all[i].BatchID, all[i].StockID = "", stock.ID
		}
	}
	if err := tx.SetAllocations(ctx, all); err != nil {
		return fmt.Errorf("shelve %s: %w", x.Lot, err)
	}
	return nil
}

// Pin fixes (or frees) a planned batch's published times.
func (b *Book) Pin(ctx context.Context, a Actor, id string, version int, pinned bool) (Batch, PlanChange, error) {
	return b.changeBatch(ctx, a, Owner, id, version, func(_ event, x *Batch) (fact, error) {
		if x.State != BatchPlanned {
			return fact{}, x.refuse("pinned", "Only the times of a planned batch can be fixed.")
		}
		x.Pinned = pinned
		if pinned {
			return fact{action: "batch.pin", text: "Fixed the times of " + x.Lot + "."}, nil
		}
		return fact{action: "batch.unpin", text: "Freed the times of " + x.Lot + "."}, nil
	})
}

// fact is what was recorded of a batch.
type fact struct {
	action string
	text   string                                              // one sentence or more for a person
	lost   bool                                                // ways out are wanted
	early  bool                                                // on a day before the planned one: what follows may come earlier too
	keep   bool                                                // planning does not read it
	before func(context.Context, Tx, *Batch) ([]string, error) // done before the batch is stored; gives more warnings
	guess  bool                                                // what follows from it is not certain, so nothing follows without a yes
	warns  []string                                            // sentences for whoever records it, and for the journal
	then   func(context.Context, Tx, Batch) error
}

// warn adds what should not have been so.
func (f *fact) warn(format string, args ...any) {
	f.warns = append(f.warns, fmt.Sprintf(format, args...))
}

// changeBatch records one fact of a batch in one transaction: check, store,
// journal, re-plan.
func (b *Book) changeBatch(ctx context.Context, a Actor, least Role, id string, version int, record func(event, *Batch) (fact, error)) (Batch, PlanChange, error) {
	if err := a.may(least, true); err != nil {
		return Batch{}, PlanChange{}, err
	}
	out, err := write(ctx, b, a, func(tx Tx) (batchChanged, error) {
		x, err := tx.Batches().Get(ctx, id)
		if err != nil {
			return batchChanged{}, err
		}
		if err := x.seen(version, x.Lot); err != nil {
			return batchChanged{}, err
		}
		e, err := b.newEvent(ctx, tx)
		if err != nil {
			return batchChanged{}, err
		}
		f, err := record(e, &x)
		if err != nil {
			return batchChanged{}, err
		}
		return b.batchDone(ctx, tx, a, x, f)
	})
	return out.Batch, out.Plan, err
}

// batchDone stores the batch with its new fact and plans on from there.
func (b *Book) batchDone(ctx context.Context, tx Tx, a Actor, x Batch, f fact) (batchChanged, error) {
	if f.before != nil {
		said, err := f.before(ctx, tx, &x)
		if err != nil {
			return batchChanged{}, err
		}
		f.warns = append(f.warns, said...)
	}
	if err := tx.Batches().Update(ctx, &x); err != nil {
		return batchChanged{}, fmt.Errorf("%s %s: %w", f.action, x.Lot, err)
	}
	if f.then != nil {
		if err := f.then(ctx, tx, x); err != nil {
			return batchChanged{}, err
		}
	}
	f.text = strings.Join(append([]string{f.text}, f.warns...), " ")
	if err := b.journal(ctx, tx, a, f.action, x.ID, f.text); err != nil {
		return batchChanged{}, err
	}
	change, err := b.unchanged(ctx, tx)
	if err == nil && !f.keep {
		c := cause{why: shortened(f.text), lost: f.lost}
		if x.State != BatchPlanned && !f.guess {
			c.fact, c.early = x.ID, f.early
		}
		change, err = b.replanFor(ctx, tx, a, c)
	}
	if err != nil {
		return batchChanged{}, err
	}
	change.Warnings = f.warns
	x, err = tx.Batches().Get(ctx, x.ID)
	return batchChanged{x, change}, err
}

// shortened is text cut to what fits beside a plan revision.
func shortened(text string) string {
	const most = 500
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	return strings.TrimSpace(string(runes[:most])) + "…"
}

// refuse says that the batch's state does not allow what is asked.
func (x Batch) refuse(done, rule string) error {
	is := map[BatchState]string{
		BatchPlanned: "is planned and not poured yet", BatchPoured: "was poured and not cut yet", BatchCuring: "was cut and cures",
		BatchWrapped: "was wrapped already", BatchFailed: "failed", BatchCancelled: "was cancelled",
	}[x.State]
	return &Conflict{fmt.Sprintf("%s %s, so it can not be %s now. %s", x.Lot, is, done, rule)}
}

// lost is how many pieces of the batch were lost so far.
func (x Batch) lost() int {
	n := 0
	for _, l := range x.Losses {
		n += l.Pieces
	}
	return n
}

func (x *Batch) lose(at time.Time, step schedule.Step, n int, reason string) {
	if n > 0 {
		x.Losses = append(x.Losses, Loss{At: at, Step: step, Pieces: n, Reason: reason})
	}
}

// note adds a line to the batch's notes.
func (x *Batch) note(text string) {
	x.Notes = strings.TrimSpace(x.Notes + "\n" + strings.TrimSpace(text))
}

// checkSpoiled checks a count of spoiled pieces among those left.
func checkSpoiled(c *Check, spoiled, left int, reason, notes string) {
	switch {
	case spoiled < 0:
		c.Add("spoiled", "must not be negative; give the number of spoiled pieces, 0 for none")
	case spoiled > left:
		c.Add("spoiled", fmt.Sprintf("is more than the %s there are", pieces(left)))
	case spoiled == left:
		c.Add("spoiled", "is all there is; say that the batch failed instead")
	}
	checkNote(c, "reason", reason)
	checkNote(c, "notes", notes)
}

// endedAt is the planned span of a step, shifted to end at at, and not begun
// before the step before it ended.
func endedAt(planned schedule.Interval, at, before time.Time) schedule.Interval {
	took := max(planned.To.Sub(planned.From), time.Minute)
	from := at.Add(-took)
	if from.Before(before) {
		from = before
	}
	if !from.Before(at) {
		from = at.Add(-time.Minute)
	}
	return schedule.Interval{From: from, To: at}
}
