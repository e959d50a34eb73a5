package pages_test

import (
	"net/http"
	"net/url"
	"slices"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// TestHoursUntilMidnightAreKept saves hours that end at midnight as the page shows
// them: an input for a time of day has no 24:00, and would send nothing.
func TestHoursUntilMidnightAreKept(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	shop, err := w.book.Workshop(t.Context(), a)
	w.must(err)
	shop.Hours = []orders.Window{{Weekday: time.Friday, From: 20 * 60, To: civil.DayMinutes}}
	shop, err = w.book.ChangeWorkshop(t.Context(), a, shop)
	w.must(err)
	b.get("/hours")
	if to, _ := b.page.Find(`[name="hours[0].to"]`).Attr("value"); to != "00:00" {
		t.Errorf("the end of the hours is drawn as %q, want 00:00", to)
	}
	b.submit(`form[action="/hours"]`, nil)
	b.wants(http.StatusOK, "main", "Friday")
	saved, err := w.book.Workshop(t.Context(), a)
	w.must(err)
	if len(saved.Hours) != 1 || saved.Hours[0].From != shop.Hours[0].From || saved.Hours[0].To != civil.DayMinutes {
		t.Errorf("saved as they were shown, the hours became %v", saved.Hours)
	}
	b.get("/extra-hours/new")
	b.submit(`form[action="/extra-hours/new"]`, url.Values{"from": {"22:00"}, "to": {"00:00"}})
	extra, err := w.book.Extras.List(t.Context(), a, orders.ListQuery{})
	w.must(err)
	if !slices.ContainsFunc(extra.Items, func(e orders.ExtraWindow) bool { return e.To == civil.DayMinutes }) {
		t.Errorf("extra hours until midnight are kept as %v; the page: %s", extra.Items, b.text("main"))
	}
}
