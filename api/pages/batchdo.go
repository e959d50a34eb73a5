package pages

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

func (v *visit) pour() error {
	return v.batchStep(func(f *form, id string) (orders.Batch, orders.PlanChange, error) {
		fact := orders.PourFact{At: f.moment(), Notes: f.text("notes")}
		if !f.ok() {
			return orders.Batch{}, orders.PlanChange{}, errRejected
		}
		return v.Book.Pour(v.once(f), v.actor, id, f.version(), fact)
	}, func(b orders.Batch) string {
		note, _ := v.cutNote(b)
		return strings.TrimSpace(fmt.Sprintf("Poured: %s. %s", b.Lot, note))
	})
}

func (v *visit) cut() error {
	return v.batchStep(func(f *form, id string) (orders.Batch, orders.PlanChange, error) {
		fact := orders.CutFact{At: f.moment(), Spoiled: f.whole("spoiled", 0), Reason: f.text("reason"), Notes: f.text("notes")}
		if !f.ok() {
			return orders.Batch{}, orders.PlanChange{}, errRejected
		}
		return v.Book.Cut(v.once(f), v.actor, id, f.version(), fact)
	}, func(b orders.Batch) string {
		cure := "It cures until %s at least."
		if !v.today().Before(b.CureMin) { // it was cut long ago, and is written down now
			cure = "Its shortest cure ended on %s."
		}
		return fmt.Sprintf("Cut: %s, %s. "+cure, b.Lot, count(b.Sound, "sound piece"), v.words.day(b.CureMin))
	})
}

// cutNote says when a poured batch can be cut; late is true when that time is
// over, or holds no working hour.
func (v *visit) cutNote(b orders.Batch) (text string, late bool) {
	switch {
	case b.State != orders.BatchPoured || b.CutTo.IsZero():
		return "", false
	case v.now.After(b.CutTo):
		return fmt.Sprintf("Its time to be cut ended %s. Cut it as soon as you can: it grows hard, and may crumble.", v.words.at(b.CutTo)), true
	case b.Hurried(v.now):
		return fmt.Sprintf("No working hour is left in its time to be cut, which ends %s. Cut it by then all the same, or add extra hours.", v.words.at(b.CutTo)), true
	}
	return fmt.Sprintf("It can be cut from %s to %s.", v.words.at(b.CutFrom), v.words.at(b.CutTo)), false
}

func (v *visit) wrap() error {
	return v.batchStep(func(f *form, id string) (orders.Batch, orders.PlanChange, error) {
		fact := orders.WrapFact{At: f.moment(), Spoiled: f.whole("spoiled", 0), Reason: f.text("reason"), Notes: f.text("notes")}
		if !f.ok() {
			return orders.Batch{}, orders.PlanChange{}, errRejected
		}
		return v.Book.Wrap(v.once(f), v.actor, id, f.version(), fact)
	}, func(b orders.Batch) string {
		return fmt.Sprintf("Wrapped: %s, %s.", b.Lot, count(b.Sound, "sound piece"))
	})
}

// weighedAt is the input for when a batch was weighed; "at" on the same page is
// when its next step was done.
const weighedAt = "weighed_at"

// renamed is err with what it says of one field said of another.
func renamed(err error, from, to string) error {
	var invalid *orders.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	out := &orders.Invalid{Fields: slices.Clone(invalid.Fields)}
	for i := range out.Fields {
		if out.Fields[i].Field == from {
			out.Fields[i].Field = to
		}
	}
	return out
}

func (v *visit) weigh() error {
	return v.batchStep(func(f *form, id string) (orders.Batch, orders.PlanChange, error) {
		w := orders.Weighing{At: f.momentIn(weighedAt), Pieces: f.whole("pieces", 1), Mass: f.mass("mass_mg"), Mark: f.text("mark")}
		if !f.ok() {
			return orders.Batch{}, orders.PlanChange{}, errRejected
		}
		b, change, err := v.Book.Weigh(v.once(f), v.actor, id, f.version(), w)
		return b, change, renamed(err, "at", weighedAt)
	}, func(b orders.Batch) string { return "Weighed: " + b.Lot + "." })
}

func (v *visit) unweigh() error {
	return v.batchStep(func(f *form, id string) (orders.Batch, orders.PlanChange, error) {
		taken := orders.WeighingTaken{Number: f.whole("number", 0)}
		if !f.ok() {
			return orders.Batch{}, orders.PlanChange{}, errRejected
		}
		return v.Book.Unweigh(v.once(f), v.actor, id, f.version(), taken)
	}, func(b orders.Batch) string { return "Took back a weighing of " + b.Lot + "." })
}

func (v *visit) pin() error {
	return v.batchStep(func(f *form, id string) (orders.Batch, orders.PlanChange, error) {
		return v.Book.Pin(v.once(f), v.actor, id, f.version(), f.ticked("pinned"))
	}, func(b orders.Batch) string {
		if b.Pinned {
			return "Its times are fixed now: the plan works around them."
		}
		return "Its times are free again."
	})
}

// errRejected says that the form's own messages are enough.
var errRejected = &orders.Invalid{}

// batchStep records what happened to a batch. A rejected form is shown again
// on the batch's page, wherever it was sent from.
func (v *visit) batchStep(do func(*form, string) (orders.Batch, orders.PlanChange, error), said func(orders.Batch) string) error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	id := chi.URLParam(v.r, "id")
	batch, change, err := do(f, id)
	if err != nil {
		if !f.takes(err) {
			return err
		}
		return v.drawBatch(f)
	}
	return v.changed(localPath(f.text("back"), "/batches/"+id), said(batch), change)
}

// judgeTrial says that a design's trial is good.
func (v *visit) judgeTrial() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	id := chi.URLParam(v.r, "id")
	design, change, err := v.Book.TrialPassed(v.once(f), v.actor, id, f.version(), true)
	if errors.Is(err, orders.ErrConflict) {
		return v.toldThere("/designs/"+id, err)
	}
	if err != nil {
		return err
	}
	return v.changed(localPath(f.text("back"), "/designs/"+id), "The trial of "+design.Name+" is good.", change)
}
