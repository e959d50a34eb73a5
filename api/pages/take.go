package pages

import (
	"context"
	"errors"
	"net/http"

	"ripeline/orders"
)

// takeOrder makes an order of an answered question, with a new customer when
// one was named.
func (v *visit) takeOrder() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	q := readQuestion(f)
	if !f.ok() {
		return v.drawPromise(f, nil)
	}
	in := orders.OrderInput{
		CustomerID: f.text("customer_id"), NewCustomer: f.text("new_customer"),
		Title: f.text("title"), NeededBy: q.NeededBy, HandOver: q.HandOver, Lines: q.Lines, Note: f.text("note"),
	}
	if in.CustomerID+in.NewCustomer == "" {
		return v.rejectTake(f, &orders.Invalid{Fields: []orders.FieldError{{
			Field: "customer_id", Message: "is missing; choose one, or write a new customer's name",
		}}})
	}
	order, change, err := v.Book.TakeOrder(v.once(f), v.actor, in, f.ticked("accept"))
	if err != nil {
		return v.rejectTake(f, err)
	}
	said := "Enquiry kept: " + titleOf(order) + "."
	if order.Status == orders.Accepted {
		said = "Order taken: " + titleOf(order) + "."
	}
	return v.changed("/orders/"+order.ID, said, change)
}

// rejectTake shows the page again with what was wrong. The form is read anew
// then, so that its messages stand once.
func (v *visit) rejectTake(f *form, err error) error {
	if !errors.Is(err, orders.ErrInvalid) {
		return err
	}
	f.errs = nil
	return v.drawPromise(f, err)
}

// changed ends a change that re-planned, telling what should not have been so and
// what it did to the plan.
func (v *visit) changed(path, said string, change orders.PlanChange) error {
	f := flash{Text: said, Warn: len(change.Warnings)+len(change.Proposals) > 0}
	for _, w := range change.Warnings {
		f.Text += " " + v.words.dated(w)
	}
	switch {
	case change.Published && len(change.Proposals) > 0:
		f.Text += " It has its place in the plan, beside what stands. Another change still waits for your yes."
		f.Href, f.Link = "/proposals", "Choose how to go on"
	case len(change.Proposals) > 0:
		f.Text += " The plan can not simply follow: what is promised or close at hand would move. Choose how to go on."
		path = "/proposals"
	case change.Published:
		f.Text += " The plan has been changed."
		if path != "/plan" {
			f.Href, f.Link = "/plan", "See the plan"
		}
	}
	v.say(f)
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}

// orderStep is a use case that takes an order a step on.
type orderStep func(ctx context.Context, a orders.Actor, id string, version int) (orders.Order, orders.PlanChange, error)
