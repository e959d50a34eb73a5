package postgres_test

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// record is how one kind of record is tried.
type record[T any] struct {
	table  func(orders.Tx) orders.Table[T]
	meta   func(*T) *orders.Meta
	sample func(*world) T
	change func(*T)
}

// try stores a record with every field set, reads it, changes it and deletes
// it, and wants stale changes refused.
func (r record[T]) try(t *testing.T, s *postgres.Store, w *world) {
	ctx := t.Context()
	rec := r.sample(w)
	if missing := unset(reflect.TypeFor[T]().Name(), reflect.ValueOf(rec)); len(missing) > 0 {
		t.Fatalf("the sample leaves out %v", missing)
	}
	write(t, s, w.ID, func(tx orders.Tx) error { return r.table(tx).Insert(ctx, &rec) })
	if m := r.meta(&rec); m.ID == "" || m.Version != 1 || m.CreatedAt.IsZero() || !m.ChangedAt.Equal(m.CreatedAt) {
		t.Errorf("new record has %+v", *m)
	}
	r.wantStored(t, s, w, rec)

	changed := rec
	r.change(&changed)
	write(t, s, w.ID, func(tx orders.Tx) error { return r.table(tx).Update(ctx, &changed) })
	if m := r.meta(&changed); m.Version != 2 || !m.CreatedAt.Equal(r.meta(&rec).CreatedAt) {
		t.Errorf("changed record has %+v", *m)
	}
	r.wantStored(t, s, w, changed)
	r.wantGuarded(t, s, w, rec)

	id := r.meta(&rec).ID
	write(t, s, w.ID, func(tx orders.Tx) error { return r.table(tx).Delete(ctx, id, 2) })
	read(t, s, w.ID, func(tx orders.Tx) error {
		if _, err := r.table(tx).Get(ctx, id); !errors.Is(err, orders.ErrNotFound) {
			t.Errorf("after Delete: %v, want ErrNotFound", err)
		}
		return nil
	})
}

// wantStored wants the record read back by Get and List as it is.
func (r record[T]) wantStored(t *testing.T, s *postgres.Store, w *world, want T) {
	t.Helper()
	read(t, s, w.ID, func(tx orders.Tx) error {
		got, err := r.table(tx).Get(t.Context(), r.meta(&want).ID)
		if err != nil {
			return err
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("Get:\n got %+v\nwant %+v", got, want)
		}
		page, err := r.table(tx).List(t.Context(), orders.ListQuery{All: true, Limit: 200})
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(page.Items, func(one T) bool { return reflect.DeepEqual(one, want) }) {
			t.Errorf("List lacks the record: %+v", page.Items)
		}
		return nil
	})
}

// wantGuarded wants what can not be done refused: old is an older version.
func (r record[T]) wantGuarded(t *testing.T, s *postgres.Store, w *world, old T) {
	t.Helper()
	unknown := old
	r.meta(&unknown).ID = "0190a0a0-0000-7000-8000-000000000000"
	malformed := old
	r.meta(&malformed).ID = "17"
	for _, c := range []struct {
		name string
		do   func(context.Context, orders.Table[T]) error
		want error
	}{
		{"stale update", func(ctx context.Context, tb orders.Table[T]) error { return tb.Update(ctx, &old) }, orders.ErrConflict},
		{"stale delete", func(ctx context.Context, tb orders.Table[T]) error { return tb.Delete(ctx, r.meta(&old).ID, 1) }, orders.ErrConflict},
		{"update of an unknown", func(ctx context.Context, tb orders.Table[T]) error { return tb.Update(ctx, &unknown) }, orders.ErrNotFound},
		{"update of no id", func(ctx context.Context, tb orders.Table[T]) error { return tb.Update(ctx, &malformed) }, orders.ErrNotFound},
		{"delete of an unknown", func(ctx context.Context, tb orders.Table[T]) error { return tb.Delete(ctx, r.meta(&unknown).ID, 1) }, orders.ErrNotFound},
		{"delete of no id", func(ctx context.Context, tb orders.Table[T]) error { return tb.Delete(ctx, "17", 1) }, orders.ErrNotFound},
		{"get of no id", func(ctx context.Context, tb orders.Table[T]) error { _, err := tb.Get(ctx, "17"); return err }, orders.ErrNotFound},
	} {
		err := s.Write(t.Context(), w.ID, func(tx orders.Tx) error { return c.do(t.Context(), r.table(tx)) })
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

func TestRecordsComeBackAsStored(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	t.Run("closed days", record[orders.ClosedDays]{
		orders.Tx.Closed, func(r *orders.ClosedDays) *orders.Meta { return &r.Meta },
		func(*world) orders.ClosedDays { return sampleClosed() }, func(r *orders.ClosedDays) { r.Reason = "ill" },
	}.on(s, w))
	t.Run("extra window", record[orders.ExtraWindow]{
		orders.Tx.Extras, func(r *orders.ExtraWindow) *orders.Meta { return &r.Meta },
		func(*world) orders.ExtraWindow { return sampleExtra() },
		func(r *orders.ExtraWindow) { r.Steps = []schedule.Step{} },
	}.on(s, w))
	t.Run("mold", record[orders.Mold]{
		orders.Tx.Molds, func(r *orders.Mold) *orders.Meta { return &r.Meta },
		func(*world) orders.Mold { return sampleMold() }, func(r *orders.Mold) { r.Count++ },
	}.on(s, w))
	t.Run("mold out", record[orders.MoldOut]{
		orders.Tx.MoldOuts, func(r *orders.MoldOut) *orders.Meta { return &r.Meta },
		func(w *world) orders.MoldOut { return sampleMoldOut(w.Mold.ID) }, func(r *orders.MoldOut) { r.Units++ },
	}.on(s, w))
	t.Run("rack", record[orders.Rack]{
		orders.Tx.Racks, func(r *orders.Rack) *orders.Meta { return &r.Meta },
		func(*world) orders.Rack { return sampleRack() }, func(r *orders.Rack) { r.Shelves++ },
	}.on(s, w))
	t.Run("ingredient", record[orders.Ingredient]{
		orders.Tx.Ingredients, func(r *orders.Ingredient) *orders.Meta { return &r.Meta },
		func(*world) orders.Ingredient { return sampleIngredient() },
		func(r *orders.Ingredient) { r.LeadDays = 0 },
	}.on(s, w))
	t.Run("lot", record[orders.Lot]{
		orders.Tx.Lots, func(r *orders.Lot) *orders.Meta { return &r.Meta },
		func(w *world) orders.Lot { return sampleLot(w.Ingredient.ID) },
		func(r *orders.Lot) { r.ExpiresOn, r.Left = civil.Date{}, 0 },
	}.on(s, w))
	t.Run("purchase", record[orders.Purchase]{
		orders.Tx.Purchases, func(r *orders.Purchase) *orders.Meta { return &r.Meta },
		func(w *world) orders.Purchase { return samplePurchase(w.Ingredient.ID, w.Lot.ID) },
		func(r *orders.Purchase) { r.LotID, r.OrderedOn, r.Quantity = "", civil.Date{}, 0 },
	}.on(s, w))
	t.Run("recipe", record[orders.Recipe]{
		orders.Tx.Recipes, func(r *orders.Recipe) *orders.Meta { return &r.Meta },
		func(w *world) orders.Recipe { return sampleRecipe(w.Ingredient.ID) },
		func(r *orders.Recipe) { r.Parts = []orders.RecipePart{} },
	}.on(s, w))
	t.Run("trial", record[orders.Trial]{
		orders.Tx.Trials, func(r *orders.Trial) *orders.Meta { return &r.Meta },
		func(w *world) orders.Trial { return sampleTrial(w.Recipe.ID, w.Ingredient.ID) },
		func(r *orders.Trial) { r.Verdict, r.FragranceIDs = orders.Fit, []string{} },
	}.on(s, w))
	t.Run("design", record[orders.Design]{
		orders.Tx.Designs, func(r *orders.Design) *orders.Meta { return &r.Meta },
		func(w *world) orders.Design { return sampleDesign(w.Recipe.ID, w.Mold.ID) },
		func(r *orders.Design) { r.MoldIDs, r.Colours = []string{}, []orders.Colour{} },
	}.on(s, w))
}

func TestOrdersComeBackAsStored(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	t.Run("customer", record[orders.Customer]{
		orders.Tx.Customers, func(r *orders.Customer) *orders.Meta { return &r.Meta },
		func(w *world) orders.Customer { c := w.Customer; c.Meta = orders.Meta{}; return c },
		func(r *orders.Customer) { r.Note = "" },
	}.on(s, w))
	t.Run("order", record[orders.Order]{
		orders.Tx.Orders, func(r *orders.Order) *orders.Meta { return &r.Meta },
		func(w *world) orders.Order {
			o := sampleOrder(2, w.Customer.ID, w.Design.ID)
			o.Lines[0].ID = "0190a0a0-0000-7000-8000-0000000000aa"
			return o
		},
		func(r *orders.Order) {
			more := orders.OrderLine{ID: "0190a0a0-0000-7000-8000-0000000000bb", DesignID: r.Lines[0].DesignID, Pieces: 5}
			r.Lines, r.Told = []orders.OrderLine{more, r.Lines[0]}, day(5, 21)
		},
	}.on(s, w))
	t.Run("batch", record[orders.Batch]{
		orders.Tx.Batches, func(r *orders.Batch) *orders.Meta { return &r.Meta },
		func(w *world) orders.Batch {
			b := sampleBatch("OAT-270301-2", w.Design.ID, w.Mold.ID)
			b.Uses = []orders.LotUse{{IngredientID: w.Ingredient.ID, LotID: w.Lot.ID, Mass: 700_000}, {IngredientID: w.Ingredient.ID, Mass: 5}}
			return b
		},
		func(r *orders.Batch) {
			r.State, r.CutAt, r.WrappedAt, r.EndedAt = orders.BatchPoured, time.Time{}, time.Time{}, time.Time{}
			r.Weighings, r.Wrap, r.CureUntil = []orders.Weighing{}, schedule.Interval{}, day(3, 30)
		},
	}.on(s, w))
	t.Run("stock", record[orders.Stock]{
		orders.Tx.Stocks, func(r *orders.Stock) *orders.Meta { return &r.Meta },
		func(w *world) orders.Stock { st := w.Stock; st.Meta = orders.Meta{}; return st },
		func(r *orders.Stock) { r.BatchID = "" },
	}.on(s, w))
}

func TestPeopleComeBackAsStored(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	t.Run("person", record[orders.Person]{
		orders.Tx.People, func(r *orders.Person) *orders.Meta { return &r.Meta },
		func(*world) orders.Person { p := samplePerson("second"); p.Retired = true; return p },
		func(r *orders.Person) { r.DigestAt, r.QuietTo = nil, minute(0) },
	}.on(s, w))
	t.Run("token", record[orders.APIToken]{
		orders.Tx.Tokens, func(r *orders.APIToken) *orders.Meta { return &r.Meta },
		func(w *world) orders.APIToken {
			return orders.APIToken{
				Name: "till", Scope: "write", PersonID: w.Owner.ID, Hash: hashOf("second"), UsedAt: noon(3, 1), ExpiresAt: noon(3, 5), RevokedAt: noon(3, 2),
			}
		},
		func(r *orders.APIToken) { r.RevokedAt = noon(3, 4) },
	}.on(s, w))
	t.Run("feed", record[orders.Feed]{
		orders.Tx.Feeds, func(r *orders.Feed) *orders.Meta { return &r.Meta },
		func(w *world) orders.Feed {
			return orders.Feed{
				Name: "for Greta", Kind: orders.FeedOrder, OrderID: w.Order.ID, Alarm: 30, Hash: hashOf("second"),
				UsedAt: noon(3, 1), RevokedAt: noon(3, 2),
			}
		},
		func(r *orders.Feed) { r.Kind, r.OrderID, r.Hash = orders.FeedAll, "", hashOf("third") },
	}.on(s, w))
	t.Run("rule", record[orders.ReminderRule]{
		orders.Tx.Rules, func(r *orders.ReminderRule) *orders.Meta { return &r.Meta },
		func(w *world) orders.ReminderRule { r := w.Rule; r.Meta = orders.Meta{}; return r },
		func(r *orders.ReminderRule) { r.Off = false },
	}.on(s, w))
}

// on is try as a subtest.
func (r record[T]) on(s *postgres.Store, w *world) func(*testing.T) {
	return func(t *testing.T) { r.try(t, s, w) }
}
