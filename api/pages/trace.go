package pages

import (
	"fmt"
	"slices"

	"ripeline/orders"
)

type traceView struct {
	rights
	formState
	Lot, Soap field
	Asked     string   // what the trace is of; "" before anything was asked
	At        string   // when it was traced, for paper
	From      []string // the lots asked for, one line each
	Sums      []fact
	People    []traceLine // each customer once
	Batches   []tracedView
	Untraced  string
}

// tracedView is a traced batch with what went into it and who got it.
type tracedView struct {
	Title, Href, Text string
	Took              string // of the one lot asked for
	Uses              []tracedUse
	Lines             []traceLine
	Rest              []string // pieces that no order holds
}

type tracedUse struct {
	Ingredient, Code, Href, Good, Mass string
	Bad                                string // that it was past its day, or is on no lot
}

// traceLine is pieces of one batch in one order.
type traceLine struct{ Customer, Contact, Order, Href, Pieces, Where string }

// tracePage traces what the address asks for: from lots to people, or from soap
// to lots.
func (v *visit) tracePage() error {
	f := v.blankForm()
	f.sent, f.values = true, v.r.URL.Query()
	view := traceView{rights: v.rights()}
	trace, of, err := v.askedTrace(f)
	if err != nil && !f.takes(err) {
		return err
	}
	view.Lot = f.textInput("code", "Lot code of a supplier", "").hint("Who got soap that was made with it?")
	view.Soap = f.textInput("lot", "Lot code of a soap, or number of an order", "").hint("What went into it?")
	if err == nil && of != "" {
		if err := v.drawTrace(&view, trace); err != nil {
			return err
		}
		view.Asked, view.At = of, v.words.at(v.now)
	}
	view.formState = f.state(0)
	return v.show(f.status(), "trace", "Trace", view)
}

// askedTrace is the trace that the address asks for, and what it is of.
func (v *visit) askedTrace(f *form) (trace orders.Trace, of string, err error) {
	ask := v.r.URL.Query()
	switch {
	case ask.Has("lot_id") || ask.Has("code") && f.text("code") != "":
		trace, err = v.Book.TraceLots(v.ctx(), v.actor, orders.LotsAsk{IDs: ask["lot_id"], Code: f.text("code")})
		return trace, "What was made with " + count(len(trace.Lots), "lot") + ", and who got it", err
	case ask.Has("batch_id") || ask.Has("lot") || ask.Has("order_id"):
		return v.askedSoap(orders.SoapAsk{BatchID: ask.Get("batch_id"), Lot: f.text("lot"), OrderID: ask.Get("order_id")})
	case ask.Has("code"):
		_, err = v.Book.TraceLots(v.ctx(), v.actor, orders.LotsAsk{})
		return trace, "", err
	}
	return trace, "", nil
}

// askedSoap traces soap, and names what was found.
func (v *visit) askedSoap(ask orders.SoapAsk) (trace orders.Trace, of string, err error) {
	trace, err = v.Book.TraceSoap(v.ctx(), v.actor, ask)
	switch {
	case err != nil:
		return trace, "", err
	case trace.OrderID != "":
		order, err := v.Book.Order(v.ctx(), v.actor, trace.OrderID)
		return trace, fmt.Sprintf("What went into order %d, %s", order.Number, titleOf(order)), err
	case len(trace.Batches) > 0:
		return trace, "What went into " + trace.Batches[0].Design + " " + trace.Batches[0].Lot, nil
	}
	return trace, "What went into the soap", nil
}

func (v *visit) drawTrace(view *traceView, trace orders.Trace) error {
	names, err := v.shelf()
	if err != nil {
		return err
	}
	for _, l := range trace.Lots {
		row := lotRow(v, names, l)
		view.From = append(view.From, row.Title+". "+row.Lines[0])
	}
	for _, b := range trace.Batches {
		traced := v.traced(b)
		if len(trace.Lots) == 1 && len(b.Uses) == 1 {
			traced.Took, traced.Uses = v.words.mass(b.Uses[0].Mass)+" of the lot went into it", nil
		}
		view.Batches = append(view.Batches, traced)
		for _, l := range b.Lines {
			href := "/customers/" + l.CustomerID // two may have the same name
			if !slices.ContainsFunc(view.People, func(p traceLine) bool { return p.Href == href }) {
				view.People = append(view.People, traceLine{Customer: l.Customer, Contact: contact(l), Href: href})
			}
		}
	}
	if len(trace.Lots) > 0 {
		view.Sums = sumsOf(trace.Batches)
	} else {
		view.People = nil // who asks what is in a soap does not ask who has it
	}
	if trace.Untraced > 0 {
		view.Untraced = fmt.Sprintf("%s of the order come of no batch on record: not poured yet, or counted in by hand.", count(trace.Untraced, "piece"))
	}
	return nil
}

// sumsOf adds up where the pieces are.
func sumsOf(batches []orders.TracedBatch) []fact {
	gone, aside, shelf, unknown := 0, 0, 0, 0
	for _, b := range batches {
		for _, l := range b.Lines {
			if l.Status == orders.HandedOver {
				gone += l.Pieces
			} else {
				aside += l.Pieces
			}
		}
		shelf += b.Free() - b.Unexplained()
		unknown += b.Unexplained()
	}
	out := []fact{
		{"Batches", fmt.Sprint(len(batches))},
		{"Handed over", count(gone, "piece")},
		{"Set aside, still here", count(aside, "piece")},
		{"On the shelf or the rack", count(shelf, "piece")},
	}
	if unknown > 0 {
		out = append(out, fact{"Gone with no order on record", count(unknown, "piece")})
	}
	return out
}

func contact(l orders.TracedLine) string { return join(nonEmpty(l.Email, l.Phone)) }

func (v *visit) traced(b orders.TracedBatch) tracedView {
	view := tracedView{Title: b.Design + " " + b.Lot, Href: "/batches/" + b.BatchID, Text: "Not poured yet"}
	switch {
	case b.State == orders.BatchCancelled:
		view.Text = "Cancelled, never poured"
	case !b.PouredAt.IsZero():
		view.Text = fmt.Sprintf("Poured %s, %s, %d sound. %s", v.words.at(b.PouredAt), count(b.Pieces, "piece"), b.Sound, capital(string(b.State)))
	}
	for _, u := range b.Uses {
		view.Uses = append(view.Uses, v.tracedUse(b, u))
	}
	for _, l := range b.Lines {
		view.Lines = append(view.Lines, v.traceLine(l))
	}
	view.Rest = restOf(b)
	return view
}

// restOf says where the pieces are that no order holds.
func restOf(b orders.TracedBatch) []string {
	var out []string
	switch free := b.Free() - b.Unexplained(); {
	case free == 0:
	case b.State == orders.BatchWrapped:
		out = append(out, count(free, "piece")+" on the shelf, set aside for nobody")
	case b.State == orders.BatchPoured || b.State == orders.BatchCuring:
		out = append(out, count(free, "piece")+" not wrapped yet, set aside for nobody")
	}
	if n := b.Unexplained(); n > 0 {
		out = append(out, count(n, "piece")+" gone with no order on record: the stock was counted down by hand")
	}
	if b.State == orders.BatchFailed {
		out = append(out, "The batch failed; its pieces were not for sale")
	}
	return out
}

func (v *visit) tracedUse(b orders.TracedBatch, u orders.TracedUse) tracedUse {
	out := tracedUse{Ingredient: u.Ingredient, Mass: v.words.mass(u.Mass)}
	if u.LotID == "" {
		out.Bad = "no lot on record"
		return out
	}
	out.Code, out.Href, out.Good = lotName(u.Code), "/trace?"+query("lot_id", u.LotID), v.words.day(u.ExpiresOn)
	if !u.ExpiresOn.IsZero() && u.ExpiresOn.Before(v.words.date(b.PouredAt)) {
		out.Bad = "was expired"
	}
	return out
}

func (v *visit) traceLine(l orders.TracedLine) traceLine {
	out := traceLine{
		Customer: l.Customer, Contact: contact(l), Order: l.Title, Href: "/orders/" + l.OrderID, Pieces: count(l.Pieces, "piece"),
		Where: "still here, needed by " + v.words.day(l.NeededBy),
	}
	if out.Order == "" {
		out.Order = fmt.Sprintf("Order %d", l.Number)
	}
	if l.Status == orders.HandedOver {
		out.Where = "handed over " + v.words.day(v.leftOn(l.LeftOn, l.EndedAt))
	}
	if l.Keepsakes > 0 {
		out.Where += "; " + count(l.Keepsakes, "keepsake") + " of the order may be on your own shelf"
	}
	return out
}
