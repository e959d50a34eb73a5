package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ripeline/orders"
)

// rejected is one form, what is typed into it, and the input that gets the
// message.
type rejected struct {
	name, path, form string
	typed            url.Values
	input, message   string
}

func rejections(w *world, g goods, o orders.Order, poured, curing orders.Batch) []rejected {
	none := url.Values{}
	ask := "lines[0].pieces"
	return []rejected{
		{"mold without a name", "/molds/new", ".sheet", url.Values{"length_um": {"300"}, "width_um": {"90"}, "depth_um": {"70"}}, "name", "is empty"},
		{"mold of no size", "/molds/new", ".sheet", url.Values{"name": {"Flat"}}, "length_um", "must lie between"},
		{"length that is none", "/molds/new", ".sheet", url.Values{"name": {"Flat"}, "length_um": {"long"}}, "length_um", "not a number"},
		{"rack of a million shelves", "/racks/new", ".sheet", url.Values{"name": {"R"}, "shelves": {"1000000"}}, "shelves", "must lie between"},
		{"closed days in the past", "/closed-days/new", ".sheet", url.Values{"from": {"2020-01-01"}, "to": {"2020-01-02"}}, "to", "past"},
		{"day that is none", "/closed-days/new", ".sheet", url.Values{"from": {"31/12/2026"}}, "from", "must be a date"},
		{"extra hours backwards", "/extra-hours/new", ".sheet", url.Values{"from": {"20:00"}, "to": {"18:00"}}, "to", "must be later"},
		{"missing mold of none", "/missing-molds/new", ".sheet", none, "mold_id", "missing"},
		{"oil without a value", "/ingredients/new", ".sheet", url.Values{"name": {"Oil"}}, "sv_used", "saponification"},
		{"oils that do not add up", "/recipes/" + g.recipe.ID, ".sheet", url.Values{"parts[0].share_ppm": {"90"}}, "", "not 100 %"},
		{"cut window with no hour", "/recipes/" + g.recipe.ID, ".sheet", url.Values{"cut_min": {"60"}, "cut_max": {"61"}}, "cut_max", "no working hour"},
		{"colours that do not add up", "/designs/" + g.design.ID, ".sheet", url.Values{"colours[1].share_ppm": {"29"}}, "", "not 100 %"},
		{"slices thicker than the mold", "/designs/" + g.design.ID, ".sheet", url.Values{"cut.thickness_um": {"700"}}, "cut.thickness_um", "must lie between"},
		{"design without a mold", "/designs/" + g.design.ID, ".sheet", url.Values{"mold_" + g.mold.ID: {""}}, "", "at least one mold"},
		{"e-mail that is none", "/customers/" + g.customer.ID, ".sheet", url.Values{"email": {"at home"}}, "email", "not an e-mail address"},
		{"name with a line break", "/customers/" + g.customer.ID, ".sheet", url.Values{"name": {"One\nTwo"}}, "name", "line break"},
		{"lot of less than nothing", "/lots/new", ".sheet", url.Values{"ingredient_id": {g.oil.ID}, "received_mg": {"-5"}}, "received_mg", ""},
		{"lot of an unknown weight", "/lots/new", ".sheet", url.Values{"ingredient_id": {g.oil.ID}, "received_mg": {"NaN"}}, "received_mg", "not a number"},
		{"lot expired before it came", "/lots/new", ".sheet", url.Values{"ingredient_id": {g.oil.ID}, "received_mg": {"5"}, "expires_on": {"2020-01-01"}}, "expires_on", "before the day it was received"},
		{"lot of no ingredient", "/lots/new", ".sheet", url.Values{"received_mg": {"5"}}, "ingredient_id", "choose the ingredient"},
		{"lot at a price that is none", "/lots/new", ".sheet", url.Values{"ingredient_id": {g.oil.ID}, "received_mg": {"5"}, "price_minor": {"cheap"}}, "price_minor", "must be an amount"},
		{"order that arrives before it is made", "/purchases/new", ".sheet", url.Values{"ingredient_id": {g.oil.ID}, "arrives_on": {"2020-01-01"}}, "arrives_on", "before the day it was ordered"},
		{"more of a lot than it holds", "/batches/" + poured.ID, `[action$="/lots"]`, url.Values{"lots_used[0].used_mg": {"900 kg"}}, "lots_used[0].used_mg", "at most"},
		{"stock of nothing", "/stock/new", ".sheet", none, "pieces", "at least one"},
		{"unknown zone", "/workshop", ".sheet", url.Values{"zone": {"Atlantis/Deep"}}, "zone", "unknown time zone"},
		{"hours backwards", "/hours", ".sheet", url.Values{"hours[0].from": {"23:00"}, "hours[0].to": {"22:00"}}, "hours[0].to", "must be later"},
		{"short password", "/people/new", ".sheet", url.Values{"name": {"Rui"}, "email": {"rui@example.org"}, "password": {"short"}}, "password", "at least 10"},
		{"rule that never fires", "/rules/new", ".sheet", url.Values{"cron": {"0 0 31 2 *"}}, "cron", "never"},
		{"token without a name", "/tokens", ".sheet", none, "name", "is empty"},
		{"feed without a name", "/calendars", ".sheet", none, "name", "is empty"},
		{"order of no piece", "/orders/" + o.ID + "/edit", ".sheet", url.Values{ask: {"0"}}, ask, "must lie between"},
		{"order of a million", "/orders/" + o.ID + "/edit", ".sheet", url.Values{ask: {"1000000"}}, ask, "must lie between"},
		{"more spoiled than there are", "/batches/" + poured.ID, `[action$="/cut"]`, url.Values{"spoiled": {"9999"}}, "spoiled", ""},
		{"weight of nothing", "/batches/" + curing.ID, `[action$="/weigh"]`, url.Values{"pieces": {"1"}, "mass_mg": {"heavy"}}, "mass_mg", "not a number"},
		{"weighed before the cut", "/batches/" + curing.ID, `[action$="/weigh"]`, url.Values{"weighed_at": {"2026-01-02T10:00"}, "mass_mg": {"120"}}, "weighed_at", "before the batch was cut"},
		{"weighed at no time", "/batches/" + curing.ID, `[action$="/weigh"]`, url.Values{"weighed_at": {"yesterday"}, "mass_mg": {"120"}}, "weighed_at", "must be a date and a time"},
		{"marked pieces weighed together", "/batches/" + curing.ID, `[action$="/weigh"]`, url.Values{"pieces": {"2"}, "mass_mg": {"200"}, "mark": {"red"}}, "pieces", "must be 1 for a marked piece"},
		{"oil lighter than its range", "/ingredients/new", ".sheet", url.Values{"name": {"Oil"}, "sv_used": {"190"}, "sv_low": {"195"}}, "sv_low", "not above the value used"},
		{"loss without a reason", "/batches/" + curing.ID + "/wrong", ".sheet", none, "reason", "is empty"},
		{"more lost than there are", "/batches/" + curing.ID + "/wrong", ".sheet", url.Values{"extent": {"some"}, "pieces": {"9999"}, "reason": {"Dropped"}}, "pieces", ""},
	}
}

func TestRejectedFormsComeBackWithTheirInput(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	o := w.order(a, g, 60, 75)
	curing := w.poured(a)
	w.now = curing.Cut.To
	_, _, err := w.book.Cut(t.Context(), a, curing.ID, curing.Version, orders.CutFact{})
	w.must(err)
	poured := w.poured(a)
	for _, r := range rejections(w, g, o, poured, curing) {
		before := journalLength(w, a)
		b.get(r.path)
		b.submit("form"+r.form, r.typed)
		if r.input != "" {
			b.rejects(r.input, r.message)
		} else {
			b.wants(http.StatusUnprocessableEntity, "fieldset .error", r.message)
		}
		for name, typed := range r.typed {
			in := b.page.Find(`input[name="` + name + `"]`)
			if kind := in.AttrOr("type", ""); kind == "checkbox" || kind == "password" || strings.Contains(typed[0], "\n") {
				continue
			}
			if got := in.AttrOr("value", ""); in.Length() > 0 && got != typed[0] {
				t.Errorf("%s: input %s came back as %q, want %q", r.name, name, got, typed[0])
			}
		}
		if said := b.text(".problems"); !strings.Contains(said, "Nothing was written yet.") {
			t.Errorf("%s: the page says %q", r.name, said)
		}
		checkMarkup(t, r.path, b.page)
		if after := journalLength(w, a); after != before {
			t.Errorf("%s: something was written", r.name)
		}
	}
}

func journalLength(w *world, a orders.Actor) int {
	page, err := w.book.Journal(w.t.Context(), a, orders.ListQuery{Limit: 200})
	w.must(err)
	return len(page.Items)
}

func TestPromiseIsRejectedAtItsInputs(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	ask := func(pieces, day string) {
		b.get("/promise")
		b.submit("form.ask", url.Values{"lines[0].design_id": {g.design.ID}, "lines[0].pieces": {pieces}, "needed_by": {day}})
	}
	ask("60", "2020-01-01")
	b.rejects("needed_by", "past")
	ask("0", w.today().AddDays(60).String())
	b.rejects("lines[0].pieces", "must lie between")

	ask("20", w.today().AddDays(60).String())
	b.wants(http.StatusOK, ".answer h2", "Yes")
	b.submit(`form[action="/promise/take"]`, url.Values{"new_customer": {"Ferry office"}, "title": {"Staff\ngifts"}, "accept": {"1"}})
	b.rejects("title", "line break")
	b.wants(http.StatusUnprocessableEntity, ".answer h2", "Yes")
	customers, err := w.book.Customers.List(t.Context(), a, orders.ListQuery{})
	w.must(err)
	if len(customers.Items) != 1 {
		t.Errorf("a rejected order left %d customers, want the 1 there was", len(customers.Items))
	}
	b.submit(`form[action="/promise/take"]`, url.Values{"new_customer": {"Ferry office"}, "title": {"Staff gifts"}, "customer_id": {g.customer.ID}})
	b.rejects("new_customer", "Either choose")
}

// TestRefusedOrderCanBeSentAgain sends an order for a new customer while its design
// is not offered, and the same form again once it is.
func TestRefusedOrderCanBeSentAgain(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	offered := func(is bool) {
		t.Helper()
		d, err := w.book.Designs.Get(t.Context(), a, g.design.ID)
		w.must(err)
		d.Retired = !is
		_, err = w.book.Designs.Change(t.Context(), a, d)
		w.must(err)
	}
	b.get("/promise")
	b.submit("form.ask", url.Values{"lines[0].design_id": {g.design.ID}, "lines[0].pieces": {"20"}, "needed_by": {w.today().AddDays(60).String()}})
	b.wants(http.StatusOK, ".answer h2", "Yes")
	taken := formValues(b.page.Find(`form[action="/promise/take"]`).First())
	taken.Set("new_customer", "Ferry office")
	taken.Set("accept", "1")
	offered(false)
	b.post("/promise/take", taken)
	if b.status != http.StatusUnprocessableEntity {
		t.Fatalf("an order of what is not offered gives %d", b.status)
	}
	offered(true)
	b.post("/promise/take", taken)
	b.wants(http.StatusOK, "main", "Ferry office")
	customers, err := w.book.Customers.List(t.Context(), a, orders.ListQuery{Text: "Ferry office"})
	w.must(err)
	if len(customers.Items) != 1 {
		t.Errorf("there are %d of the new customer", len(customers.Items))
	}
}

func TestSetUpIsRejectedAtItsInputs(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	token, err := w.book.NewSetupToken(t.Context())
	w.must(err)
	b := newBrowser(w)
	b.get("/setup?token=" + token)
	b.submit("form", url.Values{"workshop": {"Tideline"}, "name": {"Inês"}, "email": {"nowhere"}, "password": {"short"}, "zone": {"Moon/Sea"}})
	b.rejects("email", "not an e-mail address")
	b.rejects("password", "at least 10")
	b.rejects("zone", "unknown time zone")
	if got := b.page.Find(`[name="workshop"]`).AttrOr("value", ""); got != "Tideline" {
		t.Errorf("the name came back as %q", got)
	}
	b.get("/setup?token=wrong")
	b.wants(http.StatusNotFound, "h1", "This set-up link does not work")
}

// TestQuestionsDoNotSayThatNothingWasWritten asks pages that only calculate
// what they can not answer, and for a record that is not there.
func TestQuestionsDoNotSayThatNothingWasWritten(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	for _, path := range []string{
		"/recipes/" + g.recipe.ID + "/fill?oils_mg=much", "/designs/" + g.design.ID + "/label?names=loud",
		"/promise?lines%5B0%5D.design_id=" + g.design.ID + "&lines%5B0%5D.pieces=0&needed_by=2020-01-01",
		"/batches/none",
	} {
		b.get(path)
		if said := b.text("main"); b.status < 400 || strings.Contains(said, "othing was") || strings.Contains(said, "not written") {
			t.Errorf("%s: %d %s", path, b.status, said)
		}
	}
}
