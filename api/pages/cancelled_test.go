package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ripeline/orders"
)

// TestCancelledBatchWasPouredAllTheSame says so on its page, where its next step then is.
func TestCancelledBatchWasPouredAllTheSame(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 75)
	batch := w.batch(a, orders.BatchPlanned)
	mold := g.mold
	mold.Retired = true
	_, err := w.book.Molds.Change(t.Context(), a, mold)
	w.must(err)
	w.now = batch.Make.To
	b.get("/batches/" + batch.ID)
	b.submit(`form[action$="/pour"]`, nil)
	b.wants(http.StatusOK, ".flash", "had left the plan")
	b.get("/batches/" + batch.ID)
	b.wants(http.StatusOK, "main", "Next: cut it")
}

// TestCancelledBatchWasNeverPoured looks at a batch before its pour, after it, and at
// one that was cancelled with its order.
func TestCancelledBatchWasNeverPoured(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 75)
	batch := w.batch(a, orders.BatchPlanned)
	mold := g.mold
	mold.Retired = true
	mold, err := w.book.Molds.Change(t.Context(), a, mold)
	w.must(err)
	b.get("/batches/" + batch.ID)
	b.wants(http.StatusOK, "main", "Cancelled")
	if said := b.text(".facts"); strings.Contains(said, "oured") || strings.Contains(said, "Sound") {
		t.Errorf("of a cancelled batch the page says %q", said)
	}
	b.get("/batches/" + batch.ID + "/sheet")
	if b.page.Find(".work button").Length() > 0 {
		t.Error("the sheet of a cancelled batch asks for ticks")
	}
	b.get("/trace?" + url.Values{"lot": {batch.Lot}}.Encode())
	b.wants(http.StatusOK, "main", "Cancelled, never poured")

	mold.Retired = false
	_, err = w.book.Molds.Change(t.Context(), a, mold)
	w.must(err)
	batch = w.batch(a, orders.BatchPlanned)
	w.now = batch.Make.To
	_, _, err = w.book.Pour(t.Context(), a, batch.ID, 0, orders.PourFact{})
	w.must(err)
	b.get("/batches/" + batch.ID)
	b.wants(http.StatusOK, ".facts", "Likely sound")
}
