package pages_test

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"ripeline/orders"
)

// TestFirstStepsLeadFromOneToTheNext saves the first records and only ever
// follows the link that the page after offers.
func TestFirstStepsLeadFromOneToTheNext(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, _ := w.owner()
	next := func(words string) {
		t.Helper()
		b.wants(http.StatusOK, ".flash a", words)
		b.get(b.page.Find(".flash a").AttrOr("href", ""))
	}
	b.get("/hours")
	b.submit("form#f-hours", nil)
	next("Next: Add a mold")
	b.submit("form.sheet", url.Values{"name": {"Long loaf"}, "count": {"2"}, "length_um": {"600"}, "width_um": {"90"}, "depth_um": {"65"}})
	next("Next: Add a rack")
	b.submit("form.sheet", url.Values{"name": {"Tall rack"}, "shelves": {"6"}, "width_um": {"1200"}, "depth_um": {"600"}})
	next("Next: Write a recipe first")
	b.submit("form.sheet", url.Values{
		"name": {"Oat base"}, "parts[0].ingredient_id": {optionOf(b, "parts[0].ingredient_id", "Olive oil")}, "parts[0].share_ppm": {"100"},
	})
	next("Next: Add a design")
	b.submit("form.sheet", url.Values{"name": {"Oat and honey"}, "lot_code": {"oat"}}) // its one recipe and mold are chosen
	next("Next: ask what you can promise")
	b.wants(http.StatusOK, "h1", "Can I promise it?")
}

// TestNewRecordsAskOnlyWhatANewOneHas looks at every form for a new record.
func TestNewRecordsAskOnlyWhatANewOneHas(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	for _, path := range []string{"/molds", "/racks", "/ingredients", "/recipes", "/designs", "/customers", "/people"} {
		b.get(path + "/new")
		b.wants(http.StatusOK, ".acts", "Add no")
		if b.page.Find(`[name="retired"]`).Length() > 0 {
			t.Errorf("%s/new asks whether the new one is out of use", path)
		}
	}
	b.get("/molds/" + g.mold.ID)
	if b.page.Find(`[name="retired"]`).Length() != 1 {
		t.Error("a mold that there is can not be put out of use")
	}
}

func TestAnswerStandsBeforeTheQuestion(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	b.get("/promise?" + url.Values{
		"lines[0].design_id": {g.design.ID}, "lines[0].pieces": {"20"}, "needed_by": {w.today().AddDays(60).String()},
	}.Encode())
	b.wants(http.StatusOK, ".answer h2", "Yes")
	if n := b.page.Find("form.ask").Length(); n != 1 {
		t.Fatalf("the page has %d forms to ask, want 1", n)
	}
	if b.page.Find("form.ask").PrevAllFiltered(".answer").Length() == 0 && b.page.Find(".answer ~ section form.ask").Length() == 0 {
		t.Error("the form to ask stands before the answer, which a phone then does not show")
	}
}

func TestOrderNeedsACustomerAndSaysHow(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	b.get("/promise?" + url.Values{
		"lines[0].design_id": {g.design.ID}, "lines[0].pieces": {"20"}, "needed_by": {w.today().AddDays(60).String()},
	}.Encode())
	b.submit(`form[action="/promise/take"]`, url.Values{"accept": {"1"}, "title": {"Staff gifts"}})
	b.rejects("customer_id", "or write a new customer's name")
}

// TestRuleIsSetByATimeAndDays makes a rule without a cron line, and one that
// only a cron line can say.
func TestRuleIsSetByATimeAndDays(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	b.get("/rules/new")
	if got := b.page.Find(`[name="at"]`).AttrOr("value", ""); got != "18:00" {
		t.Errorf("a new rule looks at %q, want 18:00", got)
	}
	b.submit("form.sheet", url.Values{"name": {"Weekday mornings"}, "at": {"07:30"}, "days": {"1-5"}})
	b.wants(http.StatusOK, ".list", "Weekday mornings")
	rule := func() orders.ReminderRule {
		t.Helper()
		page, err := w.book.Rules.List(t.Context(), a, orders.ListQuery{})
		w.must(err)
		return page.Items[len(page.Items)-1]
	}
	if got := rule().Cron; got != "30 7 * * 1-5" {
		t.Fatalf("the rule's line is %q", got)
	}
	address := "/rules/" + rule().ID
	b.get(address)
	if at, days := b.page.Find(`[name="at"]`).AttrOr("value", ""), b.page.Find(`[name="days"] option[selected]`).AttrOr("value", ""); at != "07:30" || days != "1-5" {
		t.Errorf("the form shows %s on %s", at, days)
	}
	b.submit("form.sheet", url.Values{"cron": {"0 6 1 * *"}})
	b.wants(http.StatusOK, ".list", "Weekday mornings")
	if got := rule().Cron; got != "0 6 1 * *" {
		t.Errorf("the rule's line is %q", got)
	}
	b.get(address)
	if got := b.page.Find(`[name="cron"]`).AttrOr("value", ""); got != "0 6 1 * *" {
		t.Errorf("the form shows the line %q", got)
	}
	b.submit("form.sheet", url.Values{"cron": {""}, "at": {""}})
	b.rejects("at", "is empty")
}

// TestACutThatCanNotBeInTimeIsTold moves a pour so that its time to be cut
// holds no working hour, and then lets that time pass.
func TestACutThatCanNotBeInTimeIsTold(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 90)
	planned := w.batch(a, orders.BatchPlanned)
	path := "/batches/" + planned.ID
	b.get(path)
	b.wants(http.StatusOK, ".facts", "Likely sound")
	if b.page.Find("main .flash").Length() > 0 {
		t.Errorf("a batch not yet poured already warns: %s", b.text(".flash"))
	}
	// Sunday noon: its 18 to 48 hours end before Tuesday evening begins.
	w.now = w.at(planned.Make.From, time.Sunday)
	b.get(path)
	b.submit(`form[action$="/pour"]`, nil)
	b.get(path)
	b.wants(http.StatusOK, ".flash.warn", "No working hour is left in its time to be cut")
	b.get("/today") // though it is planned for a day after tomorrow
	b.wants(http.StatusOK, ".task .flash.warn", "No working hour is left in its time to be cut")
	w.now = w.now.Add(49 * time.Hour)
	b.get(path)
	b.wants(http.StatusOK, ".flash.warn", "Cut it as soon as you can")
	b.get("/today")
	b.wants(http.StatusOK, ".task .flash.warn", "Mind the cut")
	b.submit(`.task form[action$="/cut"]`, nil)
	b.wants(http.StatusOK, ".donelist", "Cut Oat and honey, OAT-")
}

// at is noon on the first such weekday from t on.
func (w *world) at(t time.Time, day time.Weekday) time.Time {
	local := t.In(w.zone)
	noon := time.Date(local.Year(), local.Month(), local.Day(), 12, 0, 0, 0, w.zone)
	return noon.AddDate(0, 0, (int(day)-int(noon.Weekday())+7)%7)
}
