package pages

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

type ordersView struct {
	rights
	Tabs []tab
	Rows []orderRow
	More string
}

type tab struct {
	Label, Href string
	Here        bool
}

type orderRow struct {
	Href, Title, Customer, Lines string
	NeededBy                     string
	Status                       string
	Safety                       safety
	Open                         bool
}

func orderTabs() []struct {
	status orders.OrderStatus
	label  string
} {
	return []struct {
		status orders.OrderStatus
		label  string
	}{
		{orders.Accepted, "Accepted"},
		{orders.Enquiry, "Enquiries"},
		{orders.HandedOver, "Handed over"},
		{orders.Declined, "Declined"},
		{orders.Cancelled, "Cancelled"},
	}
}

func (v *visit) ordersPage() error {
	ask := v.r.URL.Query()
	status := orders.OrderStatus(ask.Get("status"))
	view := ordersView{rights: v.rights()}
	known := false
	for _, t := range orderTabs() {
		known = known || t.status == status
	}
	if !known {
		status = orders.Accepted
	}
	for _, t := range orderTabs() {
		view.Tabs = append(view.Tabs, tab{t.label, "/orders?" + query("status", string(t.status)), t.status == status})
	}
	page, err := v.Book.Orders(v.ctx(), v.actor, orders.ListQuery{Status: string(status), Cursor: ask.Get("after")})
	if err != nil {
		return err
	}
	if page.Next != "" {
		view.More = "/orders?" + query("status", string(status), "after", page.Next)
	}
	if view.Rows, err = v.orderRows(page.Items); err != nil {
		return err
	}
	return v.show(http.StatusOK, "orders", "Orders", view)
}

func (v *visit) orderRows(list []orders.Order) ([]orderRow, error) {
	names, err := v.shelf()
	if err != nil {
		return nil, err
	}
	plan, err := v.Book.Plan(v.ctx(), v.actor)
	if err != nil {
		return nil, err
	}
	held, err := v.Book.Allocations(v.ctx(), v.actor)
	if err != nil {
		return nil, err
	}
	ids := make([]string, len(list))
	for i, o := range list {
		ids[i] = o.ID
	}
	sales, err := v.Book.OrderSales(v.ctx(), v.actor, ids)
	if err != nil {
		return nil, err
	}
	var out []orderRow
	for _, o := range list {
		row := orderRow{
			Href: "/orders/" + o.ID, Title: titleOf(o), Customer: names.customerName(o.CustomerID), Lines: linesText(names, o.Lines),
			NeededBy: v.words.near(o.NeededBy), Status: statusName(o.Status), Open: o.Status == orders.Accepted,
		}
		if outcome, ok := outcomeOf(plan.Outcomes, o.ID); ok && row.Open {
			row.Safety = v.safety(o, outcome, waits(held, o.ID), doubts{obstacles: plan.Obstacles, sales: sales}) // the list has no room for the reasons
		}
		out = append(out, row)
	}
	return out, nil
}

// waits reports whether some of an order's pieces are of a batch that is not
// wrapped yet.
func waits(held []orders.Allocation, orderID string) bool {
	return slices.ContainsFunc(held, func(a orders.Allocation) bool { return a.OrderID == orderID && a.BatchID != "" })
}

func outcomeOf(outcomes []schedule.OrderOutcome, id string) (schedule.OrderOutcome, bool) {
	return byID(outcomes, id, func(o schedule.OrderOutcome) string { return o.OrderID })
}

func linesText(names *shelf, lines []orders.OrderLine) string {
	parts := make([]string, len(lines))
	for i, l := range lines {
		parts[i] = fmt.Sprintf("%d %s", l.Total(), names.designName(l.DesignID))
	}
	return join(parts)
}

// titleOf is what a person calls an order: by its number when it has no title.
func titleOf(o orders.Order) string {
	return cmp.Or(o.Title, "Order "+strconv.Itoa(o.Number))
}

func statusName(s orders.OrderStatus) string {
	return capital(strings.ReplaceAll(string(s), "_", " "))
}

type orderView struct {
	rights
	formState
	ID, Title, Number   string
	Status              string
	Customer            string
	CustomerHref        string
	NeededBy, Deadline  string
	Ready, Told         string
	Note                string
	Safety              safety
	Confidence          string
	Anew                bool // what it waits for has to be planned anew
	Lines               []orderLineView
	Feeds               []feedRow
	CanAccept, CanEnd   bool
	CanHandOver, CanFix bool
	EndWord             string
	Ask                 string // address of the question this order answers
	LeftOn              field
	Left                string // the day it was handed over
	Events              []eventView
	Flags               []string // why it is not to be handed over as it is
}

type orderLineView struct {
	Design, Href string
	Pieces       string
	From         []sourceView
	Missing      int
}

type sourceView struct{ Text, Href string }

func (v *visit) orderPage() error { return v.drawOrder(v.blankForm()) }

// drawOrder shows the order of the address, with a rejected form's input.
func (v *visit) drawOrder(f *form) error {
	order, err := v.Book.Order(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	plan, err := v.Book.Plan(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	open := order.Status == orders.Accepted
	view := orderView{
		rights: v.rights(), ID: order.ID, Title: titleOf(order), Number: strconv.Itoa(order.Number), Status: statusName(order.Status),
		Customer: names.customerName(order.CustomerID), CustomerHref: "/customers/" + order.CustomerID,
		NeededBy: v.words.near(order.NeededBy), Deadline: v.words.day(order.NeededBy.AddDays(-order.HandOver)),
		Told: v.words.day(order.Told), Note: order.Note,
		CanAccept: order.Status == orders.Enquiry, CanEnd: open || order.Status == orders.Enquiry, CanHandOver: open,
		EndWord: "Decline", CanFix: open || order.Status == orders.Enquiry,
	}
	if open {
		view.EndWord = "Cancel"
	}
	if order.Status == orders.Enquiry && order.NeededBy.After(v.today()) {
		view.Ask = "/promise?" + questionQuery(orders.Question{NeededBy: order.NeededBy, HandOver: &order.HandOver, Lines: order.Lines})
	}
	if order.Status == orders.HandedOver {
		view.Left = v.words.day(v.leftOn(order.LeftOn, order.EndedAt))
	}
	view.LeftOn = f.dayInput("left_on", "On", v.today()).hint("The day on which it left.")
	view.formState = f.state(order.Version)
	return v.finishOrder(view, names, order, plan, f.status())
}

// leftOn is the day on which an order was handed over: where none is kept, that on
// which it was recorded.
func (v *visit) leftOn(kept civil.Date, recorded time.Time) civil.Date {
	if kept.IsZero() {
		return v.words.date(recorded)
	}
	return kept
}

// confidence says in how many imagined futures an order is met.
func (v *visit) confidence(orderID string) (string, error) {
	all, err := v.Book.Confidence(v.ctx(), v.actor)
	if err != nil {
		return "", err
	}
	o, ok := byID(all, orderID, func(o schedule.Outlook) string { return o.OrderID })
	if !ok {
		return "", nil
	}
	return fmt.Sprintf("%d of %d imagined futures (%.1f %%, give or take %.1f %%)", o.Met, o.Futures, 100*o.Share, 100*o.StdErr), nil
}

// finishOrder adds what other records say of the order.
func (v *visit) finishOrder(view orderView, names *shelf, order orders.Order, plan orders.PlanView, status int) error {
	if order.Status == orders.Accepted {
		var err error
		if view.Confidence, err = v.confidence(order.ID); err != nil {
			return err
		}
	}
	allocations, err := v.Book.Allocations(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	sale, err := v.Book.OrderSale(v.ctx(), v.actor, order.ID)
	if err != nil {
		return err
	}
	if outcome, ok := outcomeOf(plan.Outcomes, order.ID); ok && order.Status == orders.Accepted {
		bars, err := v.barsFor([]schedule.OrderOutcome{outcome})
		if err != nil {
			return err
		}
		against := doubts{
			bars: bars, obstacles: plan.Obstacles, waiting: len(plan.Proposals) > 0,
			sales: map[string]orders.SaleCheck{order.ID: sale},
		}
		view.Safety, view.Ready = v.safety(order, outcome, waits(allocations, order.ID), against), v.words.near(outcome.Ready)
		if len(sale.Flags) > 0 && view.Safety.Text == strings.Join(sale.Flags, " ") {
			view.Safety.Text = "What stands against it is said below." // the page lists it
		}
		if len(orders.InTheWayOf(order.ID, plan.Obstacles)) > 0 {
			view.Ready = ""
			view.Anew = true
		}
	}
	view.Lines = v.orderLines(names, order, allocations, plan.Batches)
	if v.may(orders.Owner) {
		if view.Feeds, err = v.feedRows(orders.ListQuery{Parent: order.ID}); err != nil {
			return err
		}
	}
	view.Flags = sale.Flags
	if view.Events, err = v.events(order.ID); err != nil {
		return err
	}
	return v.show(status, "order", titleOf(order), view)
}

func (v *visit) orderLines(names *shelf, o orders.Order, all []orders.Allocation, batches []orders.Batch) []orderLineView {
	var out []orderLineView
	for _, l := range o.Lines {
		line := orderLineView{Design: names.designName(l.DesignID), Href: "/designs/" + l.DesignID, Missing: l.Total(), Pieces: piecesText(l)}
		for _, a := range all {
			if a.LineID != l.ID {
				continue
			}
			line.Missing -= a.Pieces
			line.From = append(line.From, v.source(a, batches))
		}
		if o.Status != orders.Accepted {
			line.Missing = 0
		}
		out = append(out, line)
	}
	return out
}

// piecesText is "60 pieces, 3 spares and 1 keepsake".
func piecesText(l orders.OrderLine) string {
	parts := []string{count(l.Pieces, "piece")}
	if l.Spares > 0 {
		parts = append(parts, count(l.Spares, "spare"))
	}
	if l.Keepsakes > 0 {
		parts = append(parts, count(l.Keepsakes, "keepsake"))
	}
	return join(parts)
}

func (v *visit) source(a orders.Allocation, batches []orders.Batch) sourceView {
	if a.StockID != "" {
		return sourceView{count(a.Pieces, "piece") + " from the shelf", "/stock/" + a.StockID}
	}
	b, ok := byID(batches, a.BatchID, func(b orders.Batch) string { return b.ID })
	if !ok {
		return sourceView{count(a.Pieces, "piece") + " from a batch", "/batches/" + a.BatchID}
	}
	return sourceView{fmt.Sprintf("%s from %s, %s", count(a.Pieces, "piece"), b.Lot, v.batchState(b)), "/batches/" + b.ID}
}

type eventView struct{ When, Who, Text string }

// events is what the journal says of one record, newest first.
func (v *visit) events(subject string) ([]eventView, error) {
	page, err := v.Book.Journal(v.ctx(), v.actor, orders.ListQuery{Parent: subject, Limit: 30})
	if err != nil {
		return nil, err
	}
	return v.eventViews(page.Items), nil
}

func (v *visit) eventViews(entries []orders.JournalEntry) []eventView {
	out := make([]eventView, 0, len(entries))
	for _, e := range entries {
		out = append(out, eventView{v.words.at(e.At), e.Person, v.words.dated(e.Text)})
	}
	return out
}
