package postgres

import (
	"context"
	"fmt"
	"strings"
	"time"

	"ripeline/orders"
)

// Secret implements orders.SystemTx. The value is locked until the transaction
// ends, so that of two who use up a one-time secret one finds it gone.
func (s *systemTx) Secret(ctx context.Context, name string) ([]byte, error) {
	var value []byte
	if err := s.one(ctx, `SELECT value FROM secrets WHERE name = $1 FOR UPDATE`, []any{name}, &value); err != nil {
		return nil, fmt.Errorf("read secret %s: %w", name, err)
	}
	return value, nil
}

// SetSecret implements orders.SystemTx.
func (s *systemTx) SetSecret(ctx context.Context, name string, value []byte) error {
	var err error
	if value == nil {
		_, err = s.exec(ctx, `DELETE FROM secrets WHERE name = $1`, name)
	} else {
		_, err = s.exec(ctx, `INSERT INTO secrets (name, value) VALUES ($1, $2)
			ON CONFLICT (name) DO UPDATE SET value = EXCLUDED.value`, name, value)
	}
	if err != nil {
		return fmt.Errorf("store secret %s: %w", name, err)
	}
	return nil
}

// KeepSecret implements orders.SystemTx. Of two at once the second waits for
// the first one's value, which the statement after it then reads.
func (s *systemTx) KeepSecret(ctx context.Context, name string, value []byte) ([]byte, error) {
	if _, err := s.exec(ctx, `INSERT INTO secrets (name, value) VALUES ($1, $2) ON CONFLICT (name) DO NOTHING`, name, value); err != nil {
		return nil, fmt.Errorf("store secret %s: %w", name, err)
	}
	return s.Secret(ctx, name)
}

// What is kept of a sign-in: it comes from anyone, at any length.
const (
	maxEmail   = 320
	maxAddr    = 100
	signInLife = 24 * time.Hour
)

// signInLock is held while the failed sign-ins are counted and one is added.
const signInLock = 0x52495353 // "RISS"

// SignInFailures implements orders.SystemTx.
func (s *systemTx) SignInFailures(ctx context.Context, email, addr string, since time.Time) (orders.SignInFailures, error) {
	var failed orders.SignInFailures
	// The lock is a statement of its own, for the next one sees what was
	// committed while this one waited.
	if _, err := s.exec(ctx, `SELECT pg_advisory_xact_lock($1)`, signInLock); err != nil {
		return failed, fmt.Errorf("wait to count failed sign-ins: %w", err)
	}
	err := s.one(ctx, `SELECT
			(SELECT count(*) FROM sign_ins WHERE NOT ok AND email = $1 AND at >= $3),
			(SELECT count(*) FROM sign_ins WHERE NOT ok AND addr = $2 AND at >= $3),
			(SELECT count(*) FROM sign_ins WHERE NOT ok AND email = $1 AND addr = $2 AND at >= $3)`,
		[]any{attempted(email, maxEmail), attempted(addr, maxAddr), since}, &failed.ByEmail, &failed.ByAddr, &failed.ByBoth)
	if err != nil {
		return failed, fmt.Errorf("count failed sign-ins: %w", err)
	}
	return failed, nil
}

// AddSignIn implements orders.SystemTx, and forgets those of the day before.
func (s *systemTx) AddSignIn(ctx context.Context, email, addr string, at time.Time) error {
	_, err := s.exec(ctx, `DELETE FROM sign_ins WHERE at < $1`, at.Add(-signInLife))
	if err == nil {
		_, err = s.exec(ctx, `INSERT INTO sign_ins (at, email, addr, ok) VALUES ($1, $2, $3, false)`,
			at, attempted(email, maxEmail), attempted(addr, maxAddr))
	}
	if err != nil {
		return fmt.Errorf("note a sign-in: %w", err)
	}
	return nil
}

// SignInSucceeded implements orders.SystemTx.
func (s *systemTx) SignInSucceeded(ctx context.Context, email, addr string, at time.Time) error {
	_, err := s.exec(ctx, `UPDATE sign_ins SET ok = true WHERE id = (SELECT id FROM sign_ins
			WHERE NOT ok AND email = $1 AND addr = $2 AND at = $3 LIMIT 1 FOR UPDATE SKIP LOCKED)`,
		attempted(email, maxEmail), attempted(addr, maxAddr), at)
	if err != nil {
		return fmt.Errorf("note a sign-in that succeeded: %w", err)
	}
	return nil
}

// attempted is what someone typed, in a form that can be stored and compared.
func attempted(typed string, limit int) string {
	clean := strings.ReplaceAll(strings.ToValidUTF8(typed, ""), "\x00", "")
	runes := []rune(strings.ToLower(clean))
	return string(runes[:min(len(runes), limit)])
}
