package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ripeline/orders"
)

// TestLossThatNothingMendsIsNotCalledHarmless loses a batch whose design has no mold
// any more: no way out can be offered, and its order stays short.
func TestLossThatNothingMendsIsNotCalledHarmless(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 75)
	batch := w.batch(a, orders.BatchPlanned)
	w.now = batch.Make.To
	_, _, err := w.book.Pour(t.Context(), a, batch.ID, 0, orders.PourFact{})
	w.must(err)
	mold := g.mold
	mold.Retired = true
	_, err = w.book.Molds.Change(t.Context(), a, mold)
	w.must(err)
	b.get("/batches/" + batch.ID + "/wrong")
	b.submit(`form[action$="/wrong"]`, url.Values{"extent": {"all"}, "reason": {"Seized in the pot"}})
	b.wants(http.StatusOK, ".flash", batch.Lot)
	if said := b.text(".flash"); strings.Contains(said, "No order") || !strings.Contains(said, "1 order is short or late") {
		t.Errorf("of a loss that leaves an order short the page says %q", said)
	}
}
