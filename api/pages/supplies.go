package pages

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

type suppliesView struct {
	rights
	Today   string
	Order   []supplyView // what has to be ordered, soonest first
	Rest    []supplyView
	Idle    []recordRow // no batch needs it, and nothing is to be done about it
	Unknown []string    // designs whose needs can not be worked out
}

// supplyView is one ingredient against what the plan needs of it.
type supplyView struct {
	rights
	ID, Name, Href string
	Safety         safety
	Facts          []fact
	Needs          []needView
	Lots           []sourceView
	Coming         []comingView
	Buy, Add       string // addresses of the forms for an order and for a lot
	Short          bool
}

type needView struct{ Text, Href, Lacks string }

type comingView struct {
	Text, Href, Receive string
	Late                bool
}

func (v *visit) suppliesPage() error {
	all, err := v.Book.Supplies(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	view := suppliesView{rights: v.rights(), Today: v.words.day(all.Today), Unknown: all.Unknown}
	for _, x := range all.Items {
		switch {
		case !x.ShortOn.IsZero():
			view.Order = append(view.Order, v.supply(x))
		case len(x.Needs)+len(x.Purchases) > 0 || x.Expired > 0:
			view.Rest = append(view.Rest, v.supply(x))
		default:
			view.Idle = append(view.Idle, recordRow{Href: "/ingredients/" + x.IngredientID, Title: x.Name, Lines: []string{v.some(x.OnHand) + " on the shelf"}})
		}
	}
	return v.show(http.StatusOK, "supplies", "Supplies", view)
}

func (v *visit) supply(x orders.Supply) supplyView {
	view := supplyView{
		rights: v.rights(),
		ID:     "i-" + x.IngredientID, Name: x.Name, Href: "/ingredients/" + x.IngredientID, Safety: v.supplySafety(x),
		Facts: []fact{{"On the shelf", v.some(x.OnHand)}, {"On order", v.onOrder(x)}, {"The plan needs", v.some(x.Needed)}},
		Add:   "/lots/new?" + query("ingredient", x.IngredientID), Short: !x.ShortOn.IsZero(),
	}
	if x.Expired > 0 {
		view.Facts = append(view.Facts, fact{"Expired, not to be used", v.words.stored(x.Expired)})
	}
	buy := []string{"ingredient", x.IngredientID}
	if x.Lacking > 0 {
		buy = append(buy, "quantity", strconv.FormatInt(int64(upToTen(x.Lacking)), 10))
	}
	view.Buy = "/purchases/new?" + query(buy...)
	for _, n := range x.Needs {
		need := needView{Text: v.words.day(n.Day) + ": " + v.words.stored(n.Mass) + " for " + n.Lot, Href: "/batches/" + n.BatchID}
		if n.Lacks > 0 {
			need.Lacks = v.words.lacking(n.Lacks) + " lacking"
		}
		view.Needs = append(view.Needs, need)
	}
	for _, l := range x.Lots {
		text := capital(lotName(l.Code)) + ": " + v.words.stored(l.Left)
		if e := v.expiry(l); e != "" {
			text += ". " + e
		}
		view.Lots = append(view.Lots, sourceView{text, "/lots/" + l.ID})
	}
	for _, p := range x.Purchases {
		view.Coming = append(view.Coming, comingView{v.arrival(p), "/purchases/" + p.ID, "/purchases/" + p.ID + "/receive", p.ArrivesOn.Before(v.today())})
	}
	return view
}

// some is a weight on the shelf, or that there is none.
func (v *visit) some(m calc.Mass) string {
	if m == 0 {
		return "none"
	}
	return v.words.stored(m)
}

// upToTen rounds what is lacking up to ten grams, to be ordered.
func upToTen(m calc.Mass) calc.Mass {
	const step = 10 * calc.Gram
	return (m + step - 1) / step * step
}

func (v *visit) onOrder(x orders.Supply) string {
	switch {
	case len(x.Purchases) == 0:
		return "none"
	case x.OnOrder == 0:
		return "yes, amount not said"
	}
	return v.words.stored(x.OnOrder)
}

// supplySafety says in words whether there is enough, and else what to do by
// when.
func (v *visit) supplySafety(x orders.Supply) safety {
	short := fmt.Sprintf("%s are lacking from the pour on %s on.", capital(v.words.lacking(x.Lacking)), v.words.day(x.ShortOn))
	wait := " It takes " + count(x.LeadDays, "day") + " to arrive."
	switch {
	case x.ShortOn.IsZero() && len(x.Needs) == 0:
		return safety{Level: "safe", Word: "Not needed", Text: "No planned batch uses it."}
	case x.ShortOn.IsZero() && x.OnHand < x.Needed && !v.overdue(x).IsZero():
		return safety{Level: "tight", Word: "Late", Text: fmt.Sprintf("The plan counts on what was to arrive %s as if it came today. Ask where it is, and change the day it arrives: the plan then follows.", v.words.day(v.overdue(x)))}
	case x.ShortOn.IsZero():
		return safety{Level: "safe", Word: "Enough", Text: "For every planned batch, with what is on order."}
	case x.LeadDays == 0:
		return safety{Level: "tight", Word: "Get it by " + v.words.day(x.ShortOn), Text: short + " Say on the ingredient's page how many days it takes to arrive, and it becomes a task in time."}
	case x.OrderBy.Before(v.today()):
		return safety{Level: "late", Word: "Order now", Text: short + wait + fmt.Sprintf(" It was to be ordered by %s: the pour may have to wait for it.", v.words.day(x.OrderBy))}
	}
	return safety{Level: "tight", Word: "Order by " + v.words.near(x.OrderBy), Text: short + wait}
}

// overdue is when the first of what is on order should have arrived; zero when that
// is not past.
func (v *visit) overdue(x orders.Supply) civil.Date {
	if len(x.Purchases) == 0 || !x.Purchases[0].ArrivesOn.Before(v.today()) {
		return civil.Date{}
	}
	return x.Purchases[0].ArrivesOn
}

type receiveView struct {
	rights
	formState
	Name, Action, Arrival string
	Groups                []fieldGroup
}

func (v *visit) receivePage() error { return v.drawReceive(v.blankForm()) }

// drawReceive asks for what stands on the label of what came.
func (v *visit) drawReceive(f *form) error {
	p, err := v.Book.Purchases.Get(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	if !v.may(orders.Helper) {
		return orders.ErrForbidden
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	view := receiveView{rights: v.rights(), Name: names.ingredientName(p.IngredientID), Action: "/purchases/" + p.ID + "/receive", Arrival: v.arrival(p)}
	view.Groups = []fieldGroup{{Fields: []field{
		f.textInput("code", "Lot code of the supplier", "").hint("As on the label."),
		f.quantityInput("received_mg", "How much came", f.words.massValue(p.Quantity), f.words.massUnit()),
		f.dayInput("received_on", "Received", v.today()),
		f.dayInput("expires_on", "Good until", orders.Lot{}.ExpiresOn).hint("Empty when none is stated."),
		f.moneyInput("price_minor", "Paid for it", p.Price),
		f.input("area", "note", "Note", p.Note),
	}}}
	view.formState = f.state(p.Version)
	return v.show(f.status(), "receive", "Receive "+view.Name, view)
}

func (v *visit) receive() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	in := orders.Receipt{
		Code: f.text("code"), Received: f.mass("received_mg"), ReceivedOn: f.day("received_on"), ExpiresOn: f.day("expires_on"),
		Price: f.money("price_minor"), Note: f.text("note"),
	}
	if f.ok() {
		lot, err := v.Book.Receive(v.once(f), v.actor, chi.URLParam(v.r, "id"), f.version(), in)
		if err == nil {
			return v.replanned(supplyHref(lot.IngredientID), "Received: lot "+lotName(lot.Code)+".")
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.drawReceive(f)
}
