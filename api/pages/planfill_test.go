package pages_test

import (
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"ripeline/schedule/civil"
)

// TestPlanFillsMoldsWithBatchesThatAreNotDrawn plans more batches than the page draws:
// the molds of the last one are in use all the same.
func TestPlanFillsMoldsWithBatchesThatAreNotDrawn(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	w.order(a, g, 1500, 190)
	plan, err := w.book.Plan(t.Context(), a)
	w.must(err)
	b.get("/plan")
	b.wants(http.StatusOK, "main", "later ones are not shown here")
	last := plan.Batches[len(plan.Batches)-1]
	const dayWidth, daysBefore = 16, 3 // of the grid
	x := dayWidth * (civil.Of(last.Make.From.In(w.zone)).Sub(w.today()) + daysBefore)
	inUse := b.page.Find("rect.fill").FilterFunction(func(_ int, bar *goquery.Selection) bool {
		from, _ := strconv.Atoi(bar.AttrOr("x", ""))
		width, _ := strconv.Atoi(bar.AttrOr("width", ""))
		return from <= x && x < from+width && strings.Contains(bar.Find("title").Text(), "of 2 in use")
	})
	if inUse.Length() != 1 {
		t.Errorf("%d bars say that a mold is in use on the day %s is poured, want 1", inUse.Length(), last.Lot)
	}
}
