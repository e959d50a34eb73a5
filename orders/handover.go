package orders

import (
	"context"
	"fmt"
	"strings"

	"ripeline/schedule/civil"
)

// HandOverFact says that an order's pieces left, and on which day; zero is today.
type HandOverFact struct {
	LeftOn civil.Date `json:"left_on,omitzero"`
}

// HandOver says the order's pieces left; all must be wrapped and allocated.
func (b *Book) HandOver(ctx context.Context, a Actor, id string, version int, f HandOverFact) (Order, PlanChange, error) {
	return b.changeOrder(ctx, a, Helper, func(tx Tx) (orderChanged, error) {
		o, err := getOrder(ctx, tx, id, version)
		if err != nil {
			return orderChanged{}, err
		}
		if o.Status != Accepted {
			return orderChanged{}, &Conflict{fmt.Sprintf("%s is %s; only an accepted order can be handed over.", o.called(), o.Status.words())}
		}
		all, err := tx.Allocations(ctx)
		if err != nil {
			return orderChanged{}, err
		}
		if err := o.allWrapped(ctx, tx, all); err != nil {
			return orderChanged{}, err
		}
		if o.LeftOn, err = b.leftOn(ctx, tx, o, all, f.LeftOn); err != nil {
			return orderChanged{}, err
		}
		if err := takeFromShelf(ctx, tx, o, all); err != nil {
			return orderChanged{}, err
		}
		flags, err := newSaleDesk(tx, all).notForSale(ctx, o)
		if err != nil {
			return orderChanged{}, err
		}
		if len(flags) > 0 {
			text := "Handed over all the same: " + strings.Join(flags, " ")
			if err := b.journal(ctx, tx, a, "order.flagged", o.ID, shortened(text)); err != nil {
				return orderChanged{}, err
			}
		}
		o.Status, o.EndedAt = HandedOver, b.now()
		if err := tx.Orders().Update(ctx, &o); err != nil {
			return orderChanged{}, fmt.Errorf("hand over order %d: %w", o.Number, err)
		}
		done, err := b.orderDone(ctx, tx, a, o, "order.hand_over", "Handed over", true)
		done.Plan.Warnings = flags
		return done, err
	})
}

// leftOn checks the day on which an order left: neither ahead nor before the last of
// its pieces was wrapped.
func (b *Book) leftOn(ctx context.Context, tx Tx, o Order, all []Allocation, given civil.Date) (civil.Date, error) {
	e, err := b.newEvent(ctx, tx)
	if err != nil {
		return given, err
	}
	today := e.day(e.now)
	if given.IsZero() {
		return today, nil
	}
	var c Check
	checkDay(&c, "left_on", given)
	c.Want(!given.After(today), "left_on", "lies ahead; give the day on which it was handed over, or leave it empty for today")
	c.Want(!given.Before(e.day(e.now.Add(-longestAgo))), "left_on", "lies more than a year back; check the date")
	last, err := lastWrapped(ctx, tx, o, all)
	if err != nil {
		return given, err
	}
	if wrapped := e.day(last.WrappedAt); !last.WrappedAt.IsZero() && given.Before(wrapped) {
		c.Add("left_on", fmt.Sprintf("lies before %s was wrapped (%s); give that day or a later one", last.Lot, wrapped))
	}
	return given, c.Err()
}

// lastWrapped is the batch of an order's pieces that was wrapped last, the zero one when
// all were counted in by hand.
func lastWrapped(ctx context.Context, tx Tx, o Order, all []Allocation) (Batch, error) {
	var last Batch
	for _, a := range all {
		if a.OrderID != o.ID {
			continue
		}
		id, err := a.batch(ctx, tx)
		if err != nil {
			return last, err
		}
		if id == "" {
			continue
		}
		x, err := tx.Batches().Get(ctx, id)
		if err != nil {
			return last, err
		}
		if x.WrappedAt.After(last.WrappedAt) {
			last = x
		}
	}
	return last, nil
}

// allWrapped is a conflict that names what of the order is not on the shelf.
func (o Order) allWrapped(ctx context.Context, tx Tx, all []Allocation) error {
	var missing []string
	for _, l := range o.Lines {
		wrapped := 0
		for _, a := range all {
			if a.LineID == l.ID && a.StockID != "" {
				wrapped += a.Pieces
			}
		}
		if wrapped >= l.Total() {
			continue
		}
		d, err := tx.Designs().Get(ctx, l.DesignID)
		if err != nil {
			return err
		}
		missing = append(missing, fmt.Sprintf("%d of %d %s", l.Total()-wrapped, l.Total(), d.Name))
	}
	if len(missing) == 0 {
		return nil
	}
	return &Conflict{fmt.Sprintf("%s can not be handed over: %s are not wrapped and set aside for it yet. "+
		"Wrap them, or change the order to what there is.", o.called(), strings.Join(missing, ", "))}
}

// takeFromShelf lowers the stock by what the order holds. Its allocations stay,
// as the record of which batches went to whom.
func takeFromShelf(ctx context.Context, tx Tx, o Order, all []Allocation) error {
	for _, a := range all {
		if a.OrderID != o.ID || a.StockID == "" {
			continue
		}
		s, err := tx.Stocks().Get(ctx, a.StockID)
		if err != nil {
			return err
		}
		if s.Pieces < a.Pieces {
			return &Conflict{fmt.Sprintf("%s holds %d pieces of a stock that has %d. Count the stock and plan again.", o.called(), a.Pieces, s.Pieces)}
		}
		s.Pieces -= a.Pieces
		if err := tx.Stocks().Update(ctx, &s); err != nil {
			return fmt.Errorf("take from stock: %w", err)
		}
	}
	return nil
}
