package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ripeline/orders"
)

// TestFromAnEmptyWorkshopByThePagesAlone walks the main job as a new maker
// would.
func TestFromAnEmptyWorkshopByThePagesAlone(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	token, err := w.book.NewSetupToken(t.Context())
	w.must(err)
	b := newBrowser(w)
	b.get("/today")
	if b.path != "/sign-in" {
		t.Fatalf("a stranger was led to %s", b.path)
	}
	b.get("/setup?token=" + token)
	b.submit("form", url.Values{
		"workshop": {"Tideline"}, "name": {"Inês"}, "email": {"ines@example.org"}, "password": {password}, "zone": {"Europe/Lisbon"},
	})
	b.wants(http.StatusOK, "h1", "Three steps")

	furnishByPages(b)
	promiseByPages(b)
	b.wants(http.StatusOK, "h1", "Favours for a naming day")
	b.wants(http.StatusOK, ".flash", "Order taken")
	orderPath := b.path

	b.get("/plan")
	b.wants(http.StatusOK, ".plan svg rect.pour", "")
	b.get("/batches?status=planned")
	first := b.page.Find(".list a.item").First().AttrOr("href", "")
	planned := b.page.Find(".list a.item").Length()
	if planned < 2 {
		t.Fatalf("%d batches are planned, want at least 2", planned)
	}
	b.get(first)
	b.wants(http.StatusOK, ".weights table caption", "Oils")
	b.wants(http.StatusOK, ".cautions", "never pour water onto lye")

	workByPages(w, b, first)
	b.get(orderPath)
	b.wants(http.StatusOK, ".card", "to be poured")
	b.get("/journal")
	b.wants(http.StatusOK, ".events", "Inês")
}

// furnishByPages sets hours, molds, a rack and one design.
func furnishByPages(b *browser) {
	b.t.Helper()
	b.get("/hours")
	b.submit("form#f-hours", url.Values{
		"hours[0].weekday": {"2"}, "hours[0].from": {"18:00"}, "hours[0].to": {"22:00"},
		"hours[1].weekday": {"4"}, "hours[1].from": {"18:00"}, "hours[1].to": {"22:00"},
		"hours[2].weekday": {"6"}, "hours[2].from": {"09:00"}, "hours[2].to": {"17:00"},
	})
	b.wants(http.StatusOK, ".flash", "Hours saved")
	b.get("/molds/new")
	b.submit("form.sheet", url.Values{
		"name": {"Long loaf"}, "count": {"2"}, "length_um": {"600"}, "width_um": {"9 cm"}, "depth_um": {"65"},
	})
	b.wants(http.StatusOK, ".list", "600 mm × 90 mm × 65 mm")
	b.get("/racks/new")
	b.submit("form.sheet", url.Values{"name": {"Tall rack"}, "shelves": {"6"}, "width_um": {"1200"}, "depth_um": {"600"}})
	b.wants(http.StatusOK, ".list", "6 shelves")
	b.get("/ingredients/new")
	b.submit("form.sheet", url.Values{"name": {"Rapeseed oil"}, "kind": {"oil"}, "sv_used": {"188,5"}, "on_hand_mg": {"40 kg"}})
	b.wants(http.StatusOK, ".list", "Rapeseed oil")
	b.get("/recipes/new")
	b.submit("form.sheet", url.Values{
		"name": {"Oat base"}, "parts[0].ingredient_id": {optionOf(b, "parts[0].ingredient_id", "Rapeseed oil")}, "parts[0].share_ppm": {"100"},
		"cut_min": {"18"}, "cut_max": {"48"}, "cure_min_days": {"28"}, "cure_target_days": {"35"},
	})
	b.wants(http.StatusOK, ".list", "Oat base")
	b.get("/designs/new")
	mold := b.page.Find(`.tick input[name^="mold_"]`).First().AttrOr("name", "")
	b.submit("form.sheet", url.Values{
		"name": {"Oat and honey"}, "lot_code": {"oat"}, "recipe_id": {optionOf(b, "recipe_id", "Oat base")}, mold: {"1"},
	})
	b.wants(http.StatusOK, ".list", "Oat and honey")
}

// optionOf is the value of a select's option by its label.
func optionOf(b *browser, name, label string) string {
	b.t.Helper()
	value := ""
	for _, option := range b.page.Find(`select[name="` + name + `"] option`).EachIter() {
		if option.Text() == label {
			value = option.AttrOr("value", "")
		}
	}
	if value == "" {
		b.t.Fatalf("%s offers no %q under %s", b.path, label, name)
	}
	return value
}

// promiseByPages asks for too early a date, then for one that works, and
// takes the order.
func promiseByPages(b *browser) {
	b.t.Helper()
	ask := func(days int) {
		b.get("/promise")
		b.submit("form.ask", url.Values{
			"lines[0].design_id": {optionOf(b, "lines[0].design_id", "Oat and honey")}, "lines[0].pieces": {"60"},
			"needed_by": {b.w.today().AddDays(days).String()},
		})
	}
	ask(20)
	b.wants(http.StatusOK, ".answer.no h2", "No")
	b.wants(http.StatusOK, ".answer.no .lead", "The earliest date you could promise with nothing else moved is")
	b.wants(http.StatusOK, ".chain", "cure")
	if b.page.Find(`button[name="accept"]`).Length() != 0 {
		b.t.Error("an order that can not be met may be accepted")
	}
	ask(45)
	b.wants(http.StatusOK, ".answer.yes h2", "Yes")
	b.wants(http.StatusOK, ".timeline rect.cure", "")
	b.submit(`form[action="/promise/take"]`, url.Values{
		"new_customer": {"Guesthouse Maré"}, "title": {"Favours for a naming day"}, "accept": {"1"},
	})
}

// workByPages pours and cuts the first batch, then loses it.
func workByPages(w *world, b *browser, path string) {
	b.t.Helper()
	w.now = w.batch(actorOf(b), orders.BatchPlanned).Make.To
	b.get("/today")
	b.submit(`.task form[action="`+path+`/pour"]`, nil)
	b.wants(http.StatusOK, ".flash", "Poured")
	b.get(path + "/wrong")
	b.wants(http.StatusOK, "main", "How much of it is lost")

	w.now = w.batch(actorOf(b), orders.BatchPoured).Cut.To
	b.get("/today")
	b.submit(`.task form[action="`+path+`/cut"]`, url.Values{"spoiled": {"5"}})
	b.wants(http.StatusOK, ".flash", "Cut")
	b.get(path)
	b.wants(http.StatusOK, "main", "5 pieces lost at the cut")
	b.submit(`form[action="`+path+`/weigh"]`, url.Values{"pieces": {"3"}, "mass_mg": {"402.6"}})
	b.wants(http.StatusOK, "main", "134.2 g")
	b.wants(http.StatusOK, "main", "By the recipe a piece weighs about")

	b.get(path + "/wrong")
	b.submit("form.sheet", url.Values{"extent": {"all"}, "reason": {"Separated"}})
	b.wants(http.StatusOK, "h1", "Ways to go on")
	if n := b.page.Find(".proposal").Length(); n < 1 {
		b.t.Fatal("no way to go on is proposed")
	}
	b.submit(`.proposal form[action$="/take"]`, nil)
	b.wants(http.StatusOK, ".flash", "Chosen")
	if strings.Contains(b.text("main"), "waits for your yes") {
		b.t.Error("the plan still waits after a way was chosen")
	}
}

func actorOf(b *browser) orders.Actor {
	b.t.Helper()
	_, a, err := b.w.book.SignIn(b.t.Context(), "ines@example.org", password, "192.0.2.1")
	b.w.must(err)
	return a
}
