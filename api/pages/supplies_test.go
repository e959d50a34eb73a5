package pages_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// emptied uses up the oil's lots and says that more takes ten days.
func (w *world) emptied(a orders.Actor, oil orders.Ingredient) {
	w.t.Helper()
	page, err := w.book.Lots.List(w.t.Context(), a, orders.ListQuery{Parent: oil.ID})
	w.must(err)
	for _, l := range page.Items {
		l.Left = 0
		_, err := w.book.Lots.Change(w.t.Context(), a, l)
		w.must(err)
	}
	oil.LeadDays = 10
	_, err = w.book.Ingredients.Change(w.t.Context(), a, oil)
	w.must(err)
}

// follow opens the first link at a selector.
func (b *browser) follow(selector string) {
	b.t.Helper()
	href := b.page.Find(selector).First().AttrOr("href", "")
	if href == "" {
		b.t.Fatalf("%s has no link %s: %s", b.path, selector, b.text("main"))
	}
	b.get(href)
}

// TestSuppliesOfferWhatOneMayDo shows each role only the buttons that it may press.
func TestSuppliesOfferWhatOneMayDo(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.emptied(a, g.oil)
	w.order(a, g, 20, 75)
	bought, err := w.book.Purchases.Create(t.Context(), a, orders.Purchase{IngredientID: g.oil.ID, Quantity: calc.Gram, ArrivesOn: w.today().AddDays(3)})
	w.must(err)
	for _, c := range []struct {
		who       *browser
		own, work bool
	}{{b, true, true}, {w.colleague(a, orders.Helper), false, true}, {w.colleague(a, orders.Viewer), false, false}} {
		c.who.get("/supplies")
		c.who.wants(http.StatusOK, ".supply", "Rapeseed oil Order by")
		for selector, may := range map[string]bool{
			`a[href^="/purchases/new"]`: c.own, `a[href^="/lots/new"]`: c.own, `a[href$="/receive"]`: c.work,
		} {
			if there := c.who.page.Find(".supply "+selector).Length() > 0; there != may {
				t.Errorf("own %v, work %v: %s is there: %v", c.own, c.work, selector, there)
			}
		}
		c.who.get("/purchases/" + bought.ID)
		if there := c.who.page.Find(`a[href$="/receive"]`).Length() > 0; there != c.work {
			t.Errorf("own %v, work %v: it can be received: %v", c.own, c.work, there)
		}
	}
}

// TestSuppliesByPages sees what is lacking, orders it, receives it, pours from
// it, corrects the lot, and traces it both ways: all by pages.
func TestSuppliesByPages(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.emptied(a, g.oil)
	o := w.order(a, g, 20, 75)
	planned := w.batch(a, orders.BatchPlanned)

	b.get("/supplies")
	b.wants(http.StatusOK, ".supply", "Rapeseed oil Order by")
	b.wants(http.StatusOK, ".supply", planned.Lot)
	b.get("/plan")
	b.wants(http.StatusOK, "#order + .plain", "Order Rapeseed oil")
	b.follow("#order + .plain a")
	b.wants(http.StatusOK, "h1", "Supplies")
	b.follow(`.supply a[href^="/purchases/new"]`)
	if got := b.page.Find(`[name="quantity_mg"]`).AttrOr("value", ""); got == "" {
		t.Error("the form does not know how much is lacking")
	}
	b.submit("form.sheet", url.Values{"quantity_mg": {"20 kg"}, "price_minor": {"61,50"}})
	b.wants(http.StatusOK, ".flash", "Saved: Rapeseed oil")
	b.get("/supplies")
	b.wants(http.StatusOK, ".supply .badge", "Enough")
	b.follow(`.supply a[href$="/receive"]`)
	b.submit("form.sheet", url.Values{"code": {"R-204"}, "expires_on": {w.today().AddDays(-1).String()}})
	b.rejects("expires_on", "before the day it was received")
	b.submit("form.sheet", url.Values{"expires_on": {w.today().AddDays(300).String()}})
	b.wants(http.StatusOK, ".flash", "Received: lot R-204")

	w.now = planned.Make.To
	b.get("/batches/" + planned.ID)
	b.submit(`form[action$="/pour"]`, nil)
	b.wants(http.StatusOK, "#lots ~ .scroll", "R-204")
	before := b.text("#lots ~ .scroll")
	b.get("/lots")
	b.wants(http.StatusOK, ".list", "R-204")
	b.get("/batches/" + planned.ID)
	b.submit(`form[action$="/lots"]`, url.Values{"lots_used[0].used_mg": {"1 kg"}})
	b.wants(http.StatusOK, "#lots ~ .scroll", "1000 g")
	if b.text("#lots ~ .scroll") == before {
		t.Error("the lots were not corrected")
	}
	b.submit(`form[action$="/lots"]`, url.Values{"lots_used[0].used_mg": {""}})
	if got := b.text("#lots ~ .scroll"); strings.Contains(got, "R-204") {
		t.Errorf("an emptied amount is still there: %s", got)
	}
	b.submit(`form[action$="/lots"]`, url.Values{"lots_used[1].lot_id": {optionLike(b, "lots_used[1].lot_id", "R-204")}})
	b.rejects("lots_used[1].used_mg", "must be more than 0")
	b.submit(`form[action$="/lots"]`, url.Values{"lots_used[1].used_mg": {"2 kg"}})
	b.wants(http.StatusOK, "#lots ~ .scroll", "R-204")
	w.tracesByPages(b, planned, o)
}

// optionLike is the value of a select's first option whose label contains text.
func optionLike(b *browser, name, text string) string {
	b.t.Helper()
	for _, option := range b.page.Find(`select[name="` + name + `"] option`).EachIter() {
		if strings.Contains(option.Text(), text) {
			return option.AttrOr("value", "")
		}
	}
	b.t.Fatalf("%s offers no %q under %s", b.path, text, name)
	return ""
}

func (w *world) tracesByPages(b *browser, batch orders.Batch, o orders.Order) {
	w.t.Helper()
	b.get("/trace")
	b.submit("form.sheet:has([name=code])", url.Values{"code": {"r-204"}})
	b.wants(http.StatusOK, ".traced h3", batch.Lot)
	b.wants(http.StatusOK, ".traced", "Guesthouse Maré")
	b.wants(http.StatusOK, ".found .facts", "Set aside, still here20 pieces")
	b.follow(".traced h3 a")
	b.follow(`a[href^="/trace?batch_id="]`)
	b.wants(http.StatusOK, ".traced table", "R-204")
	b.follow(`.traced a[href^="/trace?lot_id="]`)
	b.wants(http.StatusOK, "#found", "What was made with 1 lot")
	b.get("/orders/" + o.ID)
	b.follow(`a[href^="/trace?order_id="]`)
	b.wants(http.StatusOK, ".traced table", "R-204")
	b.get("/trace")
	b.submit("form.sheet:has([name=lot])", url.Values{"lot": {batch.Lot}})
	b.wants(http.StatusOK, ".traced table", "R-204")
	b.submit("form.sheet:has([name=lot])", url.Values{"lot": {strconv.Itoa(o.Number)}})
	b.wants(http.StatusOK, "#found", fmt.Sprintf("What went into order %d", o.Number))
	b.wants(http.StatusOK, ".traced table", "R-204")
	b.submit("form.sheet:has([name=lot])", url.Values{"lot": {"NO-1"}})
	b.rejects("lot", "on no batch here")
	b.submit("form.sheet:has([name=code])", url.Values{"code": {"nothing"}})
	b.rejects("code", "on no lot here")
	b.get("/trace?lot_id=0190a0a0-0000-7000-8000-000000000000")
	b.wants(http.StatusNotFound, "h1", "")
}

func TestWhatIsLackingIsATaskOfToday(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.emptied(a, g.oil)
	w.order(a, g, 20, 75)
	tasks, err := w.book.Tasks(t.Context(), a, w.today())
	w.must(err)
	for _, task := range tasks {
		if task.Kind == orders.TaskSupplies {
			w.now = w.now.AddDate(0, 0, task.Day.Sub(w.today()))
		}
	}
	b.get("/today")
	b.wants(http.StatusOK, ".task", "Order Rapeseed oil")
	b.follow(`.task a.button[href^="/supplies"]`)
	b.wants(http.StatusOK, ".supply .badge", "Order by today")
	w.now = w.now.AddDate(0, 0, 1)
	b.get("/supplies")
	b.wants(http.StatusOK, ".supply .badge", "Order now")
}

// TestLateDeliveryIsNotEnough lets the day pass on which oil was to arrive that a pour
// counts on.
func TestLateDeliveryIsNotEnough(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.emptied(a, g.oil)
	_, err := w.book.Purchases.Create(t.Context(), a, orders.Purchase{IngredientID: g.oil.ID, Quantity: 20 * calc.Kilogram, ArrivesOn: w.today().AddDays(3)})
	w.must(err)
	w.order(a, g, 20, 75)
	b.get("/supplies")
	b.wants(http.StatusOK, ".supply .badge", "Enough")
	w.now = w.now.AddDate(0, 0, 4)
	b.get("/supplies")
	b.wants(http.StatusOK, ".supply .badge", "Late")
	b.wants(http.StatusOK, ".supply", "change the day it arrives")
}

func TestAnExpiredLotIsFlagged(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	lot, err := w.book.Lots.Create(t.Context(), a, orders.Lot{
		IngredientID: g.oil.ID, Code: "STALE", Received: 1000, ReceivedOn: w.today().AddDays(-9), ExpiresOn: w.today().AddDays(-1),
	})
	w.must(err)
	b.get("/lots")
	b.wants(http.StatusOK, ".list", "STALE expired")
	b.get("/lots/" + lot.ID)
	b.wants(http.StatusOK, ".problems", "no pour takes of it")
	b.get("/supplies")
	b.wants(http.StatusOK, ".supply .facts", "Expired, not to be used")
}

// TestManyLotsOfABatchAreKept saves a batch of more lots than most have, and
// traces one to two customers of the same name.
func TestManyLotsOfABatchAreKept(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 10, 75)
	var err error
	g.customer, err = w.book.Customers.Create(t.Context(), a, orders.Customer{Name: g.customer.Name})
	w.must(err)
	w.order(a, g, 10, 75)
	batch := w.poured(a)
	var in orders.LotsUsed
	for i := range 65 {
		l, err := w.book.Lots.Create(t.Context(), a, orders.Lot{IngredientID: g.oil.ID, Code: fmt.Sprintf("M-%d", i), Received: calc.Gram})
		w.must(err)
		in.Uses = append(in.Uses, orders.LotUse{LotID: l.ID, Mass: calc.Gram})
	}
	_, _, err = w.book.CorrectLots(t.Context(), a, batch.ID, 0, in)
	w.must(err)
	b.get("/batches/" + batch.ID)
	b.submit(`form[action$="/lots"]`, nil)
	b.wants(http.StatusOK, ".flash", "are corrected")
	got, err := w.book.Batch(t.Context(), a, batch.ID)
	w.must(err)
	if len(got.Uses) != len(in.Uses) {
		t.Errorf("%d lots are kept of %d", len(got.Uses), len(in.Uses))
	}
	b.get("/trace?lot_id=" + in.Uses[64].LotID)
	if n := b.page.Find(`.found a[href^="/customers/"]`).Length(); n != 2 {
		t.Errorf("%d people are told, want both of one name", n)
	}
}
