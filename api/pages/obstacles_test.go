package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ripeline/orders"
)

// TestEveryPageSaysWhatCanNotBeMadeAsPlanned takes the molds of the next pour away while
// nobody has said yes to another plan, then says yes.
func TestEveryPageSaysWhatCanNotBeMadeAsPlanned(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	o := w.order(a, g, 20, 75)
	batch := w.batch(a, orders.BatchPlanned)
	pages := []string{"/today", "/plan", "/orders/" + o.ID, "/orders", "/batches/" + batch.ID, "/batches?status=planned"}
	for _, path := range pages {
		b.get(path)
		if said := b.text("main"); b.status != http.StatusOK || strings.Contains(said, "Not as planned") {
			t.Errorf("before, %s says %q", path, said)
		}
	}
	_, err := w.book.MoldOuts.Create(t.Context(), a, orders.MoldOut{MoldID: g.mold.ID, From: w.today(), To: w.today().AddDays(5), Units: 2})
	w.must(err)
	for _, path := range pages {
		b.get(path)
		b.wants(http.StatusOK, "main", "Not as planned")
		if path != "/orders" && path != "/batches?status=planned" {
			b.wants(http.StatusOK, "main", "1 × Long loaf, and none is there")
			if b.page.Find(`main a[href="/proposals"]`).Length() == 0 {
				t.Errorf("%s does not lead to the ways to go on", path)
			}
		}
		if b.page.Find(".safety.safe, .badge.safe").Length() > 0 {
			t.Errorf("%s calls something safe: %s", path, b.text("main"))
		}
	}
	b.get("/orders/" + o.ID)
	b.wants(http.StatusOK, ".facts", "once it is planned anew")
	b.get("/proposals")
	b.submit(`form[action$="/take"]`, nil)
	for _, path := range pages {
		b.get(path)
		if said := b.text("main"); strings.Contains(said, "Not as planned") {
			t.Errorf("once the change is taken, %s says %q", path, said)
		}
	}
}

// TestTodayAsksAfterWhatShouldHaveArrived lets the day pass on which an order of oil was
// to come, and receives it from Today.
func TestTodayAsksAfterWhatShouldHaveArrived(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	p, err := w.book.Purchases.Create(t.Context(), a, orders.Purchase{IngredientID: g.oil.ID, Quantity: 5_000_000, ArrivesOn: w.today().AddDays(1)})
	w.must(err)
	for _, days := range []int{0, 1} { // on the day itself it may still come
		b.get("/today")
		if said := b.text("main"); strings.Contains(said, "was to arrive") {
			t.Errorf("after %d days Today says %q", days, said)
		}
		w.now = w.now.AddDate(0, 0, 1)
	}
	b.get("/today")
	b.wants(http.StatusOK, ".task.overdue", "Rapeseed oil")
	b.wants(http.StatusOK, ".task.overdue", "5 kg, was to arrive Thu 26 Nov")
	if b.page.Find(`.task.overdue a[href="/purchases/`+p.ID+`"]`).Length() == 0 {
		t.Error("Today does not lead to where its day is changed")
	}
	receive := b.page.Find(`.task.overdue a[href$="/receive"]`).AttrOr("href", "")
	viewer := w.colleague(a, orders.Viewer)
	viewer.get("/today")
	viewer.wants(http.StatusOK, ".task.overdue", "Rapeseed oil")
	if viewer.page.Find(".task.overdue .button").Length() > 0 {
		t.Error("who only looks is asked to receive it")
	}
	b.get(receive)
	b.submit(`form[action$="/receive"]`, url.Values{"code": {"R-7"}})
	b.get("/today")
	if said := b.text("main"); strings.Contains(said, "was to arrive") {
		t.Errorf("once received, Today says %q", said)
	}
}

// TestDayOfAHandOver writes a hand-over down some days later, at first with a day that
// can not be.
func TestDayOfAHandOver(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	o := w.order(a, g, 20, 75)
	batch := w.poured(a)
	w.now = batch.Cut.To
	batch, _, err := w.book.Cut(t.Context(), a, batch.ID, 0, orders.CutFact{})
	w.must(err)
	w.now = batch.Wrap.To
	_, _, err = w.book.Wrap(t.Context(), a, batch.ID, 0, orders.WrapFact{})
	w.must(err)
	left := w.today().AddDays(2)
	w.now = w.now.AddDate(0, 0, 6)
	b.get("/orders/" + o.ID)
	if day := b.page.Find(`[name="left_on"]`).AttrOr("value", ""); day != w.today().String() {
		t.Errorf("the form says %s, want today, %s", day, w.today())
	}
	b.submit(`form[action$="/hand-over"]`, url.Values{"left_on": {w.today().AddDays(1).String()}})
	b.wants(http.StatusUnprocessableEntity, "main", "lies ahead")
	b.submit(`form[action$="/hand-over"]`, url.Values{"left_on": {left.String()}})
	b.wants(http.StatusOK, ".flash", "Handed over")
	said := b.text(".facts")
	if day := left.String()[8:]; !strings.Contains(said, "Handed over") || !strings.Contains(said, day) {
		t.Errorf("the order says %q, want %s", said, left)
	}
}
