package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"ripeline/orders"
)

// mostHandOvers is how many the plan lists before it says how many more there
// are.
const mostHandOvers = 20

// maxPage is the most that a page with its style and script may weigh.
const maxPage = 100_000

// everyPage is the address of each page of a workshop that has one of
// everything.
func everyPage(w *world, a orders.Actor, g goods, o orders.Order, planned, curing orders.Batch) []string {
	question := url.Values{
		"lines[0].design_id": {g.design.ID}, "lines[0].pieces": {"20"}, "needed_by": {w.today().AddDays(60).String()},
	}
	return []string{
		"/", "/start", "/today", "/promise", "/promise?" + question.Encode(), "/plan", "/orders", "/orders?status=enquiry", "/orders/" + o.ID,
		"/orders/" + o.ID + "/edit", "/batches", "/batches?status=curing", "/batches/" + planned.ID, "/batches/" + planned.ID + "/sheet", "/batches/" + curing.ID, "/batches/" + curing.ID + "/sheet",
		"/batches/" + curing.ID + "/wrong", "/batches/" + planned.ID + "/wrong", "/proposals", "/more", "/workshop", "/hours",
		"/molds", "/molds/new", "/molds/" + g.mold.ID, "/racks", "/racks/" + g.rack.ID, "/missing-molds", "/missing-molds/new",
		"/closed-days", "/closed-days/new", "/extra-hours", "/extra-hours/new", "/ingredients", "/ingredients/" + g.oil.ID,
		"/recipes", "/recipes/new", "/recipes/" + g.recipe.ID, "/recipes/" + g.recipe.ID + "/fill", "/designs", "/designs/" + g.design.ID, "/customers",
		"/customers/" + g.customer.ID, "/stock", "/stock/new", "/people", "/people/new", "/people/" + a.PersonID, "/reminders",
		"/rules", "/rules/new", "/calendars", "/tokens", "/journal", "/trials", "/trials/new", "/batches/" + curing.ID + "/label",
		"/batches/" + curing.ID + "/cost", "/designs/" + g.design.ID + "/label?names=as_saponified&units=both", "/designs/" + g.design.ID + "/cost",
		"/orders/" + o.ID + "/cost",
		"/supplies", "/lots", "/lots/new", "/lots/" + curing.Uses[0].LotID,
		"/purchases", "/purchases/new", "/trace", "/trace?lot_id=" + curing.Uses[0].LotID, "/trace?batch_id=" + curing.ID, "/trace?order_id=" + o.ID,
	}
}

// busyWorld has one of everything: an order, a planned and a curing batch.
func busyWorld(t *testing.T) (w *world, b *browser, a orders.Actor, pages []string) {
	w = newWorld(t)
	b, a = w.owner()
	g := w.furnish(a)
	o := w.order(a, g, 60, 60)
	curing := w.poured(a)
	w.now = curing.Cut.To
	curing, _, err := w.book.Cut(t.Context(), a, curing.ID, curing.Version, orders.CutFact{Spoiled: 1, Reason: "a soft end"})
	w.must(err)
	return w, b, a, everyPage(w, a, g, o, w.batch(a, orders.BatchPlanned), curing)
}

func TestEveryPageAnswersAndIsFitToRead(t *testing.T) {
	t.Parallel()
	w, b, a, addresses := busyWorld(t)
	weight := len(fetch(b, "ripeline.css")) + len(fetch(b, "ripeline.js"))
	for _, path := range addresses {
		b.get(path)
		b.wants(http.StatusOK, "h1", "")
		if size := len(b.body) + weight; size > maxPage {
			t.Errorf("%s weighs %d bytes with its style and script, want at most %d", path, size, maxPage)
		}
		checkMarkup(t, path, b.page)
	}
	for _, role := range []orders.Role{orders.Viewer, orders.Helper} {
		other := w.colleague(a, role)
		for _, path := range addresses {
			other.get(path)
			if other.status != http.StatusOK && other.status != http.StatusForbidden {
				t.Errorf("%s answers a %s with %d", path, role, other.status)
			}
			checkMarkup(t, path, other.page)
		}
	}
}

// TestPlanOfManyBatchesStaysLight checks the heaviest page in a busy year.
func TestPlanOfManyBatchesStaysLight(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	var err error
	g.design.Name = strings.Repeat("Oat and honey ", 6) + "bar"
	g.design, err = w.book.Designs.Change(t.Context(), a, g.design)
	w.must(err)
	for i := range 3 {
		w.order(a, g, 700, 330+i)
	}
	for i := range mostHandOvers + 2 {
		w.order(a, g, 1, 400+i)
	}
	plan, err := w.book.Plan(t.Context(), a)
	w.must(err)
	if len(plan.Batches) < 40 {
		t.Fatalf("the plan has %d batches, want at least 40", len(plan.Batches))
	}
	weight := len(fetch(b, "ripeline.css")) + len(fetch(b, "ripeline.js"))
	b.get("/plan")
	b.wants(http.StatusOK, "main", "later ones are not shown here")
	if n := b.page.Find("#hand + .plain > li").Length(); n != mostHandOvers {
		t.Errorf("the plan lists %d to hand over, want %d", n, mostHandOvers)
	}
	if size := len(b.body) + weight; size > maxPage {
		t.Errorf("the plan weighs %d bytes, want at most %d", size, maxPage)
	}
}

// fetch is an asset of the page that is open now, at the address it gives.
func fetch(b *browser, name string) string {
	b.t.Helper()
	b.get("/today")
	address := b.page.Find(`link[href*="` + name + `"], script[src*="` + name + `"]`)
	reader := newBrowser(b.w)
	reader.get(address.AttrOr("href", "") + address.AttrOr("src", ""))
	if reader.status != http.StatusOK || len(reader.body) < 100 {
		b.t.Fatalf("%s answered %d with %d bytes", name, reader.status, len(reader.body))
	}
	return reader.body
}

// checkMarkup checks what the content policy and people who do not see the
// page rely on.
func checkMarkup(t *testing.T, path string, page *goquery.Document) {
	t.Helper()
	if n := page.Find("[style], style, script:not([src])").Length(); n > 0 {
		t.Errorf("%s has %d inline styles or scripts", path, n)
	}
	for _, tag := range page.Find("*").EachIter() {
		for _, attr := range tag.Nodes[0].Attr {
			if strings.HasPrefix(attr.Key, "on") {
				t.Errorf("%s has the inline handler %s", path, attr.Key)
			}
		}
	}
	if n := page.Find("h1").Length(); n != 1 {
		t.Errorf("%s has %d first headings", path, n)
	}
	seen := map[string]bool{}
	for _, tag := range page.Find("[id]").EachIter() {
		id := tag.AttrOr("id", "")
		if seen[id] {
			t.Errorf("%s has the id %q twice", path, id)
		}
		seen[id] = true
	}
	for _, in := range page.Find(`input:not([type="hidden"]), select, textarea`).EachIter() {
		if page.Find(`label[for="`+in.AttrOr("id", "none")+`"]`).Length() == 0 {
			t.Errorf("%s has the input %q without a label", path, in.AttrOr("name", ""))
		}
	}
	for _, tag := range page.Find("[aria-describedby]").EachIter() {
		for _, id := range strings.Fields(tag.AttrOr("aria-describedby", "")) {
			if !seen[id] {
				t.Errorf("%s describes an input by %q, which is not there", path, id)
			}
		}
	}
}

// TestLinksLeadSomewhere follows each link of each page once.
func TestLinksLeadSomewhere(t *testing.T) {
	t.Parallel()
	_, b, _, addresses := busyWorld(t)
	from := map[string]string{}
	for _, path := range addresses {
		b.get(path)
		for _, link := range b.page.Find("main a[href], nav a[href]").EachIter() {
			if href := link.AttrOr("href", ""); strings.HasPrefix(href, "/") && from[href] == "" {
				from[href] = path
			}
		}
	}
	for href, page := range from {
		if b.get(href); b.status != http.StatusOK {
			t.Errorf("%s links to %s, which answers %d", page, href, b.status)
		}
	}
}

func TestViewersAndHelpersSeeOnlyWhatTheyMayDo(t *testing.T) {
	t.Parallel()
	w, _, a, addresses := busyWorld(t)
	viewer, helper := w.colleague(a, orders.Viewer), w.colleague(a, orders.Helper)
	for _, path := range addresses {
		viewer.get(path)
		for _, form := range viewer.page.Find(`form[method="post"]`).EachIter() {
			action := form.AttrOr("action", "")
			own := action == "/sign-out" || strings.HasPrefix(action, "/people/")
			if disabled := form.Find("fieldset[disabled]").Length() > 0 && form.Find("button").Length() == 0; !own && !disabled {
				t.Errorf("%s offers a viewer the form %s", path, action)
			}
		}
	}
	curing := w.batch(a, orders.BatchCuring)
	helper.get("/batches/" + curing.ID)
	helper.wants(http.StatusOK, `form[action$="/wrap"] button`, "Wrapped")
	if helper.page.Find(`form[action$="/pin"]`).Length() > 0 {
		t.Error("a helper may fix times")
	}
	viewer.post("/batches/"+curing.ID+"/wrap", url.Values{"version": {"1"}})
	viewer.wants(http.StatusForbidden, "h1", "Your role does not allow this")
}
