package orders

import (
	"context"
	"fmt"
	"slices"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// Limits of what can be asked for.
const (
	maxLines     = 50
	maxWeight    = 9
	maxDaysAhead = 366 * maxYearsAhead
)

// Promise answers whether the question's lines can be ready by its date.
// It writes nothing. Any role may ask.
func (b *Book) Promise(ctx context.Context, a Actor, q Question) (*schedule.Answer, error) {
	return read(ctx, b, a, func(tx Tx) (*schedule.Answer, error) {
		snap, err := tx.Snapshot(ctx)
		if err != nil {
			return nil, err
		}
		order, err := b.asked(ctx, tx, snap.Workshop, q)
		if err != nil {
			return nil, err
		}
		p, err := snap.problem(b.now())
		if err != nil {
			return nil, err
		}
		answer, err := schedule.Promise(ctx, snap.forSale(p), order)
		if err != nil {
			return nil, fmt.Errorf("promise in workshop %s: %w", a.WorkshopID, err)
		}
		if answer.Verdict != schedule.No {
			return answer, nil
		}
		ways, err := snap.mend(ctx, p, order)
		if err != nil {
			return nil, fmt.Errorf("promise in workshop %s once it is mended: %w", a.WorkshopID, err)
		}
		answer.Alternatives = append(ways, answer.Alternatives...)
		return answer, nil
	})
}

// asked checks the question and puts it as an order that is not in the book.
func (b *Book) asked(ctx context.Context, tx Tx, w Workshop, q Question) (schedule.Order, error) {
	var c Check
	o := Order{NeededBy: q.NeededBy, HandOver: deref(q.HandOver, w.HandOver), Weight: max(1, q.Weight), Lines: slices.Clone(q.Lines), Title: "This order"}
	o.ID = "question"
	for i := range o.Lines {
		o.Lines[i].ID = fmt.Sprintf("question-%d", i+1)
	}
	today, err := w.dateOf(b.now())
	if err != nil {
		return schedule.Order{}, err
	}
	if err := checkAsked(ctx, tx, &c, o, q.Weight, today, nil); err != nil {
		return schedule.Order{}, err
	}
	return o.asked(), c.Err()
}

// deref is the value p points at, or none when there is none.
func deref(p *int, none int) int {
	if p == nil {
		return none
	}
	return *p
}

// checkAsked checks what is asked for and when; before is the order as it was,
// nil for a new one, whose date must lie ahead.
func checkAsked(ctx context.Context, tx Tx, c *Check, o Order, weight int, today civil.Date, before *Order) error {
	if before == nil || before.NeededBy != o.NeededBy {
		checkNeededBy(c, o.NeededBy, today)
	}
	within(c, "hand_over_days", o.HandOver, 0, maxHandOver, "days")
	within(c, "weight", weight, 0, maxWeight, "(1 is usual, 9 must not fail)")
	c.Want(len(o.Lines) > 0, "lines", "is empty; add a design and how many pieces")
	c.Want(len(o.Lines) <= maxLines, "lines", fmt.Sprintf("has more than %d lines; split the order", maxLines))
	total := 0
	for i, l := range o.Lines[:min(len(o.Lines), maxLines)] {
		if err := checkLine(ctx, tx, c, fmt.Sprintf("lines[%d].", i), l, before); err != nil {
			return err
		}
		if max(l.Pieces, l.Spares, l.Keepsakes) <= maxAsked {
			total += max(0, l.Total())
		}
	}
	c.Want(total <= maxAsked, "lines", fmt.Sprintf("add up to more than %d pieces; split the order", maxAsked))
	return nil
}

func checkNeededBy(c *Check, d, today civil.Date) {
	switch {
	case d.IsZero():
		c.Add("needed_by", "is missing; pick a date after today")
	case !d.Valid():
		c.Add("needed_by", "is not a day of the calendar; pick a date after today")
	case d.Before(today):
		c.Add("needed_by", d.String()+" is in the past; pick a date after today")
	case d == today:
		c.Add("needed_by", d.String()+" is today; pick a date after today")
	case d.Sub(today) > maxDaysAhead:
		c.Add("needed_by", fmt.Sprintf("%s is more than %d years ahead; pick an earlier date", d, maxYearsAhead))
	}
}

func checkLine(ctx context.Context, tx Tx, c *Check, at string, l OrderLine, before *Order) error {
	d, err := known(ctx, c, tx.Designs(), at+"design_id", l.DesignID, "design")
	if err != nil {
		return err
	}
	if before == nil || !before.has(l.DesignID) {
		c.Want(!d.Retired, at+"design_id", "is no longer offered; choose another design")
	}
	within(c, at+"pieces", l.Pieces, 1, maxAsked, "pieces")
	within(c, at+"spares", l.Spares, 0, maxAsked, "pieces")
	within(c, at+"keepsakes", l.Keepsakes, 0, maxAsked, "pieces")
	return nil
}

func (o Order) has(designID string) bool {
	_, ok := find(o.Lines, designID, func(l OrderLine) string { return l.DesignID })
	return ok
}
