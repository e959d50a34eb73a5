package orders

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"
)

// orderChanged is an order and what changing it did to the plan.
type orderChanged struct {
	Order Order      `json:"order"`
	Plan  PlanChange `json:"plan"`
}

// TakeOrder adds an order, as an enquiry or, with accept, promised at once.
func (b *Book) TakeOrder(ctx context.Context, a Actor, in OrderInput, accept bool) (Order, PlanChange, error) {
	return b.changeOrder(ctx, a, Owner, func(tx Tx) (orderChanged, error) {
		o := Order{Status: Enquiry}
		if err := b.addCustomer(ctx, tx, a, &in); err != nil {
			return orderChanged{}, err
		}
		if err := b.fill(ctx, tx, &o, in, nil); err != nil {
			return orderChanged{}, err
		}
		if accept {
			o.Status, o.AcceptedAt = Accepted, b.now()
			if err := mayPromise(ctx, tx, o, nil); err != nil {
				return orderChanged{}, err
			}
		}
		var err error
		if o.Number, err = tx.NextOrderNumber(ctx); err != nil {
			return orderChanged{}, err
		}
		if err := tx.Orders().Insert(ctx, &o); err != nil {
			return orderChanged{}, fmt.Errorf("take order: %w", err)
		}
		verb := map[bool]string{true: "Accepted", false: "Took the enquiry"}[accept]
		return b.orderDone(ctx, tx, a, o, "order.take", verb, accept)
	})
}

// addCustomer adds the new customer that an order is taken for, if there is one;
// without the order there is none of them either.
func (b *Book) addCustomer(ctx context.Context, tx Tx, a Actor, in *OrderInput) error {
	if in.NewCustomer == "" {
		return nil
	}
	if in.CustomerID != "" {
		return &Invalid{Fields: []FieldError{{"new_customer", "Either choose a customer or name a new one, not both."}}}
	}
	c, err := b.Customers.create(ctx, tx, a, Customer{Name: in.NewCustomer})
	var invalid *Invalid
	if errors.As(err, &invalid) { // its one field is the name
		for i := range invalid.Fields {
			invalid.Fields[i].Field = "new_customer"
		}
	}
	in.CustomerID = c.ID
	return err
}

// ChangeOrder replaces what the order says; version must be the stored one.
// What in leaves absent stays.
func (b *Book) ChangeOrder(ctx context.Context, a Actor, id string, version int, in OrderInput) (Order, PlanChange, error) {
	return b.changeOrder(ctx, a, Owner, func(tx Tx) (orderChanged, error) {
		before, err := getOrder(ctx, tx, id, version)
		if err != nil {
			return orderChanged{}, err
		}
		if !before.open() {
			return orderChanged{}, &Conflict{fmt.Sprintf("%s is closed (%s), so it can not change any more. Take a new order instead.", before.called(), before.Status.words())}
		}
		o := before
		if err := b.fill(ctx, tx, &o, in, &before); err != nil {
			return orderChanged{}, err
		}
		if o.Status == Accepted {
			if err := mayPromise(ctx, tx, o, &before); err != nil {
				return orderChanged{}, err
			}
		}
		if err := releaseLines(ctx, tx, before, o); err != nil {
			return orderChanged{}, err
		}
		if err := tx.Orders().Update(ctx, &o); err != nil {
			return orderChanged{}, fmt.Errorf("change order %d: %w", o.Number, err)
		}
		return b.orderDone(ctx, tx, a, o, "order.change", "Changed", o.Status == Accepted)
	})
}

// AcceptOrder promises an enquiry; the ready date of the plan becomes Told.
func (b *Book) AcceptOrder(ctx context.Context, a Actor, id string, version int) (Order, PlanChange, error) {
	return b.changeOrder(ctx, a, Owner, func(tx Tx) (orderChanged, error) {
		o, err := getOrder(ctx, tx, id, version)
		if err != nil {
			return orderChanged{}, err
		}
		today, err := b.today(ctx, tx)
		switch {
		case err != nil:
			return orderChanged{}, err
		case o.Status != Enquiry:
			return orderChanged{}, &Conflict{fmt.Sprintf("%s is %s already. Only an enquiry can be accepted.", o.called(), o.Status.words())}
		case !o.NeededBy.After(today):
			return orderChanged{}, &Conflict{fmt.Sprintf("%s was needed by %s, which is not ahead any more. Change its date first.", o.called(), o.NeededBy)}
		}
		if err := mayPromise(ctx, tx, o, nil); err != nil {
			return orderChanged{}, asConflict(err)
		}
		o.Status, o.AcceptedAt = Accepted, b.now()
		if err := tx.Orders().Update(ctx, &o); err != nil {
			return orderChanged{}, fmt.Errorf("accept order %d: %w", o.Number, err)
		}
		return b.orderDone(ctx, tx, a, o, "order.accept", "Accepted", true)
	})
}

// EndOrder declines an enquiry or cancels an accepted order.
func (b *Book) EndOrder(ctx context.Context, a Actor, id string, version int) (Order, PlanChange, error) {
	return b.changeOrder(ctx, a, Owner, func(tx Tx) (orderChanged, error) {
		o, err := getOrder(ctx, tx, id, version)
		if err != nil {
			return orderChanged{}, err
		}
		action, verb, bound := "order.decline", "Declined", o.Status == Accepted
		switch o.Status {
		case Enquiry:
			o.Status = Declined
		case Accepted:
			o.Status, action, verb = Cancelled, "order.cancel", "Cancelled"
		case HandedOver, Declined, Cancelled:
			return orderChanged{}, &Conflict{fmt.Sprintf("%s is %s already; there is nothing to end.", o.called(), o.Status.words())}
		}
		o.EndedAt = b.now()
		if err := releaseOrder(ctx, tx, o.ID); err != nil {
			return orderChanged{}, err
		}
		if err := tx.Orders().Update(ctx, &o); err != nil {
			return orderChanged{}, fmt.Errorf("end order %d: %w", o.Number, err)
		}
		return b.orderDone(ctx, tx, a, o, action, verb, bound)
	})
}

// changeOrder runs a use case of orders in one transaction.
func (b *Book) changeOrder(ctx context.Context, a Actor, least Role, fn func(Tx) (orderChanged, error)) (Order, PlanChange, error) {
	if err := a.may(least, true); err != nil {
		return Order{}, PlanChange{}, err
	}
	out, err := write(ctx, b, a, fn)
	return out.Order, out.Plan, err
}

// orderDone journals what was done to o, and re-plans when o binds.
func (b *Book) orderDone(ctx context.Context, tx Tx, a Actor, o Order, action, verb string, binds bool) (orderChanged, error) {
	text := fmt.Sprintf("%s %s, needed by %s.", verb, o.called(), o.NeededBy)
	if !o.LeftOn.IsZero() {
		text = fmt.Sprintf("%s %s on %s, needed by %s.", verb, o.called(), o.LeftOn, o.NeededBy)
	}
	if err := b.journal(ctx, tx, a, action, o.ID, text); err != nil {
		return orderChanged{}, err
	}
	change, err := b.unchanged(ctx, tx)
	if binds && err == nil {
		change, err = b.replan(ctx, tx, a, text)
	}
	if err != nil {
		return orderChanged{}, err
	}
	o, err = tx.Orders().Get(ctx, o.ID)
	return orderChanged{o, change}, err
}

// unchanged is the change of a plan that does not change.
func (b *Book) unchanged(ctx context.Context, tx Tx) (PlanChange, error) {
	w, err := tx.Workshop(ctx)
	return PlanChange{Revision: w.PlanRevision, Proposals: []Proposal{}}, err
}

// getOrder reads an order that must still have the version, unless that is 0.
func getOrder(ctx context.Context, tx Tx, id string, version int) (Order, error) {
	o, err := tx.Orders().Get(ctx, id)
	if err != nil {
		return o, err
	}
	return o, o.seen(version, o.called())
}

// seen is nil when version is the stored one or 0.
func (m Meta) seen(version int, what string) error {
	if version != 0 && version != m.Version {
		return &Conflict{what + " was changed by someone else meanwhile, so nothing was done. Look at it again and repeat."}
	}
	return nil
}

// open reports whether the order can still change.
func (o Order) open() bool { return o.Status == Enquiry || o.Status == Accepted }

// words is the status for a person.
func (s OrderStatus) words() string { return strings.ReplaceAll(string(s), "_", " ") }

// fill checks in and puts it into o; before is o as stored, nil when new.
func (b *Book) fill(ctx context.Context, tx Tx, o *Order, in OrderInput, before *Order) error {
	w, err := tx.Workshop(ctx)
	if err != nil {
		return err
	}
	today, err := w.dateOf(b.now())
	if err != nil {
		return err
	}
	handOver, weight := w.HandOver, 1
	if before != nil {
		handOver, weight = before.HandOver, before.Weight
	}
	o.CustomerID, o.Title, o.NeededBy, o.Note = in.CustomerID, strings.TrimSpace(in.Title), in.NeededBy, in.Note
	o.HandOver, o.Lines = deref(in.HandOver, handOver), slices.Clone(in.Lines)
	if o.Weight = in.Weight; in.Weight == 0 {
		o.Weight = weight
	}
	var c Check
	checkName(&c, "title", in.Title, false)
	checkNote(&c, "note", in.Note)
	who, err := known(ctx, &c, tx.Customers(), "customer_id", in.CustomerID, "customer")
	if err != nil {
		return err
	}
	if before == nil || before.CustomerID != in.CustomerID {
		c.Want(!who.Retired, "customer_id", "is retired; bring the customer back first or choose another")
	}
	if err := checkAsked(ctx, tx, &c, *o, in.Weight, today, before); err != nil {
		return err
	}
	nameLines(&c, o, before)
	return c.Err()
}

// nameLines keeps the ids of lines the order has and gives new ones to the
// rest.
func nameLines(c *Check, o, before *Order) {
	seen := make(map[string]bool)
	for i := range o.Lines {
		l := &o.Lines[i]
		if before == nil || l.ID == "" {
			l.ID = uuid.NewString()
			continue
		}
		_, ok := find(before.Lines, l.ID, func(l OrderLine) string { return l.ID })
		at := fmt.Sprintf("lines[%d].id", i)
		c.Want(ok, at, "is not a line of this order; leave the id out for a new line")
		c.Want(!seen[l.ID], at, "is there twice; leave the id out for a new line")
		seen[l.ID] = true
	}
}

// releaseLines frees the pieces of lines that are gone or ask for another
// design.
func releaseLines(ctx context.Context, tx Tx, before, after Order) error {
	return release(ctx, tx, func(a Allocation) bool {
		was, ok := find(before.Lines, a.LineID, func(l OrderLine) string { return l.ID })
		now, still := find(after.Lines, a.LineID, func(l OrderLine) string { return l.ID })
		return ok && (!still || now.DesignID != was.DesignID)
	})
}

// releaseOrder frees the pieces of an order.
func releaseOrder(ctx context.Context, tx Tx, id string) error {
	return release(ctx, tx, func(a Allocation) bool { return a.OrderID == id })
}

func release(ctx context.Context, tx Tx, free func(Allocation) bool) error {
	all, err := tx.Allocations(ctx)
	if err != nil {
		return err
	}
	kept := slices.DeleteFunc(slices.Clone(all), free)
	if len(kept) == len(all) {
		return nil
	}
	if err := tx.SetAllocations(ctx, kept); err != nil {
		return fmt.Errorf("free pieces: %w", err)
	}
	return nil
}
