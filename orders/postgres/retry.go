package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// A transaction is tried maxAttempts times, with a pause of firstPause that
// doubles each time: in all under a second.
const (
	maxAttempts = 6
	firstPause  = 20 * time.Millisecond
)

// run runs fn in a transaction and commits it. When the database undid the
// transaction for no fault of fn's, it is run again as a whole.
func (s *Store) run(ctx context.Context, opts pgx.TxOptions, fn func(pgx.Tx) error) error {
	for attempt := 1; ; attempt++ {
		again, err := s.attempt(ctx, opts, fn)
		if err == nil || !again {
			return err
		}
		if attempt == maxAttempts {
			return fmt.Errorf("given up after %d attempts: %w", maxAttempts, err)
		}
		if !pause(ctx, firstPause<<(attempt-1)) {
			return err
		}
	}
}

// attempt runs fn once. again reports that the transaction certainly had no
// effect and that another attempt may succeed.
func (s *Store) attempt(ctx context.Context, opts pgx.TxOptions, fn func(pgx.Tx) error) (again bool, err error) {
	committing, lost := false, false
	err = pgx.BeginTxFunc(ctx, s.pool, opts, func(pg pgx.Tx) error {
		err := fn(pg)
		committing, lost = err == nil, pg.Conn().IsClosed()
		return err
	})
	if err == nil || ctx.Err() != nil {
		return false, err
	}
	// A connection lost while committing leaves it unknown whether the commit
	// happened; lost earlier, the server has rolled back.
	return rolledBack(err) || pgconn.SafeToRetry(err) || (lost && !committing), err
}

// rolledBack reports that the server undid the transaction because of others
// (PostgreSQL's manual, appendix A).
func rolledBack(err error) bool {
	const serializationFailure, deadlockDetected = "40001", "40P01"
	var pg *pgconn.PgError
	return errors.As(err, &pg) && (pg.Code == serializationFailure || pg.Code == deadlockDetected)
}

// pause waits; false when ctx ended first.
func pause(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}
