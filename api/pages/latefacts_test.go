package pages_test

import (
	"net/http"
	"net/url"
	"testing"

	"ripeline/orders"
)

// TestFactsWrittenDownLate writes down weeks later that a batch was poured and cut:
// the page asks for nothing that is past.
func TestFactsWrittenDownLate(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 20, 90)
	batch := w.batch(a, orders.BatchPlanned)
	local := func(days int) string { return batch.Make.To.AddDate(0, 0, days).In(w.zone).Format("2006-01-02T15:04") }
	w.now = batch.Make.To.AddDate(0, 0, 40)
	b.get("/batches/" + batch.ID)
	b.submit(`form[action$="/pour"]`, url.Values{"at": {local(0)}})
	b.wants(http.StatusOK, "body", "Poured: "+batch.Lot+". Its time to be cut ended")
	b.get("/batches/" + batch.ID)
	b.submit(`form[action$="/cut"]`, url.Values{"at": {local(1)}})
	b.wants(http.StatusOK, "body", "Its shortest cure ended on")
}
