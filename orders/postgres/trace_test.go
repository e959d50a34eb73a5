package postgres_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
)

func TestTraceStaysInTheWorkshop(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w, other := newWorld(t, s, "tideline"), newWorld(t, s, "saltgrass")
	read(t, s, w.ID, func(tx orders.Tx) error {
		for _, of := range []orders.TraceOf{{LotIDs: []string{w.Lot.ID}}, {BatchIDs: []string{w.Batch.ID}}, {OrderID: w.Order.ID}} {
			got, err := tx.Trace(t.Context(), of)
			if err != nil {
				return err
			}
			if len(got) != 1 || got[0].Lot != w.Batch.Lot || got[0].OnShelf != w.Stock.Pieces || len(got[0].Uses) != 1 || len(got[0].Lines) != 1 {
				t.Fatalf("trace of %+v: %+v", of, got)
			}
			use, line := got[0].Uses[0], got[0].Lines[0]
			if use.Code != w.Lot.Code || use.ExpiresOn != w.Lot.ExpiresOn || use.Mass != 700_000 || use.Ingredient != w.Ingredient.Name {
				t.Errorf("use %+v", use)
			}
			if line.OrderID != w.Order.ID || line.Customer != w.Customer.Name || line.Pieces != 4 || line.Keepsakes != 1 || line.Status != orders.Accepted {
				t.Errorf("line %+v", line)
			}
		}
		for _, of := range []orders.TraceOf{{LotIDs: []string{other.Lot.ID}}, {BatchIDs: []string{other.Batch.ID}}, {OrderID: other.Order.ID}, {LotIDs: []string{"17"}}, {}} {
			if got, err := tx.Trace(t.Context(), of); err != nil || len(got) != 0 {
				t.Errorf("trace of %+v finds %+v, %v", of, got, err)
			}
		}
		return nil
	})
}

// TestOlderBackupKeepsItsStock restores ingredients as they were before lots:
// what was on the shelf becomes a lot, what was on order a purchase.
func TestOlderBackupKeepsItsStock(t *testing.T) {
	t.Parallel()
	s := newStore(t)
	w := newWorld(t, s, "tideline")
	write(t, s, w.ID, func(tx orders.Tx) error {
		_, err := postgres.Raw(tx).Exec(t.Context(), `INSERT INTO ingredients SELECT (jsonb_populate_record(i,
			jsonb_build_object('id', gen_random_uuid(), 'name', 'Old stock', 'on_hand_mg', 7000, 'expected_on', '2027-05-01'))).* FROM ingredients i`)
		return err
	})
	read(t, s, w.ID, func(tx orders.Tx) error {
		page, err := tx.Ingredients().List(t.Context(), orders.ListQuery{All: true, Text: "Old stock"})
		if err != nil {
			return err
		}
		if i := page.Items[0]; i.OnHand != 7000 || i.Lots != 1 || i.ExpectedOn != day(5, 1) {
			t.Errorf("restored %+v", i)
		}
		lots, err := tx.Lots().List(t.Context(), orders.ListQuery{Parent: page.Items[0].ID})
		if err != nil || len(lots.Items) != 1 || lots.Items[0].Code != "" || lots.Items[0].Received != 7000 {
			t.Errorf("lots %+v, %v", lots.Items, err)
		}
		coming, err := tx.Purchases().List(t.Context(), orders.ListQuery{Parent: page.Items[0].ID})
		if err != nil || len(coming.Items) != 1 || coming.Items[0].Quantity != 0 {
			t.Errorf("on order %+v, %v", coming.Items, err)
		}
		return nil
	})
}

// The large book: ten years of work at a thousand batches a year. A batch takes
// of ten ingredients; a lot of an oil lasts for 20 batches, one of lye for 200.
const (
	largeBatches     = 10_000
	largeIngredients = 10
)

// largeBook fills a workshop with it, and returns the ids of a lot of oil, of a
// lot of lye, of a batch and of an order.
func largeBook(b *testing.B) (s *postgres.Store, w *world, oil, lye, batch, order string) {
	b.Helper()
	db := pgtest.New(b, migrate)
	s, err := postgres.Open(b.Context(), db.AppURL)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(s.Close)
	w = newWorld(b, s, "tideline")
	write(b, s, w.ID, func(tx orders.Tx) error {
		raw := postgres.Raw(tx)
		for _, sql := range largeBookSQL(w) {
			if _, err := raw.Exec(b.Context(), sql, w.ID); err != nil {
				return fmt.Errorf("%s: %w", sql, err)
			}
		}
		return raw.QueryRow(b.Context(), `SELECT (SELECT id::text FROM ingredient_lots WHERE workshop_id = $1 AND code = 'L-1-250'),
			(SELECT id::text FROM ingredient_lots WHERE workshop_id = $1 AND code = 'L-0-25'),
			(SELECT id::text FROM batches WHERE workshop_id = $1 AND lot = 'BIG-5000'),
			(SELECT id::text FROM orders WHERE workshop_id = $1 AND number = 5000)`, w.ID).Scan(&oil, &lye, &batch, &order)
	})
	analyze(b, db.OwnerURL)
	return s, w, oil, lye, batch, order
}

// largeBookSQL makes rows in the shape that the service writes: each batch was
// wrapped, and of its stock two order lines hold pieces.
func largeBookSQL(w *world) []string {
	series := func(n int) string { return fmt.Sprintf("generate_series(1, %d) AS n", n) }
	copyOf := func(table, from, with string) string {
		return "INSERT INTO " + table + " SELECT (jsonb_populate_record(t, jsonb_build_object(" + with + "))).* FROM " + table + " t, " + from
	}
	one := func(id string) string { return " WHERE t.workshop_id = $1 AND t.id = '" + id + "'" }
	id := func(kind, n string) string { return "md5('" + kind + "' || " + n + ")::uuid" }
	return []string{
		copyOf("customers", series(500)+one(w.Customer.ID), "'id', "+id("customer", "n")+", 'name', 'Customer ' || n"),
		copyOf("ingredients", series(largeIngredients)+one(w.Ingredient.ID), "'id', "+id("ingredient", "(n - 1)")+", 'name', 'Ingredient ' || n"),
		copyOf("ingredient_lots", "generate_series(0, "+fmt.Sprint(largeIngredients-1)+") AS i, generate_series(1, 500) AS n"+one(w.Lot.ID)+" AND (i > 0 OR n <= 50)",
			"'id', "+id("lot", "i || '/' || n")+", 'ingredient_id', "+id("ingredient", "i")+", 'code', 'L-' || i || '-' || n"),
		copyOf("batches", series(largeBatches)+one(w.Batch.ID), "'id', "+id("batch", "n")+", 'lot', 'BIG-' || n, 'state', 'wrapped', 'ended_at', NULL"),
		`INSERT INTO batch_uses (workshop_id, batch_id, position, ingredient_id, lot_id, used_mg)
			SELECT $1::uuid, ` + id("batch", "n") + `, i, ` + id("ingredient", "i") + `,
				` + id("lot", "i || '/' || ((n - 1) / CASE WHEN i = 0 THEN 200 ELSE 20 END + 1)") + `, 1000 * n
			FROM ` + series(largeBatches) + `, generate_series(0, ` + fmt.Sprint(largeIngredients-1) + `) AS i`,
		copyOf("stocks", series(largeBatches)+one(w.Stock.ID), "'id', "+id("stock", "n")+", 'batch_id', "+id("batch", "n")+", 'pieces', 3"),
		copyOf("orders", "generate_series(2, "+fmt.Sprint(largeBatches)+") AS n"+one(w.Order.ID),
			"'id', "+id("order", "n")+", 'number', n, 'customer_id', "+id("customer", "(n % 500 + 1)")+", 'status', 'handed_over', 'ended_at', '2027-05-30T12:00:00Z'"),
		`INSERT INTO order_lines (workshop_id, order_id, id, position, design_id, pieces, spares, keepsakes)
			SELECT $1::uuid, ` + id("order", "n") + `, ` + id("line", "n") + `, 0, '` + w.Design.ID + `', 40, 1, 1 FROM generate_series(2, ` + fmt.Sprint(largeBatches) + `) AS n`,
		`INSERT INTO allocations (workshop_id, order_id, line_id, stock_id, pieces)
			SELECT $1::uuid, ` + id("order", "o") + `, ` + id("line", "o") + `, ` + id("stock", "n") + `, 20
			FROM generate_series(2, ` + fmt.Sprint(largeBatches-1) + `) AS n, LATERAL (VALUES (n), (n + 1)) AS held (o)`,
	}
}

// analyze gathers statistics, as a server does by itself in time.
func analyze(b *testing.B, url string) {
	b.Helper()
	conn, err := pgx.Connect(b.Context(), url)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := conn.Exec(b.Context(), "ANALYZE"); err != nil {
		b.Fatal(err)
	}
	if err := conn.Close(context.Background()); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkTrace traces in the large book: each should stay below 50 ms. It fails
// when a trace finds other than what was put in.
func BenchmarkTrace(b *testing.B) {
	s, w, oil, lye, batch, order := largeBook(b)
	for _, c := range []struct {
		name    string
		of      orders.TraceOf
		batches int
		lines   int
		uses    int
	}{
		{"lot of oil", orders.TraceOf{LotIDs: []string{oil}}, 20, 40, 20},
		{"lot of lye", orders.TraceOf{LotIDs: []string{lye}}, 200, 400, 200},
		{"two lots", orders.TraceOf{LotIDs: []string{oil, lye}}, 200, 400, 220},
		{"batch", orders.TraceOf{BatchIDs: []string{batch}}, 1, 2, largeIngredients},
		{"order", orders.TraceOf{OrderID: order}, 2, 2, 2 * largeIngredients},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				read(b, s, w.ID, func(tx orders.Tx) error {
					got, err := tx.Trace(b.Context(), c.of)
					lines, uses := 0, 0
					for _, x := range got {
						lines, uses = lines+len(x.Lines), uses+len(x.Uses)
					}
					if len(got) != c.batches || lines != c.lines || uses != c.uses {
						b.Fatalf("%d batches, %d lines, %d uses; want %d, %d, %d", len(got), lines, uses, c.batches, c.lines, c.uses)
					}
					return err
				})
			}
		})
	}
}
