package pages_test

import (
	"net/http"
	"testing"

	"ripeline/orders"
)

// TestTrialIsJudgedByTheOwner offers the button only to who may press it.
func TestTrialIsJudgedByTheOwner(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	r := g.recipe
	r.NeedsTrial, r.TrialMinutes = true, 45
	_, err := w.book.Recipes.Change(t.Context(), a, r)
	w.must(err)
	w.order(a, g, 20, 75)
	helper := w.colleague(a, orders.Helper)
	var trial orders.Task
	tasks, err := w.book.Tasks(t.Context(), a, w.today())
	w.must(err)
	for _, task := range tasks {
		if task.Kind == orders.TaskTrial {
			trial = task
		}
	}
	w.now = trial.From
	for who, may := range map[*browser]bool{b: true, helper: false} {
		who.get("/today")
		who.wants(http.StatusOK, "main", trial.Title)
		if there := who.page.Find(`form[action$="/trial"]`).Length() > 0; there != may {
			t.Errorf("may judge: %t, has the button: %t", may, there)
		}
	}
}
