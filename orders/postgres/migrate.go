package postgres

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"ripeline/migrations"
)

// ErrNewerSchema says that the database was migrated by a newer ripeline.
var ErrNewerSchema = errors.New("the database is newer than this program")

// How long a replica waits for another that is migrating, in seconds.
const migrationWait = 300

// grantsLock keeps replicas from granting at the same time, which PostgreSQL
// answers with "tuple concurrently updated".
const grantsLock = 0x52495047 // "RIPG"

// Migrate brings the schema up to date. ownerURL's role owns the schema or may
// create it. Any number of replicas may call it at once. When the schema is
// newer than this program the error wraps ErrNewerSchema and nothing changes.
func Migrate(ctx context.Context, ownerURL string, log *slog.Logger) (err error) {
	db, err := sql.Open("pgx", ownerURL)
	if err != nil {
		return fmt.Errorf("migrate the database: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, migrationWait))
	if err != nil {
		return fmt.Errorf("migrate the database: %w", err)
	}
	provider, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files,
		goose.WithSessionLocker(locker), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("migrate the database: %w", err)
	}
	if err := up(ctx, provider, log); err != nil {
		return fmt.Errorf("migrate the database: %w", err)
	}
	if err := grant(ctx, db); err != nil {
		return fmt.Errorf("grant rights in the database: %w", err)
	}
	return nil
}

// up applies what is missing. Its versions are compared afterwards because
// only Up runs under the lock; on a newer schema it finds nothing to apply.
func up(ctx context.Context, provider *goose.Provider, log *slog.Logger) error {
	applied, err := provider.Up(ctx)
	if err != nil {
		return err
	}
	for _, m := range applied {
		log.InfoContext(ctx, "database migrated", "step", m.Source.Path, "took", m.Duration)
	}
	current, known, err := provider.GetVersions(ctx)
	if err != nil {
		return err
	}
	if current > known {
		return fmt.Errorf("%w: its schema is version %d and this program knows versions up to %d; "+
			"start the newer program, or restore a backup made by this one into an empty database", ErrNewerSchema, current, known)
	}
	return nil
}

func grant(ctx context.Context, db *sql.DB) error {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	run := func(driver any) error {
		pg := driver.(*stdlib.Conn).Conn()
		tx, err := pg.Begin(ctx)
		if err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, grantsLock); err != nil {
			return errors.Join(err, tx.Rollback(ctx))
		}
		if _, err := tx.Exec(ctx, migrations.Grants); err != nil {
			return errors.Join(err, tx.Rollback(ctx))
		}
		return tx.Commit(ctx)
	}
	return errors.Join(conn.Raw(run), conn.Close())
}
