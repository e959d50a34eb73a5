package demo_test

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"os"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/orders/demo"
	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
	"ripeline/schedule"
	"ripeline/schedule/plancheck"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

func open(t *testing.T) *postgres.Store {
	t.Helper()
	quiet := slog.New(slog.DiscardHandler)
	db := pgtest.New(t, func(ctx context.Context, url string) error { return postgres.Migrate(ctx, url, quiet) })
	store, err := postgres.Open(t.Context(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	return store
}

// TestTheDemoIsWorthLookingAt makes the demo on days of every kind (a working
// day, a day off, the eve of a clock change) and holds its plan against the
// independent checker.
func TestTheDemoIsWorthLookingAt(t *testing.T) {
	t.Parallel()
	for _, day := range []string{"2026-11-25T12:00:00Z", "2026-11-28T08:30:00Z", "2027-03-27T22:00:00Z", "2027-10-30T23:30:00Z"} {
		t.Run(day[:10], func(t *testing.T) {
			t.Parallel()
			now, err := time.Parse(time.RFC3339, day)
			if err != nil {
				t.Fatal(err)
			}
			lookAt(t, now)
		})
	}
}

func lookAt(t *testing.T, now time.Time) {
	store := open(t)
	login := demo.Login{Email: "ines@quay.example", Password: "ten letters or more"}
	var steps int
	if err := demo.Ensure(t.Context(), store, now, login, func(string) { steps++ }); err != nil {
		t.Fatal(err)
	}
	if err := demo.Ensure(t.Context(), store, now, login, func(string) { t.Error("the demo was made twice") }); err != nil || steps == 0 {
		t.Fatalf("second making: %v after %d steps", err, steps)
	}
	book := orders.NewBook(store, func() time.Time { return now })
	_, owner, err := book.SignIn(t.Context(), login.Email, login.Password, "192.0.2.1")
	if err != nil {
		t.Fatal(err)
	}
	problem, err := book.Problem(t.Context(), owner)
	if err != nil {
		t.Fatal(err)
	}
	checkPlans(t, problem)
	checkProposals(t, book, owner, problem)
	checkWeighings(t, book, owner)
}

// checkWeighings wants what the demo's scale showed to fit the pieces of its
// molds, and to dry as soap does: 8 to 15 % in the cure (common practice).
func checkWeighings(t *testing.T, book *orders.Book, owner orders.Actor) {
	t.Helper()
	page, err := book.Batches(t.Context(), owner, orders.ListQuery{Limit: 200})
	if err != nil || page.Next != "" {
		t.Fatalf("batches: %v, more %q", err, page.Next)
	}
	weighed, fitted := 0, 0
	for _, b := range page.Items {
		sheet, err := book.Sheet(t.Context(), owner, b.ID)
		if err != nil || sheet.Cure.Fresh == nil {
			t.Fatalf("sheet of %s: %v %s", b.Lot, err, sheet.Trouble)
		}
		for _, w := range sheet.Cure.Weighings {
			weighed++
			checkWeighing(t, b.Lot, w, *sheet.Cure.Fresh)
		}
		if c := sheet.Cure.Curve; c != nil && !c.Few && !c.Flat {
			fitted++
			if lost := calc.ShareOf(c.Start-c.AtTarget, c.Start); lost < 8*calc.Percent || lost > 15*calc.Percent {
				t.Errorf("%s: its curve loses %s in the wished cure", b.Lot, lost)
			}
		}
	}
	if weighed == 0 || fitted == 0 {
		t.Errorf("%d weighings and %d curves to look at", weighed, fitted)
	}
}

func checkWeighing(t *testing.T, lot string, w orders.SheetWeighing, fresh orders.FreshPiece) {
	t.Helper()
	low, high := fresh.Least-(15*calc.Percent).Of(fresh.Least), fresh.Most+calc.Percent.Of(fresh.Most)
	if w.Day < 1 {
		low = fresh.Least - calc.Percent.Of(fresh.Least)
	}
	if w.Each < low || w.Each > high {
		t.Errorf("%s: %s a piece on day %.0f, want %s to %s by its molds", lot, w.Each, w.Day, low, high)
	}
}

// checkPlans solves the demo's book twice: feasible, and the same both times.
func checkPlans(t *testing.T, p *schedule.Problem) {
	t.Helper()
	var written [2]bytes.Buffer
	for i := range written {
		plan, err := schedule.Solve(t.Context(), p)
		if err != nil {
			t.Fatal(err)
		}
		for _, wrong := range plancheck.Check(p, plan) {
			t.Error(wrong)
		}
		if err := schedule.WritePlan(&written[i], p, plan); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(written[0].Bytes(), written[1].Bytes()) {
		t.Error("two runs gave two plans")
	}
}

// checkProposals wants several different ways out of the demo's failure, each
// feasible.
func checkProposals(t *testing.T, book *orders.Book, owner orders.Actor, p *schedule.Problem) {
	t.Helper()
	open, err := book.Proposals(t.Context(), owner)
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[schedule.ProposalKind]bool{}
	for _, way := range open {
		kinds[way.Kind] = true
		for _, wrong := range plancheck.Check(p, way.Plan) {
			t.Errorf("proposal %q: %s", way.Title, wrong)
		}
	}
	if len(kinds) < 3 {
		t.Errorf("the demo's failure has the ways out %v; a visitor should see at least three kinds", kinds)
	}
}

// TestAnInterruptedDemoIsMadeAnew stops the making half-way.
func TestAnInterruptedDemoIsMadeAnew(t *testing.T) {
	t.Parallel()
	store := open(t)
	login := demo.Login{Email: "ines@quay.example", Password: "ten letters or more"}
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	ctx, cancel := context.WithCancel(t.Context())
	err := demo.Ensure(ctx, store, now, login, func(step string) {
		if step == "five weeks of work" {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("stopped half-way: %v", err)
	}
	if err := demo.Ensure(t.Context(), store, now, login, func(string) {}); err != nil {
		t.Fatalf("made anew: %v", err)
	}
	book := orders.NewBook(store, func() time.Time { return now })
	_, owner, err := book.SignIn(t.Context(), login.Email, login.Password, "192.0.2.1")
	if err != nil {
		t.Fatal(err)
	}
	if page, err := book.Orders(t.Context(), owner, orders.ListQuery{Limit: 100}); err != nil || len(page.Items) < 6 {
		t.Fatalf("orders of the demo: %d, %v", len(page.Items), err)
	}
}

// dying is a store whose program is killed after so many transactions.
type dying struct {
	orders.Store
	left int
}

var errKilled = errors.New("killed")

func (d *dying) System(ctx context.Context, fn func(orders.SystemTx) error) error {
	if d.left--; d.left < 0 {
		return errKilled
	}
	return d.Store.System(ctx, fn)
}

func (d *dying) Write(ctx context.Context, workshop string, fn func(orders.Tx) error) error {
	if d.left--; d.left < 0 {
		return errKilled
	}
	return d.Store.Write(ctx, workshop, fn)
}

// TestADemoKilledAtItsBeginningIsMadeAnew kills the making right after its workshop is
// there: whether or not anything was put into it, the next start must know it as begun.
func TestADemoKilledAtItsBeginningIsMadeAnew(t *testing.T) {
	t.Parallel()
	store := open(t)
	login := demo.Login{Email: "ines@quay.example", Password: "ten letters or more"}
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	if err := demo.Ensure(t.Context(), &dying{store, 2}, now, login, func(string) {}); !errors.Is(err, errKilled) {
		t.Fatalf("killed once the workshop was there: %v", err)
	}
	// The same again, so that nothing is filled: what was begun went away, and stays known.
	if err := demo.Ensure(t.Context(), &dying{store, 2}, now, login, func(string) {}); !errors.Is(err, errKilled) {
		t.Fatalf("the next start: %v", err)
	}
	err := store.System(t.Context(), func(tx orders.SystemTx) error {
		if n, err := tx.CountWorkshops(t.Context()); err != nil || n != 1 {
			t.Errorf("%d workshops, %v", n, err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
