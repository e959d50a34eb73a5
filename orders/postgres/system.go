package postgres

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

// systemTx is a transaction across workshops: see the package comment for what
// it may see.
type systemTx struct{ conn }

var _ orders.SystemTx = (*systemTx)(nil)

// queueEnter opens one workshop to the statements that follow.
func queueEnter(b *pgx.Batch, workshop string) {
	b.Queue(`SELECT set_config('ripeline.workshop', $1, true)`, workshop)
}

// CountWorkshops implements orders.SystemTx.
func (s *systemTx) CountWorkshops(ctx context.Context) (int, error) {
	var n int
	if err := s.one(ctx, `SELECT count(*) FROM workshops`, nil, &n); err != nil {
		return 0, fmt.Errorf("count workshops: %w", err)
	}
	return n, nil
}

// CreateWorkshop implements orders.SystemTx. It fills in the Meta of both.
func (s *systemTx) CreateWorkshop(ctx context.Context, w *orders.Workshop, owner *orders.Person, furnish func(orders.Tx) error) error {
	if w.ID == "" {
		id, err := newID()
		if err != nil {
			return err
		}
		w.ID = id
	}
	var b pgx.Batch
	queueEnter(&b, w.ID)
	if err := s.send(ctx, &b); err != nil {
		return fmt.Errorf("create workshop: %w", err)
	}
	w.Version, w.BookRevision, w.PlanRevision = 1, 0, 0
	columns := append(metaColumns(&w.Meta), workshopColumns(w)...)
	given, err := args(nil, columns)
	if err == nil {
		err = s.one(ctx, "INSERT INTO workshops ("+names(columns)+") VALUES ($1, $2, coalesce($3, "+now+"), coalesce($4, $3, "+now+"), "+
			placeholders(5, columns[4:])+") RETURNING created_at, changed_at", given, columns[2].value, columns[3].value)
	}
	if err == nil {
		err = saveHours(ctx, s.conn, w.ID, w.Hours)
	}
	if err == nil {
		inside := &tx{s.conn, w.ID}
		if err = inside.People().Insert(ctx, owner); err == nil {
			err = furnish(inside)
		}
	}
	if err != nil {
		return fmt.Errorf("create workshop: %w", err)
	}
	return nil
}

// DeleteWorkshop implements orders.SystemTx. Everything of it goes with it.
func (s *systemTx) DeleteWorkshop(ctx context.Context, id string) error {
	canonical, ok := canonicalID(id)
	if !ok {
		return fmt.Errorf("delete workshop %q: %w", id, orders.ErrNotFound)
	}
	var b pgx.Batch
	queueEnter(&b, canonical)
	if err := s.send(ctx, &b); err != nil {
		return fmt.Errorf("delete workshop %s: %w", id, err)
	}
	found, err := s.exec(ctx, `DELETE FROM workshops WHERE id = $1`, canonical)
	if err == nil && found == 0 {
		err = orders.ErrNotFound
	}
	if err != nil {
		return fmt.Errorf("delete workshop %s: %w", id, err)
	}
	return nil
}

// WorkshopIDs implements orders.SystemTx: those above after, "" for the first.
func (s *systemTx) WorkshopIDs(ctx context.Context, after string, limit int) ([]string, error) {
	ids, err := rows(ctx, s.conn, pgx.RowTo[string], `SELECT id::text FROM workshops WHERE id::text > $1 ORDER BY id::text LIMIT $2`, after, limit)
	if err != nil {
		return nil, fmt.Errorf("list workshops: %w", err)
	}
	return ids, nil
}

// find returns the only record that fulfils a condition on $1, in whichever
// workshop it is.
func find[T any](ctx context.Context, c conn, k kind[T], where string, arg any) (workshop string, r T, err error) {
	columns := k.all(&r)
	sql := "SELECT workshop_id, " + names(columns) + " FROM " + k.table + " WHERE " + where
	if err := c.one(ctx, sql, []any{arg}, append([]any{&workshop}, targets(columns)...)...); err != nil {
		var none T
		return "", none, fmt.Errorf("find %s: %w", k.noun, err)
	}
	return workshop, r, nil
}

// PersonByEmail implements orders.SystemTx, without regard to case.
func (s *systemTx) PersonByEmail(ctx context.Context, email string) (string, orders.Person, error) {
	if !utf8.ValidString(email) || strings.ContainsRune(email, 0) {
		return "", orders.Person{}, fmt.Errorf("find person: %w", orders.ErrNotFound)
	}
	return find(ctx, s.conn, personKind, "lower(email) = lower($1)", email)
}

// PersonByID implements orders.SystemTx.
func (s *systemTx) PersonByID(ctx context.Context, id string) (string, orders.Person, error) {
	canonical, ok := canonicalID(id)
	if !ok {
		return "", orders.Person{}, fmt.Errorf("find person: %w", orders.ErrNotFound)
	}
	return find(ctx, s.conn, personKind, "id = $1", canonical)
}

// TokenByHash implements orders.SystemTx.
func (s *systemTx) TokenByHash(ctx context.Context, hash []byte) (string, orders.APIToken, error) {
	return find(ctx, s.conn, tokenKind, "hash = $1 AND revoked_at IS NULL", hash)
}

// FeedByHash implements orders.SystemTx.
func (s *systemTx) FeedByHash(ctx context.Context, hash []byte) (string, orders.Feed, error) {
	return find(ctx, s.conn, feedKind, "hash = $1 AND revoked_at IS NULL", hash)
}

// usedEvery is how exactly the last use of a token or feed is known: a busy
// program must not write a row at each request.
const usedEvery = time.Minute

// Used implements orders.SystemTx. An unknown hash is no error: the token may
// just have been deleted.
func (s *systemTx) Used(ctx context.Context, hash []byte, at time.Time) error {
	var workshop, kept string
	err := s.one(ctx, `SELECT workshop_id, kept FROM (
			SELECT workshop_id, 'api_tokens' AS kept, used_at FROM api_tokens WHERE hash = $1
			UNION ALL SELECT workshop_id, 'feeds', used_at FROM feeds WHERE hash = $1) AS found
		WHERE used_at IS NULL OR used_at <= $2 LIMIT 1`, []any{hash, at.Add(-usedEvery)}, &workshop, &kept)
	if errors.Is(err, orders.ErrNotFound) {
		return nil
	}
	if err == nil {
		var b pgx.Batch
		queueEnter(&b, workshop)
		b.Queue("UPDATE "+kept+" SET used_at = $2 WHERE hash = $1", hash, at)
		err = s.send(ctx, &b)
	}
	if err != nil {
		return fmt.Errorf("note the use of a token: %w", err)
	}
	return nil
}
