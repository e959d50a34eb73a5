package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ripeline/orders"
)

// TestFormSentTwiceIsTakenOnce weighs, and does a batch's next steps, with a second tap
// each time: it records nothing more, and tells of no conflict.
func TestFormSentTwiceIsTakenOnce(t *testing.T) {
	t.Parallel()
	w, b, a, _ := busyWorld(t)
	batch := w.batch(a, orders.BatchCuring)
	twice := func(path, selector string, values url.Values) {
		t.Helper()
		b.get(path)
		form := b.page.Find(selector).First()
		sent := formValues(form)
		for name, v := range values {
			sent[name] = v
		}
		for range 2 {
			b.post(form.AttrOr("action", ""), sent)
			b.wants(http.StatusOK, ".flash", batch.Lot)
		}
	}
	again := func() {
		t.Helper()
		var err error
		batch, err = w.book.Batch(t.Context(), a, batch.ID)
		w.must(err)
	}
	page := "/batches/" + batch.ID
	for n := 1; n <= 2; n++ { // the same once more, from the page as it is then, is another weighing
		twice(page, `form[action$="/weigh"]`, url.Values{"pieces": {"1"}, "mass_mg": {"120"}})
		if again(); len(batch.Weighings) != n {
			t.Fatalf("after %d weighings, each sent twice, the batch has %d", n, len(batch.Weighings))
		}
	}
	twice(page, `form[action$="/unweigh"]`, nil)
	if again(); len(batch.Weighings) != 1 {
		t.Errorf("one of two weighings, taken back with two taps, leaves %d", len(batch.Weighings))
	}
	twice("/batches/"+batch.ID+"/wrong", `form[action$="/wrong"]`, url.Values{"extent": {"some"}, "pieces": {"1"}, "reason": {"Dropped"}})
	if again(); len(batch.Losses) != 2 { // the one at the cut, and this one
		t.Errorf("a loss sent twice makes %+v", batch.Losses)
	}
}

// TestEveryFormMayBeSentTwice sends each form that carries a version as it stands, and
// sends it again: what was done by the first is not called a conflict by the second.
func TestEveryFormMayBeSentTwice(t *testing.T) {
	t.Parallel()
	_, b, _, addresses := busyWorld(t)
	sent := map[string]bool{}
	stale := func() bool {
		return b.status == http.StatusConflict || b.status == http.StatusNotFound ||
			strings.Contains(b.body, "omeone changed this") || strings.Contains(b.body, "changed by someone else")
	}
	for _, path := range addresses {
		b.get(path)
		for i := range b.page.Find(`form[method="post"]`).Length() {
			if b.get(path); b.status != http.StatusOK {
				break // a form removed it
			}
			form := b.page.Find(`form[method="post"]`).Eq(i)
			action := form.AttrOr("action", "")
			if form.Find(`[name="version"]`).Length() == 0 || strings.HasPrefix(action, "/people") {
				continue // a person's form may change the password that the session stands on
			}
			values := filled(form)
			b.post(action, values)
			if b.status != http.StatusOK || stale() {
				continue
			}
			sent[action] = true
			if b.post(action, values); b.status != http.StatusOK || stale() {
				t.Errorf("%s on %s, sent again, answers %d: %.300s", action, path, b.status, b.text("main"))
			}
		}
	}
	if len(sent) < 12 {
		t.Errorf("only %d forms were sent twice: %v", len(sent), sent)
	}
}
