package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

// tx is a transaction within one workshop.
type tx struct {
	conn
	workshop string // its canonical id
}

var _ orders.Tx = (*tx)(nil)

// The tables of the transaction.

func (t *tx) Closed() orders.Table[orders.ClosedDays] {
	return table[orders.ClosedDays]{t, closedKind}
}

func (t *tx) Extras() orders.Table[orders.ExtraWindow] {
	return table[orders.ExtraWindow]{t, extraKind}
}
func (t *tx) Molds() orders.Table[orders.Mold]       { return table[orders.Mold]{t, moldKind} }
func (t *tx) MoldOuts() orders.Table[orders.MoldOut] { return table[orders.MoldOut]{t, moldOutKind} }
func (t *tx) Racks() orders.Table[orders.Rack]       { return table[orders.Rack]{t, rackKind} }
func (t *tx) Ingredients() orders.Table[orders.Ingredient] {
	return table[orders.Ingredient]{t, ingredientKind}
}
func (t *tx) Lots() orders.Table[orders.Lot] { return table[orders.Lot]{t, lotKind} }
func (t *tx) Purchases() orders.Table[orders.Purchase] {
	return table[orders.Purchase]{t, purchaseKind}
}
func (t *tx) Recipes() orders.Table[orders.Recipe] { return table[orders.Recipe]{t, recipeKind} }
func (t *tx) Designs() orders.Table[orders.Design] { return table[orders.Design]{t, designKind} }
func (t *tx) Trials() orders.Table[orders.Trial]   { return table[orders.Trial]{t, trialKind} }
func (t *tx) Customers() orders.Table[orders.Customer] {
	return table[orders.Customer]{t, customerKind}
}
func (t *tx) Orders() orders.Table[orders.Order]    { return table[orders.Order]{t, orderKind} }
func (t *tx) Batches() orders.Table[orders.Batch]   { return table[orders.Batch]{t, batchKind} }
func (t *tx) Stocks() orders.Table[orders.Stock]    { return table[orders.Stock]{t, stockKind} }
func (t *tx) People() orders.Table[orders.Person]   { return table[orders.Person]{t, personKind} }
func (t *tx) Tokens() orders.Table[orders.APIToken] { return table[orders.APIToken]{t, tokenKind} }
func (t *tx) Feeds() orders.Table[orders.Feed]      { return table[orders.Feed]{t, feedKind} }
func (t *tx) Rules() orders.Table[orders.ReminderRule] {
	return table[orders.ReminderRule]{t, ruleKind}
}

// workshopColumns are what can be changed of a workshop.
func workshopColumns(w *orders.Workshop) []column {
	return []column{
		{"name", &w.Name},
		{"zone", &w.Zone},
		{"units", &w.Units},
		{"currency", &w.Currency},
		{"locale", &w.Locale},
		{"hands", &w.Hands},
		{"firm_days", &w.FirmDays},
		{"hand_over_days", &w.HandOver},
		{"demo", &w.Demo},
		{"hourly_rate_minor", &w.HourlyRate},
		{"markup_ppm", &w.Markup},
		{"responsible_person", &w.Responsible},
		{"label_names", &orElse[orders.LabelNames]{&w.LabelNames, orders.AsAdded}},
		{"label_both_units", &w.LabelBoth},
		{"best_before_months", &w.BestBefore},
	}
}

// revisionColumns are counted by the transactions themselves.
func revisionColumns(w *orders.Workshop) []column {
	return []column{{"book_revision", &w.BookRevision}, {"plan_revision", &w.PlanRevision}}
}

func windowColumns(w *orders.Window) []column {
	return []column{{"weekday", &w.Weekday}, {"from_minute", &w.From}, {"to_minute", &w.To}, {"steps", &w.Steps}}
}

// queueWorkshop reads the workshop with its hours.
func queueWorkshop(b *pgx.Batch, id string, w *orders.Workshop) {
	columns := append(append(metaColumns(&w.Meta), workshopColumns(w)...), revisionColumns(w)...)
	b.Queue("SELECT "+names(columns)+" FROM workshops WHERE id = $1", id).QueryRow(func(row pgx.Row) error {
		return row.Scan(targets(columns)...)
	})
	sql := "SELECT " + names(windowColumns(new(orders.Window))) + " FROM hours WHERE workshop_id = $1 ORDER BY position"
	b.Queue(sql, id).Query(func(found pgx.Rows) error {
		var err error
		w.Hours, err = pgx.CollectRows(found, func(row pgx.CollectableRow) (orders.Window, error) {
			var h orders.Window
			err := row.Scan(targets(windowColumns(&h))...)
			return h, err
		})
		return err
	})
}

// Workshop implements orders.Tx.
func (t *tx) Workshop(ctx context.Context) (orders.Workshop, error) {
	var w orders.Workshop
	var b pgx.Batch
	queueWorkshop(&b, t.workshop, &w)
	if err := t.send(ctx, &b); err != nil {
		return orders.Workshop{}, fmt.Errorf("get workshop %s: %w", t.workshop, err)
	}
	return w, nil
}

// UpdateWorkshop implements orders.Tx.
func (t *tx) UpdateWorkshop(ctx context.Context, w *orders.Workshop) error {
	columns := workshopColumns(w)
	given, err := args([]any{t.workshop, w.Version}, columns)
	if err != nil {
		return err
	}
	back := append(metaColumns(&w.Meta), revisionColumns(w)...)
	sql := "UPDATE workshops SET version = version + 1, changed_at = " + now + ", " + assignments(3, columns) +
		" WHERE id = $1 AND version = $2 RETURNING " + names(back)
	err = t.one(ctx, sql, given, targets(back)...)
	if errors.Is(err, orders.ErrNotFound) {
		return stale("workshop") // it exists: the transaction began by finding it
	}
	if err == nil {
		err = saveHours(ctx, t.conn, t.workshop, w.Hours)
	}
	if err != nil {
		return fmt.Errorf("store workshop %s: %w", t.workshop, err)
	}
	return nil
}

// saveHours replaces the weekly hours of a workshop.
func saveHours(ctx context.Context, c conn, workshop string, hours []orders.Window) error {
	var b pgx.Batch
	b.Queue(`DELETE FROM hours WHERE workshop_id = $1`, workshop)
	for i := range hours {
		columns := windowColumns(&hours[i])
		given, err := args([]any{workshop, i}, columns)
		if err != nil {
			return err
		}
		b.Queue("INSERT INTO hours (workshop_id, position, "+names(columns)+") VALUES ($1, $2, "+placeholders(3, columns)+")", given...)
	}
	return c.send(ctx, &b)
}

// TouchBook implements orders.Tx. It leaves the workshop's Version alone, so
// that work going on does not disturb someone who edits the settings.
func (t *tx) TouchBook(ctx context.Context) (int, error) {
	var revision int
	err := t.one(ctx, `UPDATE workshops SET book_revision = book_revision + 1 WHERE id = $1 RETURNING book_revision`,
		[]any{t.workshop}, &revision)
	if err != nil {
		return 0, fmt.Errorf("raise the book's revision: %w", err)
	}
	return revision, nil
}

// ClearBook implements orders.Tx. What hangs on a deleted record goes with it.
// Reminders stay, so that none is sent twice, and so do rules and the feeds of
// the workshop itself.
func (t *tx) ClearBook(ctx context.Context) error {
	var b pgx.Batch
	for _, table := range []string{
		"tasks", "proposals", "plan_revisions", "allocations", "stocks", "batches", "lot_counters", "orders", "customers",
		"designs", "trials", "recipes", "purchases", "ingredient_lots", "ingredients", "molds", "racks", "closed_days", "extra_windows",
	} {
		b.Queue("DELETE FROM "+table+" WHERE workshop_id = $1", t.workshop)
	}
	b.Queue(`UPDATE workshops SET last_order_number = 0, book_revision = book_revision + 1 WHERE id = $1`, t.workshop)
	if err := t.send(ctx, &b); err != nil {
		return fmt.Errorf("clear the book of workshop %s: %w", t.workshop, err)
	}
	return nil
}
