package orders_test

import (
	"slices"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestWhatComesTooLateIsOrderedUnderItsOldEvent orders an oil, hears that it comes
// after the pour, and then in time after all: a calendar has one event of it throughout.
func TestWhatComesTooLateIsOrderedUnderItsOldEvent(t *testing.T) {
	t.Parallel()
	s := newShop(t, openStore(t))
	recipe, err := s.book.Recipes.Get(s.ctx, s.owner, s.design.RecipeID)
	s.must(err)
	oil, err := s.book.Ingredients.Get(s.ctx, s.owner, recipe.Parts[0].IngredientID)
	s.must(err)
	oil.LeadDays = 4
	_, err = s.book.Ingredients.Change(s.ctx, s.owner, oil)
	s.must(err)
	lots, err := s.book.Lots.List(s.ctx, s.owner, orders.ListQuery{Parent: oil.ID, Limit: 10})
	s.must(err)
	lots.Items[0].Left = 100 * calc.Gram
	_, err = s.book.Lots.Change(s.ctx, s.owner, lots.Items[0])
	s.must(err)
	s.take(s.wants(20, 60))
	b := s.batches(orders.BatchPlanned)[0]
	_, _, err = s.book.Pin(s.ctx, s.owner, b.ID, 0, true) // the pour stays, whatever comes when
	s.must(err)
	feed := s.feed(orders.FeedInput{Name: "Supplies", Kind: orders.FeedKind(orders.TaskSupplies)})
	events := func() (ids []string, sequence int) {
		t.Helper()
		got, _ := s.read(feed.Secret)
		for _, e := range got.Events {
			if strings.HasPrefix(e.Summary, "Order "+oil.Name) {
				ids, sequence = append(ids, e.UID), e.Sequence
			}
		}
		return ids, sequence
	}
	first, before := events()
	if len(first) != 1 {
		t.Fatalf("%d events to order the oil, want 1", len(first))
	}
	pour := b.Make.From
	p, err := s.book.Purchases.Create(s.ctx, s.owner, orders.Purchase{IngredientID: oil.ID, Quantity: 25 * calc.Kilogram, ArrivesOn: s.today().AddDays(1)})
	s.must(err)
	for _, days := range []int{30, 1, 40} {
		p.ArrivesOn = s.today().AddDays(days)
		p, err = s.book.Purchases.Change(s.ctx, s.owner, p)
		s.must(err)
		got, now := events()
		if !slices.Equal(got, first) || now <= before {
			t.Errorf("arriving in %d days, the events are %v at sequence %d, want %v after %d", days, got, now, first, before)
		}
		before = now
	}
	if at := s.batches(orders.BatchPlanned)[0].Make.From; !at.Equal(pour) {
		t.Errorf("the pour moved from %s to %s", pour, at)
	}
}
