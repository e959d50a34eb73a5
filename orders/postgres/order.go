package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

var customerKind = kind[orders.Customer]{
	table: "customers", noun: "customer",
	meta: func(c *orders.Customer) *orders.Meta { return &c.Meta },
	columns: func(c *orders.Customer) []column {
		return []column{
			{"name", &c.Name},
			{"email", &c.Email},
			{"phone", &c.Phone},
			{"note", &c.Note},
			{"retired", &c.Retired},
		}
	},
	listing: listing{keys: byName(), text: "name", live: "NOT retired"},
}

var orderKind = kind[orders.Order]{
	table: "orders", noun: "order",
	meta: func(o *orders.Order) *orders.Meta { return &o.Meta },
	columns: func(o *orders.Order) []column {
		return []column{
			{"number", &o.Number},
			{"customer_id", (*ref)(&o.CustomerID)},
			{"title", &o.Title},
			{"needed_by", &o.NeededBy},
			{"hand_over_days", &o.HandOver},
			{"weight", &o.Weight},
			{"status", &o.Status},
			{"told", &o.Told},
			{"note", &o.Note},
			{"accepted_at", (*instant)(&o.AcceptedAt)},
			{"ended_at", (*instant)(&o.EndedAt)},
			{"left_on", &o.LeftOn},
		}
	},
	parts:   []part[orders.Order]{lineRows},
	listing: listing{keys: by("needed_by", "date"), status: "status", parent: "customer_id::text", text: "(number::text || ' ' || title)"},
}

// orderLines are the lines of an order. Unlike other parts they have ids that
// pieces are allocated to, so saving keeps those that stay.
type orderLines struct {
	rowsOf[orders.Order, orders.OrderLine]
}

var lineRows = orderLines{rowsOf[orders.Order, orders.OrderLine]{
	table: "order_lines", parent: "order_id", field: "lines",
	of: func(o *orders.Order) *[]orders.OrderLine { return &o.Lines },
	columns: func(l *orders.OrderLine) []column {
		return []column{
			{"id", (*ref)(&l.ID)},
			{"design_id", (*ref)(&l.DesignID)},
			{"pieces", &l.Pieces},
			{"spares", &l.Spares},
			{"keepsakes", &l.Keepsakes},
		}
	},
}}

// check gives new lines their id.
func (p orderLines) check(o *orders.Order) error {
	for i := range o.Lines {
		if o.Lines[i].ID != "" {
			continue
		}
		id, err := newID()
		if err != nil {
			return err
		}
		o.Lines[i].ID = id
	}
	return p.rowsOf.check(o)
}

func (p orderLines) queueSave(b *pgx.Batch, workshop, id string, o *orders.Order) error {
	stay := make([]string, len(o.Lines))
	for i, l := range o.Lines {
		stay[i] = l.ID
	}
	b.Queue(`DELETE FROM order_lines WHERE workshop_id = $1 AND order_id = $2 AND id <> ALL($3::uuid[])`, workshop, id, stay)
	for i := range o.Lines {
		columns := p.columns(&o.Lines[i])
		given, err := args([]any{workshop, id, i}, columns)
		if err != nil {
			return err
		}
		b.Queue(fmt.Sprintf("INSERT INTO order_lines (workshop_id, order_id, position, %s) VALUES ($1, $2, $3, %s)"+
			" ON CONFLICT ON CONSTRAINT order_lines_pkey DO UPDATE SET position = $3, %s",
			names(columns), placeholders(4, columns), assignments(5, columns[1:])), given...)
	}
	return nil
}

// NextOrderNumber implements orders.Tx.
func (t *tx) NextOrderNumber(ctx context.Context) (int, error) {
	var number int
	err := t.one(ctx, `UPDATE workshops w SET last_order_number = 1 + greatest(last_order_number,
			(SELECT max(number) FROM orders o WHERE o.workshop_id = w.id))
		WHERE id = $1 RETURNING last_order_number`, []any{t.workshop}, &number)
	if err != nil {
		return 0, fmt.Errorf("next order number: %w", err)
	}
	return number, nil
}
