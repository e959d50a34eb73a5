package postgres

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"ripeline/orders"
)

// maxConns is the size of the pool when the URL does not set pool_max_conns.
// A writer that waits for its workshop holds a connection, so a few more than
// there are processors are needed.
const maxConns = 16

// Store is the order book in one database. It is safe for concurrent use.
type Store struct {
	pool  *pgxpool.Pool
	guard bool // row-level security does not bind the role: step down to guardRole
}

var _ orders.Store = (*Store)(nil)

// Open connects to a migrated database. The URL's role is the service's
// (ripeline_app) or the owner of the schema. Close the Store after use.
func Open(ctx context.Context, url string) (*Store, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("read the database URL: %w", err)
	}
	if !strings.Contains(url, "pool_max_conns") {
		cfg.MaxConns = maxConns
	}
	cfg.ConnConfig.RuntimeParams["timezone"] = "UTC" // cursors carry instants as text
	if cfg.ConnConfig.RuntimeParams["application_name"] == "" {
		cfg.ConnConfig.RuntimeParams["application_name"] = "ripeline"
	}
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	s := &Store{pool: pool}
	if s.guard, err = needsGuard(ctx, pool); err != nil {
		pool.Close()
		return nil, fmt.Errorf("open the database: %w", err)
	}
	return s, nil
}

// Close waits for the transactions under way and closes all connections.
func (s *Store) Close() { s.pool.Close() }

// Ping reports whether the database answers.
func (s *Store) Ping(ctx context.Context) error {
	if err := s.pool.Ping(ctx); err != nil {
		return fmt.Errorf("ping the database: %w", err)
	}
	return nil
}

// Write implements orders.Store.
func (s *Store) Write(ctx context.Context, workshopID string, fn func(orders.Tx) error) error {
	return s.within(ctx, workshopID, pgx.TxOptions{IsoLevel: pgx.ReadCommitted}, " FOR NO KEY UPDATE", fn)
}

// Read implements orders.Store. What fn writes is refused by the database.
func (s *Store) Read(ctx context.Context, workshopID string, fn func(orders.Tx) error) error {
	return s.within(ctx, workshopID, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, "", fn)
}

// within runs fn in the workshop, whose row must exist and is locked by lock.
func (s *Store) within(ctx context.Context, workshopID string, opts pgx.TxOptions, lock string, fn func(orders.Tx) error) error {
	id, ok := canonicalID(workshopID)
	if !ok {
		return fmt.Errorf("workshop %q: %w", workshopID, orders.ErrNotFound)
	}
	return s.run(ctx, opts, func(pg pgx.Tx) error {
		var b pgx.Batch
		s.queueGuard(&b)
		b.Queue(`SELECT set_config('ripeline.workshop', $1, true)`, id)
		b.Queue(`SELECT FROM workshops WHERE id = $1`+lock, id).Exec(func(tag pgconn.CommandTag) error {
			if tag.RowsAffected() == 0 {
				return fmt.Errorf("workshop %s: %w", id, orders.ErrNotFound)
			}
			return nil
		})
		c := conn{pg}
		if err := c.send(ctx, &b); err != nil {
			return err
		}
		return fn(&tx{conn: c, workshop: id})
	})
}

// System implements orders.Store.
func (s *Store) System(ctx context.Context, fn func(orders.SystemTx) error) error {
	return s.run(ctx, pgx.TxOptions{IsoLevel: pgx.ReadCommitted}, func(pg pgx.Tx) error {
		c := conn{pg}
		if err := s.enterSystem(ctx, c); err != nil {
			return err
		}
		return fn(&systemTx{conn: c})
	})
}

// enterSystem opens to c what may be read across workshops.
func (s *Store) enterSystem(ctx context.Context, c conn) error {
	var b pgx.Batch
	s.queueGuard(&b)
	b.Queue(`SELECT set_config('ripeline.scope', 'system', true)`)
	return c.send(ctx, &b)
}

// conn is a transaction whose every statement passes through translate.
type conn struct{ pg pgx.Tx }

// exec runs one statement and returns how many rows it touched.
func (c conn) exec(ctx context.Context, sql string, args ...any) (int64, error) {
	tag, err := c.pg.Exec(ctx, sql, args...)
	return tag.RowsAffected(), translate(err)
}

// one scans the only row of a query; ErrNotFound when there is none.
func (c conn) one(ctx context.Context, sql string, args []any, into ...any) error {
	return translate(c.pg.QueryRow(ctx, sql, args...).Scan(into...))
}

// send runs a batch and the functions queued with it, up to the first error.
func (c conn) send(ctx context.Context, b *pgx.Batch) error {
	if b.Len() == 0 {
		return nil
	}
	return translate(c.pg.SendBatch(ctx, b).Close())
}

// rows collects a query's rows. The slice is never nil.
func rows[T any](ctx context.Context, c conn, scan pgx.RowToFunc[T], sql string, args ...any) ([]T, error) {
	found, err := c.pg.Query(ctx, sql, args...)
	if err != nil {
		return nil, translate(err)
	}
	all, err := pgx.CollectRows(found, scan)
	if err != nil {
		return nil, translate(err)
	}
	return all, nil
}
