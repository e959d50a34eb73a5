package orders_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
	"ripeline/schedule/plancheck"
)

// shop is an invented workshop with a clock that tests move: two loaf molds, a
// rack, one design of 24 bars a loaf, and a customer.
type shop struct {
	t        testing.TB
	ctx      context.Context
	book     *orders.Book
	owner    orders.Actor
	now      time.Time
	zone     *time.Location
	mold     orders.Mold
	design   orders.Design
	customer orders.Customer
}

// wednesday is when every shop opens: 2026-11-25, 12:00 in Lisbon.
var wednesday = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)

func newShop(t testing.TB, store orders.Store) *shop {
	t.Helper()
	return furnished(t, store, false)
}

// furnished is a shop that may be marked as the demo.
func furnished(t testing.TB, store orders.Store, demo bool) *shop {
	t.Helper()
	zone, err := civil.LoadZone("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	s := &shop{t: t, ctx: context.Background(), now: wednesday, zone: zone}
	s.book = orders.NewBook(store, func() time.Time { return s.now })
	s.owner, err = s.book.AddWorkshop(s.ctx, orders.Setup{
		Workshop: "Tideline", Name: "Inês", Email: uuid.NewString() + "@example.org", Password: "a long enough secret", Zone: "Europe/Lisbon", Demo: demo,
	})
	s.must(err)
	s.stock()
	return s
}

// stock gives the shop its molds, rack, design and customer.
func (s *shop) stock() {
	s.t.Helper()
	var err error
	s.mold, err = s.book.Molds.Create(s.ctx, s.owner, orders.Mold{
		Name: "Long loaf", Kind: calc.MoldLoaf, Length: 600 * calc.Millimetre, Width: 90 * calc.Millimetre, Depth: 65 * calc.Millimetre,
		Count: 2, MinFill: 50 * calc.Percent,
	})
	s.must(err)
	_, err = s.book.Racks.Create(s.ctx, s.owner, orders.Rack{Name: "Rack", Width: 1200 * calc.Millimetre, Depth: 600 * calc.Millimetre, Shelves: 6})
	s.must(err)
	s.design = s.newDesign("Oat and honey", "OAT", func(*orders.Recipe) {})
	s.customer, err = s.book.Customers.Create(s.ctx, s.owner, orders.Customer{Name: "Guesthouse Maré"})
	s.must(err)
}

// newDesign adds a recipe of one oil on the shelf and a design of it.
func (s *shop) newDesign(name, lot string, alter func(*orders.Recipe)) orders.Design {
	s.t.Helper()
	oil, err := s.book.Ingredients.Create(s.ctx, s.owner, orders.Ingredient{
		Name: "Oil for " + name, Kind: orders.KindOil, SVUsed: 190, Density: 0.91, OnHand: 500 * calc.Kilogram,
	})
	s.must(err)
	recipe := orders.Recipe{
		Name: name, Parts: []orders.RecipePart{{IngredientID: oil.ID, Share: calc.Whole}},
		Superfat: 5 * calc.Percent, LyePurity: 99 * calc.Percent, LyeConcentration: 33 * calc.Percent,
		CutMin: 18, CutMax: 48, CureMin: 28, CureTarget: 28,
		MakeFixed: 90, CutFixed: 20, WrapFixed: 20, WrapPer: 60,
	}
	alter(&recipe)
	recipe, err = s.book.Recipes.Create(s.ctx, s.owner, recipe)
	s.must(err)
	design, err := s.book.Designs.Create(s.ctx, s.owner, orders.Design{
		Name: name, LotCode: lot, RecipeID: recipe.ID, MoldIDs: []string{s.mold.ID}, Spoil: 4 * calc.Percent,
		Cut: orders.CutPlan{Thickness: 25 * calc.Millimetre, PiecesPerSlice: 1, Spacing: 10 * calc.Millimetre},
	})
	s.must(err)
	return design
}

func (s *shop) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

func (s *shop) today() civil.Date { return civil.Of(s.now.In(s.zone)) }

// wants is an order for pieces of the shop's design in so many days.
func (s *shop) wants(pieces, days int) orders.OrderInput {
	return orders.OrderInput{
		CustomerID: s.customer.ID, Title: fmt.Sprintf("%d bars in %d days", pieces, days), NeededBy: s.today().AddDays(days),
		Lines: []orders.OrderLine{{DesignID: s.design.ID, Pieces: pieces}},
	}
}

func (s *shop) take(in orders.OrderInput) (orders.Order, orders.PlanChange) {
	s.t.Helper()
	o, change, err := s.book.TakeOrder(s.ctx, s.owner, in, true)
	s.must(err)
	return o, change
}

func (s *shop) plan() orders.PlanView {
	s.t.Helper()
	v, err := s.book.Plan(s.ctx, s.owner)
	s.must(err)
	return v
}

// batches lists the batches of a state by make time.
func (s *shop) batches(state orders.BatchState) []orders.Batch {
	s.t.Helper()
	page, err := s.book.Batches(s.ctx, s.owner, orders.ListQuery{Status: string(state), Limit: 200})
	s.must(err)
	return page.Items
}

func (s *shop) tasks() map[string]orders.Task {
	s.t.Helper()
	all, err := s.book.Tasks(s.ctx, s.owner, civil.Date{Year: 2026, Month: 1, Day: 1})
	s.must(err)
	out := make(map[string]orders.Task, len(all))
	for _, t := range all {
		out[t.ID] = t
	}
	return out
}

// task finds the one task of a batch that is not cancelled.
func (s *shop) task(kind orders.TaskKind, batchID string) orders.Task {
	s.t.Helper()
	var found []orders.Task
	for _, t := range s.tasks() {
		if t.Kind == kind && t.BatchID == batchID && t.Part == 0 && t.Status != orders.TaskCancelled {
			found = append(found, t)
		}
	}
	if len(found) != 1 {
		s.t.Fatalf("%d tasks %s of batch %s, want 1", len(found), kind, batchID)
	}
	return found[0]
}

// sound checks that the book as it stands can be planned without breaking a
// rule and that its pieces add up; with settled, also that the published plan
// is what the planner would publish now.
func (s *shop) sound(settled bool) {
	s.t.Helper()
	p, err := s.book.Problem(s.ctx, s.owner)
	s.must(err)
	plan, err := schedule.Solve(s.ctx, p)
	s.must(err)
	for _, wrong := range plancheck.Check(p, plan) {
		s.t.Errorf("plan: %s", wrong)
	}
	if diff := schedule.DiffPublished(p, plan); settled && len(diff.Moves)+len(diff.Added)+len(diff.Dropped) > 0 {
		s.t.Errorf("the published plan is not what would be published: %+v", diff)
	}
	s.conserved()
}

// conserved checks that nobody is given pieces that are not there.
func (s *shop) conserved() {
	s.t.Helper()
	all, err := s.book.Allocations(s.ctx, s.owner)
	s.must(err)
	from, to := make(map[string]int), make(map[string]int)
	for _, a := range all {
		from[a.BatchID+a.StockID] += a.Pieces
		to[a.LineID] += a.Pieces
	}
	for _, state := range []orders.BatchState{orders.BatchPlanned, orders.BatchPoured, orders.BatchCuring} {
		for _, b := range s.batches(state) {
			s.covers(b.Lot, b.Sound, from, b.ID)
			if b.Sound > b.Pieces {
				s.t.Errorf("%s has %d sound of %d pieces", b.Lot, b.Sound, b.Pieces)
			}
		}
	}
	stocks, err := s.book.Stock.List(s.ctx, s.owner, orders.ListQuery{Limit: 200})
	s.must(err)
	for _, k := range stocks.Items {
		s.covers("stock "+k.Note, k.Pieces, from, k.ID)
	}
	if len(from) > 0 {
		s.t.Errorf("pieces are given from sources that have none: %v", from)
	}
	list, err := s.book.Orders(s.ctx, s.owner, orders.ListQuery{Status: string(orders.Accepted), Limit: 200})
	s.must(err)
	for _, o := range list.Items {
		for _, l := range o.Lines {
			s.covers(o.Title, l.Total(), to, l.ID)
		}
	}
	if len(to) > 0 {
		s.t.Errorf("pieces are given to lines of no accepted order: %v", to)
	}
}

func (s *shop) covers(what string, has int, used map[string]int, id string) {
	s.t.Helper()
	if used[id] > has {
		s.t.Errorf("%s: %d pieces are given, there are %d", what, used[id], has)
	}
	delete(used, id)
}

// invalidAt checks that err names the field.
func invalidAt(t testing.TB, err error, field string) {
	t.Helper()
	var invalid *orders.Invalid
	if !errors.As(err, &invalid) {
		t.Fatalf("error is %v, want an invalid field %s", err, field)
	}
	for _, f := range invalid.Fields {
		if f.Field == field && f.Message != "" {
			return
		}
	}
	t.Errorf("invalid fields are %v, want %s", invalid.Fields, field)
}

func contains(text, part string) bool { return strings.Contains(text, part) }
