package pages_test

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"ripeline/orders"
)

// TestAStepOfTheSameMinuteIsTaken cuts a batch between two minutes and weighs it with
// the time that the page offers, which has no seconds.
func TestAStepOfTheSameMinuteIsTaken(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 60)
	batch := w.poured(a)
	w.now = batch.Cut.From.Add(48 * time.Second)
	_, _, err := w.book.Cut(t.Context(), a, batch.ID, batch.Version, orders.CutFact{})
	w.must(err)
	w.now = w.now.Add(7 * time.Second)
	b.get("/batches/" + batch.ID)
	b.submit(`form[action$="/weigh"]`, url.Values{"mass_mg": {"150"}})
	b.wants(http.StatusOK, "body", "Weighed: "+batch.Lot)
}
