package pages_test

import (
	"context"
	"log/slog"
	"net/http"
	"os"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/alexedwards/scs/v2/memstore"

	"ripeline/api"
	"ripeline/api/pages"
	"ripeline/calc"
	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
	"ripeline/schedule/civil"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

const (
	base     = "https://soap.example"
	password = "three plain words"
)

// world is the real service on a database of its own, with a clock that tests
// move. It opens on Wednesday 25 November 2026 at noon in Lisbon.
type world struct {
	t       testing.TB
	book    *orders.Book
	now     time.Time
	handler http.Handler
	zone    *time.Location
}

func newWorld(t testing.TB) *world {
	t.Helper()
	zone, err := civil.LoadZone("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	w := &world{t: t, now: time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC), zone: zone}
	db := pgtest.New(t, func(ctx context.Context, url string) error {
		return postgres.Migrate(ctx, url, slog.New(slog.DiscardHandler))
	})
	store, err := postgres.Open(t.Context(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	clock := func() time.Time { return w.now }
	w.book = orders.NewBook(store, clock)
	w.handler = serve(t, w.book, clock)
	return w
}

// serve is the whole surface with the pages in it, as the program wires it.
func serve(t testing.TB, book *orders.Book, clock func() time.Time) http.Handler {
	t.Helper()
	log := slog.New(slog.NewTextHandler(testLog{t}, &slog.HandlerOptions{Level: slog.LevelError}))
	sessions := scs.New()
	sessions.Store = memstore.NewWithCleanupInterval(0)
	h, err := pages.New(pages.Config{Book: book, Sessions: sessions, BaseURL: base, Now: clock, Version: "test", Log: log})
	if err != nil {
		t.Fatal(err)
	}
	whole, err := api.New(api.Config{Book: book, Sessions: sessions, Pages: h, BaseURL: base, Log: log, Now: clock, Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	return whole
}

// testLog shows what the service logs beside the test that made it.
type testLog struct{ t testing.TB }

func (l testLog) Write(p []byte) (int, error) {
	l.t.Logf("%s", p)
	return len(p), nil
}

func (w *world) must(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
}

// owner makes a workshop, and signs its owner in.
func (w *world) owner() (*browser, orders.Actor) {
	w.t.Helper()
	a, err := w.book.AddWorkshop(w.t.Context(), orders.Setup{
		Workshop: "Tideline", Name: "Inês", Email: "ines@example.org", Password: password, Zone: "Europe/Lisbon",
	})
	w.must(err)
	b := newBrowser(w)
	b.signIn("ines@example.org")
	return b, a
}

// colleague adds a person of a role, and signs them in.
func (w *world) colleague(owner orders.Actor, role orders.Role) *browser {
	w.t.Helper()
	email := string(role) + "@example.org"
	_, err := w.book.AddPerson(w.t.Context(), owner, orders.PersonInput{Name: "A " + string(role), Email: email, Role: role, Password: password})
	w.must(err)
	b := newBrowser(w)
	b.signIn(email)
	return b
}

// goods is what the workshop needs to plan.
type goods struct {
	mold     orders.Mold
	rack     orders.Rack
	oil      orders.Ingredient
	recipe   orders.Recipe
	design   orders.Design
	customer orders.Customer
}

// furnish gives the workshop two loaf molds, a rack, one design and a customer.
func (w *world) furnish(a orders.Actor) goods {
	w.t.Helper()
	ctx := w.t.Context()
	var g goods
	var err error
	g.mold, err = w.book.Molds.Create(ctx, a, orders.Mold{
		Name: "Long loaf", Kind: calc.MoldLoaf, Length: 600 * calc.Millimetre, Width: 90 * calc.Millimetre, Depth: 65 * calc.Millimetre,
		Count: 2, MinFill: 50 * calc.Percent, CleanMinutes: 30,
	})
	w.must(err)
	g.rack, err = w.book.Racks.Create(ctx, a, orders.Rack{Name: "Tall rack", Width: 1200 * calc.Millimetre, Depth: 600 * calc.Millimetre, Shelves: 6})
	w.must(err)
	g.oil, err = w.book.Ingredients.Create(ctx, a, orders.Ingredient{
		Name: "Rapeseed oil", Kind: orders.KindOil, SVLow: 182, SVUsed: 188, SVHigh: 193, Density: 0.915, OnHand: 50 * calc.Kilogram,
	})
	w.must(err)
	g.recipe, err = w.book.Recipes.Create(ctx, a, orders.Recipe{
		Name: "Oat base", Parts: []orders.RecipePart{{IngredientID: g.oil.ID, Share: calc.Whole}},
		Superfat: 6 * calc.Percent, LyePurity: 99 * calc.Percent, LyeConcentration: 33 * calc.Percent,
		CutMin: 18, CutMax: 48, CureMin: 28, CureTarget: 28, MakeFixed: 90, CutFixed: 20, WrapFixed: 20, WrapPer: 60, TrialMinutes: 45,
	})
	w.must(err)
	g.design, err = w.book.Designs.Create(ctx, a, orders.Design{
		Name: "Oat and honey", LotCode: "OAT", RecipeID: g.recipe.ID, MoldIDs: []string{g.mold.ID}, Spoil: 4 * calc.Percent,
		Colours: []orders.Colour{{Name: "Plain", Share: 70 * calc.Percent}, {Name: "Honey", Share: 30 * calc.Percent}},
		Cut:     orders.CutPlan{Thickness: 25 * calc.Millimetre, PiecesPerSlice: 1, Spacing: 10 * calc.Millimetre},
	})
	w.must(err)
	g.customer, err = w.book.Customers.Create(ctx, a, orders.Customer{Name: "Guesthouse Maré"})
	w.must(err)
	return g
}

func (w *world) today() civil.Date { return civil.Of(w.now.In(w.zone)) }

// order takes an accepted order for pieces in so many days.
func (w *world) order(a orders.Actor, g goods, pieces, days int) orders.Order {
	w.t.Helper()
	o, _, err := w.book.TakeOrder(w.t.Context(), a, orders.OrderInput{
		CustomerID: g.customer.ID, Title: "Midwinter market", NeededBy: w.today().AddDays(days),
		Lines: []orders.OrderLine{{DesignID: g.design.ID, Pieces: pieces}},
	}, true)
	w.must(err)
	return o
}

// batch is the first batch of a state.
func (w *world) batch(a orders.Actor, state orders.BatchState) orders.Batch {
	w.t.Helper()
	page, err := w.book.Batches(w.t.Context(), a, orders.ListQuery{Status: string(state)})
	w.must(err)
	if len(page.Items) == 0 {
		w.t.Fatalf("no batch is %s", state)
	}
	return page.Items[0]
}

// poured is the first planned batch, poured when it was to be.
func (w *world) poured(a orders.Actor) orders.Batch {
	w.t.Helper()
	b := w.batch(a, orders.BatchPlanned)
	w.now = b.Make.To
	b, _, err := w.book.Pour(w.t.Context(), a, b.ID, b.Version, orders.PourFact{})
	w.must(err)
	return b
}
