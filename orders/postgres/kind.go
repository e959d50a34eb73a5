package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

// kind says how records of T are stored: a row in table, and rows in the
// tables of its parts.
type kind[T any] struct {
	table   string
	noun    string // what a person calls one
	meta    func(*T) *orders.Meta
	columns func(*T) []column // beside workshop_id and those of metaColumns
	parts   []part[T]
	listing listing
}

// part is the rows of T that are kept in a table of their own.
type part[T any] interface {
	// check completes the rows and refuses ids that can not be.
	check(r *T) error
	// queueLoad fills in the rows of all records, found by their ids.
	queueLoad(b *pgx.Batch, workshop string, ids []string, records []*T)
	// queueSave replaces the rows of a record.
	queueSave(b *pgx.Batch, workshop, id string, r *T) error
}

// now is the database's clock at the start of the transaction. Only a record's
// own history is told by it, never anything planned.
const now = `date_trunc('second', transaction_timestamp())`

func metaColumns(m *orders.Meta) []column {
	return []column{
		{"id", &m.ID},
		{"version", &m.Version},
		{"created_at", (*instant)(&m.CreatedAt)},
		{"changed_at", (*instant)(&m.ChangedAt)},
	}
}

// all is every column of r but workshop_id.
func (k kind[T]) all(r *T) []column { return append(metaColumns(k.meta(r)), k.columns(r)...) }

// scan reads a row of all.
func (k kind[T]) scan(row pgx.CollectableRow) (T, error) {
	var r T
	err := row.Scan(targets(k.all(&r))...)
	return r, err
}

func (k kind[T]) selectAll() string {
	var r T
	return "SELECT " + names(k.all(&r)) + " FROM " + k.table
}

// loadParts fills in the parts of the records.
func (k kind[T]) loadParts(ctx context.Context, c conn, workshop string, records []T) error {
	var b pgx.Batch
	k.queueParts(&b, workshop, records)
	return c.send(ctx, &b)
}

func (k kind[T]) queueParts(b *pgx.Batch, workshop string, records []T) {
	if len(k.parts) == 0 || len(records) == 0 {
		return
	}
	ids, pointers := make([]string, len(records)), make([]*T, len(records))
	for i := range records {
		ids[i], pointers[i] = k.meta(&records[i]).ID, &records[i]
	}
	for _, p := range k.parts {
		p.queueLoad(b, workshop, ids, pointers)
	}
}

// queueWhere collects the records that fulfil a condition, without parts, in
// the order of their list.
func (k kind[T]) queueWhere(b *pgx.Batch, workshop, where string, into *[]T) {
	sql := k.selectAll() + " WHERE workshop_id = $1 AND " + where + k.listing.orderBy()
	b.Queue(sql, workshop).Query(func(found pgx.Rows) error {
		var err error
		*into, err = pgx.CollectRows(found, k.scan)
		return err
	})
}

// table is the records of one kind in one workshop's transaction. It
// implements orders.Table.
type table[T any] struct {
	tx   *tx
	kind kind[T]
}

// Get implements orders.Table.
func (t table[T]) Get(ctx context.Context, id string) (T, error) {
	found, err := t.get(ctx, id)
	if err != nil {
		var none T
		return none, fmt.Errorf("get %s %q: %w", t.kind.noun, id, err)
	}
	return found, nil
}

func (t table[T]) get(ctx context.Context, id string) (T, error) {
	var none T
	id, ok := canonicalID(id)
	if !ok {
		return none, orders.ErrNotFound
	}
	found, err := rows(ctx, t.tx.conn, t.kind.scan, t.kind.selectAll()+" WHERE workshop_id = $1 AND id = $2", t.tx.workshop, id)
	if err != nil {
		return none, err
	}
	if len(found) == 0 {
		return none, orders.ErrNotFound
	}
	return found[0], t.kind.loadParts(ctx, t.tx.conn, t.tx.workshop, found)
}

// Several implements orders.Table.
func (t table[T]) Several(ctx context.Context, ids []string) ([]T, error) {
	asked := make([]string, 0, len(ids))
	for _, id := range ids {
		if id, ok := canonicalID(id); ok {
			asked = append(asked, id)
		}
	}
	if len(asked) == 0 {
		return nil, nil
	}
	found, err := rows(ctx, t.tx.conn, t.kind.scan, t.kind.selectAll()+" WHERE workshop_id = $1 AND id = ANY($2::uuid[])", t.tx.workshop, asked)
	if err == nil {
		err = t.kind.loadParts(ctx, t.tx.conn, t.tx.workshop, found)
	}
	if err != nil {
		return nil, fmt.Errorf("get %d of %s: %w", len(asked), t.kind.table, err)
	}
	return found, nil
}

// List implements orders.Table.
func (t table[T]) List(ctx context.Context, q orders.ListQuery) (orders.Page[T], error) {
	page, err := readPage(ctx, t.tx, t.kind.table, t.kind.listing, t.kind.all, q)
	if err == nil {
		err = t.kind.loadParts(ctx, t.tx.conn, t.tx.workshop, page.Items)
	}
	if err != nil {
		return orders.Page[T]{}, fmt.Errorf("list %s: %w", t.kind.table, err)
	}
	return page, nil
}

// Insert implements orders.Table.
func (t table[T]) Insert(ctx context.Context, r *T) error {
	if err := t.insert(ctx, r); err != nil {
		return fmt.Errorf("store %s: %w", t.kind.noun, err)
	}
	return nil
}

func (t table[T]) insert(ctx context.Context, r *T) error {
	if err := t.check(r); err != nil {
		return err
	}
	m := t.kind.meta(r)
	if m.ID == "" {
		id, err := newID()
		if err != nil {
			return err
		}
		m.ID = id
	} else if _, ok := canonicalID(m.ID); !ok {
		return invalid("id", "must be a UUID, or be left out")
	}
	m.Version = 1
	columns := t.kind.all(r)
	given, err := args([]any{t.tx.workshop}, columns)
	if err != nil {
		return err
	}
	// $4 and $5 are created_at and changed_at.
	sql := "INSERT INTO " + t.kind.table + " (workshop_id, " + names(columns) + ") VALUES ($1, $2, $3, coalesce($4, " + now +
		"), coalesce($5, $4, " + now + "), " + placeholders(6, columns[4:]) + ") RETURNING created_at, changed_at"
	if err := t.tx.one(ctx, sql, given, columns[2].value, columns[3].value); err != nil {
		return err
	}
	return t.saveParts(ctx, r)
}

// Update implements orders.Table.
func (t table[T]) Update(ctx context.Context, r *T) error {
	if err := t.update(ctx, r); err != nil {
		return fmt.Errorf("store %s %q: %w", t.kind.noun, t.kind.meta(r).ID, err)
	}
	return nil
}

func (t table[T]) update(ctx context.Context, r *T) error {
	m := t.kind.meta(r)
	id, ok := canonicalID(m.ID)
	if !ok {
		return orders.ErrNotFound
	}
	if err := t.check(r); err != nil {
		return err
	}
	columns := t.kind.columns(r)
	given, err := args([]any{t.tx.workshop, id, m.Version}, columns)
	if err != nil {
		return err
	}
	sql := "UPDATE " + t.kind.table + " SET version = version + 1, changed_at = " + now + ", " + assignments(4, columns) +
		" WHERE workshop_id = $1 AND id = $2 AND version = $3 RETURNING id, version, created_at, changed_at"
	err = t.tx.one(ctx, sql, given, targets(metaColumns(m))...)
	if errors.Is(err, orders.ErrNotFound) {
		return t.missed(ctx, id)
	}
	if err != nil {
		return err
	}
	return t.saveParts(ctx, r)
}

// Delete implements orders.Table.
func (t table[T]) Delete(ctx context.Context, id string, version int) error {
	if err := t.remove(ctx, id, version); err != nil {
		return fmt.Errorf("delete %s %q: %w", t.kind.noun, id, err)
	}
	return nil
}

func (t table[T]) remove(ctx context.Context, id string, version int) error {
	id, ok := canonicalID(id)
	if !ok {
		return orders.ErrNotFound
	}
	sql := "DELETE FROM " + t.kind.table + " WHERE workshop_id = $1 AND id = $2 AND version = $3"
	tag, err := t.tx.pg.Exec(ctx, sql, t.tx.workshop, id, version)
	if err != nil {
		return inUse(err, t.kind.noun)
	}
	if tag.RowsAffected() == 0 {
		return t.missed(ctx, id)
	}
	return nil
}

// missed says why no row had the id and version.
func (t table[T]) missed(ctx context.Context, id string) error {
	var version int
	sql := "SELECT version FROM " + t.kind.table + " WHERE workshop_id = $1 AND id = $2"
	if err := t.tx.one(ctx, sql, []any{t.tx.workshop, id}, &version); err != nil {
		return err
	}
	return stale(t.kind.noun)
}

func (t table[T]) check(r *T) error {
	if err := checkRefs("", t.kind.columns(r)); err != nil {
		return err
	}
	for _, p := range t.kind.parts {
		if err := p.check(r); err != nil {
			return err
		}
	}
	return nil
}

func (t table[T]) saveParts(ctx context.Context, r *T) error {
	var b pgx.Batch
	for _, p := range t.kind.parts {
		if err := p.queueSave(&b, t.tx.workshop, t.kind.meta(r).ID, r); err != nil {
			return err
		}
	}
	return t.tx.send(ctx, &b)
}
