package localpg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// rolesLock keeps two processes from creating the roles of one server at once.
const rolesLock = 0x52495045 // "RIPE"

// stillStarting reports whether a failed connection means "not yet".
func stillStarting(err error) bool {
	const cannotConnectNow = "57P03" // PostgreSQL's manual, appendix A
	var pgErr *pgconn.PgError
	if errors.As(err, &pgErr) {
		return pgErr.Code == cannotConnectNow
	}
	return errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ECONNREFUSED)
}

// ensureDatabase creates the roles and the application's database where
// missing. It runs at every start, so an interrupted first one is made good.
func ensureDatabase(ctx context.Context, conn *pgx.Conn) error {
	if err := EnsureRoles(ctx, conn, ""); err != nil {
		return err
	}
	var exists bool
	err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, Database).Scan(&exists)
	if err != nil {
		return fmt.Errorf("look for database %s: %w", Database, err)
	}
	if exists {
		return nil
	}
	create := "CREATE DATABASE " + pgx.Identifier{Database}.Sanitize() + " OWNER " + pgx.Identifier{OwnerRole}.Sanitize()
	if _, err := conn.Exec(ctx, create); err != nil {
		return fmt.Errorf("create database %s: %w", Database, err)
	}
	return nil
}

// EnsureRoles creates OwnerRole and AppRole where missing, with the password
// unless it is empty. conn needs the right to create roles. A role that exists
// keeps its password, but when row-level security would not bind it the error
// wraps ErrRole.
func EnsureRoles(ctx context.Context, conn *pgx.Conn, password string) error {
	return pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, rolesLock); err != nil {
			return fmt.Errorf("lock the roles: %w", err)
		}
		return errors.Join(ensureRole(ctx, tx, OwnerRole, password), ensureRole(ctx, tx, AppRole, password))
	})
}

// ensureRole creates one role, or checks the one that exists.
func ensureRole(ctx context.Context, tx pgx.Tx, role, password string) error {
	var unbound bool
	err := tx.QueryRow(ctx, `SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = $1`, role).Scan(&unbound)
	if errors.Is(err, pgx.ErrNoRows) {
		return createRole(ctx, tx, role, password)
	}
	if err != nil {
		return fmt.Errorf("look for role %s: %w", role, err)
	}
	if unbound {
		return fmt.Errorf("%w: %s could read across workshops; run: ALTER ROLE %s NOSUPERUSER NOBYPASSRLS", ErrRole, role, role)
	}
	return nil
}

// createRole creates a role that can log in and nothing else.
func createRole(ctx context.Context, tx pgx.Tx, role, password string) error {
	create := "CREATE ROLE " + pgx.Identifier{role}.Sanitize() + " LOGIN NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE"
	if password != "" {
		create += " PASSWORD '" + strings.ReplaceAll(password, "'", "''") + "'"
	}
	if _, err := tx.Exec(ctx, create); err != nil {
		return fmt.Errorf("create role %s: %w", role, err)
	}
	return nil
}
