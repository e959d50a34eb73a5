package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// guardRole can not log in and is bound by row-level security. The grants that
// Migrate applies create it when the role in use is not bound.
const guardRole = "ripeline_guard"

// needsGuard reports whether the connected role escapes row-level security,
// and fails when it does and can not step down.
func needsGuard(ctx context.Context, pool *pgxpool.Pool) (bool, error) {
	var role string
	var unbound, canStepDown bool
	err := pool.QueryRow(ctx, `SELECT current_user, rolsuper OR rolbypassrls,
			to_regrole($1) IS NOT NULL AND (rolsuper OR EXISTS (
				SELECT FROM pg_auth_members m WHERE m.member = r.oid AND m.roleid = to_regrole($1)))
		FROM pg_roles r WHERE rolname = current_user`, guardRole).Scan(&role, &unbound, &canStepDown)
	switch {
	case err != nil:
		return false, fmt.Errorf("look at the database role: %w", err)
	case unbound && !canStepDown:
		return false, fmt.Errorf("the database role %[1]s bypasses row-level security, which keeps workshops apart; "+
			"use a role without BYPASSRLS, or let an administrator run: CREATE ROLE %[2]s NOLOGIN; GRANT %[2]s TO %[1]s; "+
			"then migrate again", role, guardRole)
	}
	return unbound, nil
}

// queueGuard makes the transaction step down when its role has to.
func (s *Store) queueGuard(b *pgx.Batch) {
	if s.guard {
		b.Queue(`SELECT set_config('role', $1, true)`, guardRole)
	}
}
