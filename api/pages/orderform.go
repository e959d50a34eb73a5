package pages

import (
	"errors"
	"net/http"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

type orderFormView struct {
	rights
	formState
	ID       string
	Heading  string
	Title    field
	Customer field
	NeededBy field
	HandOver field
	Weight   field
	Note     field
	Lines    [][]field
}

func (v *visit) editOrder() error {
	if !v.may(orders.Owner) {
		return orders.ErrForbidden
	}
	order, err := v.Book.Order(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	return v.drawOrderForm(v.blankForm(), order)
}

func (v *visit) drawOrderForm(f *form, o orders.Order) error {
	names, err := v.shelf()
	if err != nil {
		return err
	}
	view := orderFormView{
		rights: v.rights(), ID: o.ID, Heading: titleOf(o),
		Title:    f.textInput("title", "What it is for", o.Title).hint("Such as “Naming day, 60 favours”. Empty calls it by its number."),
		Customer: f.selectInput("customer_id", "Customer", o.CustomerID, names.customerChoices(o.CustomerID)).must(),
		NeededBy: f.dayInput("needed_by", "Needed by", o.NeededBy).must(),
		HandOver: v.handOverInput(f, o.HandOver),
		Weight:   f.wholeInput("weight", "How much it matters, 1 to 9", o.Weight).least("1").hint("1 is usual. 9 is for one that must not fail: the plan keeps it in time before others."),
		Note:     f.input("area", "note", "Note", o.Note),
		Lines:    lineRows(f, names, o.Lines),
	}
	view.formState = f.state(o.Version)
	return v.show(f.status(), "order-form", "Change "+titleOf(o), view)
}

func (v *visit) changeOrder() error {
	order, err := v.Book.Order(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	days := f.whole("hand_over_days", order.HandOver)
	in := orders.OrderInput{
		CustomerID: f.text("customer_id"), Title: f.text("title"), NeededBy: f.day("needed_by"), HandOver: &days,
		Weight: f.whole("weight", 1), Lines: readLines(f), Note: f.text("note"),
	}
	if f.ok() {
		changed, change, err := v.Book.ChangeOrder(v.once(f), v.actor, order.ID, f.version(), in)
		if err == nil {
			return v.changed("/orders/"+order.ID, "Saved: "+titleOf(changed)+".", change)
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.drawOrderForm(f, order)
}

func (v *visit) acceptOrder() error {
	return v.moveOrder(v.Book.AcceptOrder, func(o orders.Order) string {
		return "Order accepted. The customer can be told it is ready on " + v.words.day(o.Told) + "."
	})
}

func (v *visit) endOrder() error {
	return v.moveOrder(v.Book.EndOrder, func(o orders.Order) string { return "Order " + string(o.Status) + "." })
}

// handOver says that an order left. A day that can not be is asked for again on the
// order's page, wherever it was sent from.
func (v *visit) handOver() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	id, fact := chi.URLParam(v.r, "id"), orders.HandOverFact{LeftOn: f.day("left_on")}
	if !f.ok() {
		return v.drawOrder(f)
	}
	order, change, err := v.Book.HandOver(v.once(f), v.actor, id, f.version(), fact)
	switch {
	case errors.Is(err, orders.ErrConflict):
		return v.toldThere("/orders/"+id, err)
	case err != nil && f.takes(err):
		return v.drawOrder(f)
	case err != nil:
		return err
	}
	return v.changed(localPath(f.text("back"), "/orders/"+id), "Handed over: "+titleOf(order)+".", change)
}

// moveOrder runs one of the use cases that take an order a step on.
func (v *visit) moveOrder(step orderStep, said func(orders.Order) string) error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	id := chi.URLParam(v.r, "id")
	order, change, err := step(v.once(f), v.actor, id, f.version())
	if errors.Is(err, orders.ErrInvalid) || errors.Is(err, orders.ErrConflict) {
		return v.toldThere("/orders/"+id, err)
	}
	if err != nil {
		return err
	}
	return v.changed(localPath(f.text("back"), "/orders/"+id), said(order), change)
}

// toldThere says on a page why a button there could not do its work.
func (v *visit) toldThere(path string, err error) error {
	text := detail(err)
	if text == "" {
		f := faultOf(err)
		text = f.title + ". " + f.textFor(v.r)
	}
	v.say(flash{Text: text, Warn: true})
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}
