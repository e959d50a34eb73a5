package pages_test

import (
	"net/http"
	"slices"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule"
)

// TestNoSecondTryOnceItsTimeHasPassed looks at an order when a failed batch of it
// can not be made again any more, though nothing was planned anew since.
func TestNoSecondTryOnceItsTimeHasPassed(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	o := w.order(a, g, 20, 60)
	batch := w.poured(a)
	w.now = batch.Cut.To
	_, _, err := w.book.Cut(t.Context(), a, batch.ID, 0, orders.CutFact{})
	w.must(err)
	plan, err := w.book.Plan(t.Context(), a)
	w.must(err)
	at := slices.IndexFunc(plan.Outcomes, func(x schedule.OrderOutcome) bool { return x.OrderID == o.ID })
	b.get("/orders/" + o.ID)
	b.wants(http.StatusOK, "main", "A failed batch could still be poured again until")
	w.now = plan.Outcomes[at].RemakeBy.Add(time.Minute)
	b.get("/orders/" + o.ID)
	b.wants(http.StatusOK, "main", "If a batch fails now there is no time to pour it again.")
	b.get("/orders?status=" + string(orders.Accepted))
	b.wants(http.StatusOK, "main", "No second try")
	b.get("/")
	b.wants(http.StatusOK, "main", "No second try")
}
