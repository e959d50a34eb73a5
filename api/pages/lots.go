package pages

import (
	"cmp"
	"fmt"
	"net/url"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

func lots() recordKind[orders.Lot] {
	return recordKind[orders.Lot]{
		path: "/lots", one: "lot", many: "Lots",
		intro:   "What you received of each ingredient, by the lot code on the supplier's label. What is left of the lots is what is on the shelf; a pour takes what expires first.",
		empty:   "No lot yet. Add one for each can, bag or bottle that has a code of its own.",
		keep:    "A lot that a batch was made with can not be removed. Set what is left to 0 when it is used up.",
		records: func(b *orders.Book) orders.Records[orders.Lot] { return b.Lots },
		meta:    func(l *orders.Lot) *orders.Meta { return &l.Meta },
		blank: func(v *visit) orders.Lot {
			return orders.Lot{IngredientID: v.r.URL.Query().Get("ingredient"), ReceivedOn: v.today()}
		},
		row: lotRow, fields: lotFields, read: readLot, aside: lotAside,
	}
}

func lotRow(v *visit, s *shelf, l orders.Lot) recordRow {
	row := recordRow{Title: s.ingredientName(l.IngredientID) + " · " + lotName(l.Code)}
	row.Lines = nonEmpty(capital(fmt.Sprintf("%s left of %s, received %s", v.some(l.Left), v.words.stored(l.Received), v.words.day(l.ReceivedOn))), v.expiry(l), l.Note)
	switch {
	case l.Left == 0:
		row.Faint, row.Badge = true, "used up"
	case l.Expired(v.today()):
		row.Badge = "expired"
	}
	return row
}

// lotName is the supplier's code, or that there is none.
func lotName(code string) string { return cmp.Or(code, "no lot code") }

func (v *visit) expiry(l orders.Lot) string {
	switch {
	case l.ExpiresOn.IsZero():
		return ""
	case l.Expired(v.today()):
		return "Expired: it was good until " + v.words.day(l.ExpiresOn)
	}
	return "Good until " + v.words.day(l.ExpiresOn)
}

func lotFields(f *form, s *shelf, l orders.Lot) []fieldGroup {
	ingredient := f.selectInput("ingredient_id", "Ingredient", l.IngredientID, s.ingredientChoices(l.IngredientID)).must()
	amounts := []field{
		f.quantityInput("received_mg", "Received", f.words.massValue(l.Received), f.words.massUnit()).must().hint("Another unit may be written: 5 kg, 2 lb."),
		f.quantityInput("left_mg", "Left now", f.words.massValue(l.Left), f.words.massUnit()).hint("Empty: all of it."),
		f.moneyInput("price_minor", "Paid for it", l.Price),
	}
	if l.ID != "" {
		ingredient.Options = []option{{Value: l.IngredientID, Label: s.ingredientName(l.IngredientID), Chosen: true}}
		if in := &amounts[1]; in.Value == "" && l.Left == 0 {
			in.Value = "0"
		}
		amounts[1].Hint = "As weighed or guessed; 0 when it is used up or thrown away."
	}
	return []fieldGroup{
		{Fields: []field{
			ingredient,
			f.textInput("code", "Lot code of the supplier", l.Code).hint("As on the label. Without it a recall can not be followed."),
			f.dayInput("received_on", "Received", l.ReceivedOn),
			f.dayInput("expires_on", "Good until", l.ExpiresOn).hint("Empty when none is stated."),
		}},
		{Title: "How much", Fields: amounts},
		{Fields: []field{f.input("area", "note", "Note", l.Note)}},
	}
}

func readLot(f *form, _ *shelf, l *orders.Lot) {
	l.IngredientID, l.Code, l.Note = f.text("ingredient_id"), f.text("code"), f.text("note")
	l.ReceivedOn, l.ExpiresOn = f.day("received_on"), f.day("expires_on")
	l.Received, l.Left, l.Price = f.mass("received_mg"), f.mass("left_mg"), f.money("price_minor")
	if l.ID != "" && f.text("left_mg") == "" {
		f.fail("left_mg", "is empty; give what is left, 0 when it is used up")
	}
}

func lotAside(v *visit, _ *shelf, l orders.Lot) aside {
	out := aside{Title: "What became of it", Links: []link{{"/trace?" + query("lot_id", l.ID), "Trace this lot"}}}
	if l.Expired(v.today()) && l.Left > 0 {
		out.Warn = []string{"It has expired: no pour takes of it. Throw it away as your local rules say, then set what is left to 0."}
	}
	gone := l.Received - l.Left - l.Used
	out.Lines = []string{capital(v.some(l.Used)) + " went into batches"}
	if gone > 0 {
		out.Lines = append(out.Lines, v.words.stored(gone)+" went otherwise: spilt, thrown away, or used before it was recorded")
	}
	return out
}

func purchases() recordKind[orders.Purchase] {
	return recordKind[orders.Purchase]{
		path: "/purchases", one: "order", many: "On order",
		intro:   "What you have ordered and what has come of it. When it is here, receive it: it becomes a lot.",
		empty:   "Nothing is on order. “Supplies” says what the plan needs by when.",
		keep:    "The lot that it became stays.",
		records: func(b *orders.Book) orders.Records[orders.Purchase] { return b.Purchases },
		meta:    func(p *orders.Purchase) *orders.Meta { return &p.Meta },
		blank:   newPurchase, row: purchaseRow, fields: purchaseFields, read: readPurchase, aside: purchaseAside,
	}
}

// newPurchase takes from the address what the page that links here knows.
func newPurchase(v *visit) orders.Purchase {
	ask := v.r.URL.Query()
	p := orders.Purchase{IngredientID: ask.Get("ingredient"), OrderedOn: v.today()}
	if m, err := calc.ParseMass("quantity", ask.Get("quantity"), calc.UnitMilligram); err == nil {
		p.Quantity = m
	}
	if s, err := v.shelf(); err == nil {
		if i, ok := byID(s.ingredients, p.IngredientID, func(i orders.Ingredient) string { return i.ID }); ok {
			p.ArrivesOn = v.today().AddDays(i.LeadDays)
		}
	}
	return p
}

func purchaseRow(v *visit, s *shelf, p orders.Purchase) recordRow {
	row := recordRow{Title: s.ingredientName(p.IngredientID), Lines: nonEmpty(v.arrival(p), p.Note)}
	switch {
	case p.LotID != "":
		row.Faint, row.Badge = true, "received"
	case p.ArrivesOn.Before(v.today()):
		row.Badge = "late"
	}
	return row
}

// arrival is "5 kg, arrives Thu 3 Dec".
func (v *visit) arrival(p orders.Purchase) string {
	amount := "amount not said"
	if p.Quantity > 0 {
		amount = v.words.stored(p.Quantity)
	}
	verb := "arrives "
	if p.ArrivesOn.Before(v.today()) {
		verb = "was to arrive "
	}
	return capital(amount) + ", " + verb + v.words.day(p.ArrivesOn)
}

func purchaseFields(f *form, s *shelf, p orders.Purchase) []fieldGroup {
	return []fieldGroup{{Fields: []field{
		f.selectInput("ingredient_id", "Ingredient", p.IngredientID, s.ingredientChoices(p.IngredientID)).must(),
		f.quantityInput("quantity_mg", "How much", f.words.massValue(p.Quantity), f.words.massUnit()).hint("Empty when you can not say: it is then taken to be enough."),
		f.dayInput("ordered_on", "Ordered", p.OrderedOn),
		f.dayInput("arrives_on", "Arrives", p.ArrivesOn).hint("Empty: after the days the ingredient takes to arrive."),
		f.moneyInput("price_minor", "Price", p.Price),
		f.input("area", "note", "Note", p.Note),
	}}}
}

func readPurchase(f *form, _ *shelf, p *orders.Purchase) {
	p.IngredientID, p.Quantity = f.text("ingredient_id"), f.mass("quantity_mg")
	p.OrderedOn, p.ArrivesOn = f.day("ordered_on"), f.day("arrives_on")
	p.Price, p.Note = f.money("price_minor"), f.text("note")
}

func purchaseAside(v *visit, _ *shelf, p orders.Purchase) aside {
	if p.LotID != "" {
		return aside{Title: "It is here", Lines: []string{"It was received, so it can not change any more."}, Links: []link{{"/lots/" + p.LotID, "The lot it became"}}}
	}
	out := aside{Title: "Is it here?", Lines: []string{v.arrival(p)}}
	if v.may(orders.Helper) {
		out.Links = []link{{"/purchases/" + p.ID + "/receive", "Receive it"}}
	}
	return out
}

// lotChoice is a lot in a list of choices.
func (v *visit) lotChoice(s *shelf, l orders.Lot, day civil.Date) string {
	text := s.ingredientName(l.IngredientID) + ": " + lotName(l.Code) + ", " + v.some(l.Left) + " left"
	if l.Expired(day) {
		text += ", expired"
	}
	return text
}

// supplyHref is where the supplies page tells of an ingredient.
func supplyHref(ingredientID string) string { return "/supplies#i-" + url.PathEscape(ingredientID) }
