package pages_test

import (
	"net/http"
	"testing"
	"time"

	"ripeline/orders"
)

// TestLaterThanTold looks at an order that is ready in time, but later than its
// customer was told, because its batch was cut late.
func TestLaterThanTold(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	o := w.order(a, g, 20, 60)
	page := "/orders/" + o.ID
	b.get(page)
	b.wants(http.StatusOK, "main", "Safe.")
	batch := w.poured(a)
	w.now = batch.Cut.To.Add(10 * 24 * time.Hour)
	_, _, err := w.book.Cut(t.Context(), a, batch.ID, batch.Version, orders.CutFact{})
	w.must(err)
	b.get(page)
	b.wants(http.StatusOK, "main", "Later than told")
	b.wants(http.StatusOK, "main", "Tell them.")
	b.get("/")
	b.wants(http.StatusOK, "main", "Later than told")
}
