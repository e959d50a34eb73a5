package pages

import (
	"fmt"
	"net/http"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

// costView is what a batch or a design costs.
type costView struct {
	rights
	Back, BackText string
	Basis          string
	Trouble        string
	By             string // whose prices, when all rows have the same
	Missing        []string
	Lost           bool // all of it was lost
	Rows           []costRow
	Sums           []fact
}

type costRow struct{ Name, Mass, Price, By, Cost string }

func (v *visit) batchCost() error {
	c, err := v.Book.BatchCost(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	return v.drawCost("/batches/", "Back to the batch", c, err)
}

func (v *visit) designCost() error {
	c, err := v.Book.DesignCost(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	return v.drawCost("/designs/", "Back to the design", c, err)
}

func (v *visit) drawCost(home, back string, c orders.Cost, err error) error {
	if err != nil {
		return err
	}
	view := costView{
		rights: v.rights(), Back: home + chi.URLParam(v.r, "id"), BackText: back, Basis: c.Basis, Trouble: v.words.limits(c.Trouble), Missing: c.Missing,
	}
	for _, l := range c.Lines {
		row := costRow{Name: l.Name, Mass: v.words.mass(l.Mass), Price: "no price", Cost: v.words.money(l.Cost)}
		if l.Price > 0 {
			row.Price = v.words.money(l.Price)
		}
		row.By = pricedBy[l.PricedBy]
		view.Rows = append(view.Rows, row)
	}
	view.tellOnce()
	view.Sums = []fact{
		{"Materials", v.words.money(c.Materials)},
		{fmt.Sprintf("Packaging of %s", count(c.Pieces, "piece")), v.words.money(c.Packaging)},
		{fmt.Sprintf("Work, %s at %s an hour", count(c.Minutes, "minute"), v.words.money(c.HourlyRate)), v.words.money(c.Labour)},
		{"In all", v.words.money(c.Total)},
	}
	if c.Pieces > 0 {
		view.Sums = append(view.Sums, fact{fmt.Sprintf("Each of %s, rounded up", count(c.Pieces, "sound piece")), v.words.money(c.Piece)})
	} else if c.Trouble == "" {
		view.Lost = true
	}
	return v.show(http.StatusOK, "cost", "What it costs", view)
}

// pricedBy says whose price an ingredient has.
var pricedBy = map[orders.PricedBy]string{
	orders.PricedByList: "by the ingredient's price", orders.PricedByLots: "by what its lots cost",
	orders.PricedByLatest: "by what the latest lot cost",
	orders.PricedByBoth:   "by what its lots cost, the rest by the ingredient's price or its latest lot's",
}

// tellOnce says above the rows whose prices they have, where that is the same for
// all: beside each it takes a narrow screen's room from the figures.
func (c *costView) tellOnce() {
	for _, row := range c.Rows {
		if row.By != c.Rows[0].By {
			return
		}
	}
	if len(c.Rows) == 0 || c.Rows[0].By == "" {
		return
	}
	c.By = "All " + c.Rows[0].By + "."
	for i := range c.Rows {
		c.Rows[i].By = ""
	}
}

// quoteView is what an order costs, with a text for its customer.
type quoteView struct {
	rights
	Back, Order string
	Missing     []string
	Rows        []quoteRow
	Total       string
	Price       string
	Markup      string
	Quote       string
}

type quoteRow struct {
	Design, Basis, Trouble string
	Sums                   []fact
}

func (v *visit) orderCost() error {
	id := chi.URLParam(v.r, "id")
	o, err := v.Book.Order(v.ctx(), v.actor, id)
	if err != nil {
		return err
	}
	c, err := v.Book.OrderCost(v.ctx(), v.actor, id)
	if err != nil {
		return err
	}
	view := quoteView{
		rights: v.rights(), Back: "/orders/" + id, Order: titleOf(o), Missing: c.Missing, Quote: c.Quote,
		Total: v.words.money(c.Total), Price: v.words.money(c.Price), Markup: c.Markup.String(),
	}
	for _, l := range c.Lines {
		view.Rows = append(view.Rows, quoteRow{Design: l.Design, Basis: l.Basis, Trouble: v.words.limits(l.Trouble), Sums: []fact{
			{"Materials", v.words.money(l.Materials)},
			{"Packaging", v.words.money(l.Packaging)},
			{"Work", v.words.money(l.Labour)},
			{count(l.Pieces, "piece") + " cost", v.words.money(l.Total)},
			{"One costs, rounded up", v.words.money(l.Piece)},
			{fmt.Sprintf("Price of each of %d ordered", l.Ordered), v.words.money(l.Each)},
			{"Price of the line", v.words.money(l.Price)},
		}})
	}
	return v.show(http.StatusOK, "quote", "Cost and quote", view)
}
