package postgres

import (
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// How what is on the shelf and what is on order is stored.

var lotKind = kind[orders.Lot]{
	table: "ingredient_lots", noun: "lot",
	meta: func(l *orders.Lot) *orders.Meta { return &l.Meta },
	columns: func(l *orders.Lot) []column {
		return []column{
			{"ingredient_id", (*ref)(&l.IngredientID)},
			{"code", &l.Code},
			{"received_on", &l.ReceivedOn},
			{"expires_on", &l.ExpiresOn},
			{"received_mg", &l.Received},
			{"left_mg", &l.Left},
			{"price_minor", &l.Price},
			{"note", &l.Note},
		}
	},
	parts:   []part[orders.Lot]{usedUp{}},
	listing: listing{keys: by("received_on", "date"), newest: true, parent: "ingredient_id::text", text: "code", live: "left_mg > 0"},
}

var purchaseKind = kind[orders.Purchase]{
	table: "purchases", noun: "purchase",
	meta: func(p *orders.Purchase) *orders.Meta { return &p.Meta },
	columns: func(p *orders.Purchase) []column {
		return []column{
			{"ingredient_id", (*ref)(&p.IngredientID)},
			{"quantity_mg", &p.Quantity},
			{"ordered_on", &p.OrderedOn},
			{"arrives_on", &p.ArrivesOn},
			{"price_minor", &p.Price},
			{"note", &p.Note},
			{"lot_id", (*optionalRef)(&p.LotID)},
		}
	},
	listing: listing{keys: by("arrives_on", "date"), parent: "ingredient_id::text", text: "note", live: "lot_id IS NULL"},
}

// derived is a part that is worked out of other tables when it is read, and
// never written.
type derived[T any] struct{}

func (derived[T]) check(*T) error { return nil }

func (derived[T]) queueSave(*pgx.Batch, string, string, *T) error { return nil }

// shelved is what an ingredient's lots and purchases say of it.
type shelved struct{ derived[orders.Ingredient] }

func (shelved) queueLoad(b *pgx.Batch, workshop string, ids []string, records []*orders.Ingredient) {
	byID := make(map[string]*orders.Ingredient, len(ids))
	for i, id := range ids {
		byID[id] = records[i]
	}
	const sql = `SELECT i.id::text, coalesce(sum(l.left_mg), 0)::bigint, count(l.id),
			coalesce(json_agg(json_build_object('on', l.expires_on, 'left_mg', l.left_mg) ORDER BY l.expires_on, l.id)
				FILTER (WHERE l.expires_on IS NOT NULL AND l.left_mg > 0), '[]'),
			(SELECT min(arrives_on) FROM purchases p WHERE p.workshop_id = $1 AND p.ingredient_id = i.id AND p.lot_id IS NULL)
		FROM ingredients i LEFT JOIN ingredient_lots l ON l.workshop_id = i.workshop_id AND l.ingredient_id = i.id
		WHERE i.workshop_id = $1 AND i.id = ANY($2::uuid[]) GROUP BY i.id`
	b.Queue(sql, workshop, ids).Query(func(found pgx.Rows) error {
		defer found.Close()
		for found.Next() {
			var id string
			var left calc.Mass
			var lots int
			var arrives civil.Date
			var ends []orders.LotEnd
			if err := found.Scan(&id, &left, &lots, &document{of: &ends}, &arrives); err != nil {
				return fmt.Errorf("read stock: %w", err)
			}
			byID[id].OnHand, byID[id].Lots, byID[id].Ends, byID[id].ExpectedOn = left, lots, append([]orders.LotEnd(nil), ends...), arrives
		}
		return found.Err()
	})
}

// usedUp is what batches took of a lot.
type usedUp struct{ derived[orders.Lot] }

func (usedUp) queueLoad(b *pgx.Batch, workshop string, ids []string, records []*orders.Lot) {
	byID := make(map[string]*orders.Lot, len(ids))
	for i, id := range ids {
		byID[id] = records[i]
	}
	const sql = `SELECT lot_id::text, sum(used_mg)::bigint FROM batch_uses
		WHERE workshop_id = $1 AND lot_id = ANY($2::uuid[]) GROUP BY lot_id`
	b.Queue(sql, workshop, ids).Query(func(found pgx.Rows) error {
		defer found.Close()
		for found.Next() {
			var id string
			var used calc.Mass
			if err := found.Scan(&id, &used); err != nil {
				return fmt.Errorf("read the use of lots: %w", err)
			}
			byID[id].Used = used
		}
		return found.Err()
	})
}
