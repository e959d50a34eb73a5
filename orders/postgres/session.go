package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// SessionStore keeps browser sessions. Tokens arrive hashed: the session
// manager must have HashTokenInStore set.
type SessionStore struct{ pool *pgxpool.Pool }

var _ scs.CtxStore = (*SessionStore)(nil)

// NewSessionStore keeps sessions in the store's database.
func NewSessionStore(s *Store) *SessionStore { return &SessionStore{s.pool} }

// FindCtx implements scs.CtxStore. An expired session is not found.
func (s *SessionStore) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	var data []byte
	err := s.pool.QueryRow(ctx, `SELECT data FROM sessions WHERE token = $1 AND expires_at > now()`, token).Scan(&data)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, fmt.Errorf("find session: %w", err)
	}
	return data, true, nil
}

// CommitCtx implements scs.CtxStore.
func (s *SessionStore) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	_, err := s.pool.Exec(ctx, `INSERT INTO sessions (token, data, expires_at) VALUES ($1, $2, $3)
		ON CONFLICT (token) DO UPDATE SET data = EXCLUDED.data, expires_at = EXCLUDED.expires_at`, token, data, expiry)
	if err != nil {
		return fmt.Errorf("keep session: %w", err)
	}
	return nil
}

// DeleteCtx implements scs.CtxStore.
func (s *SessionStore) DeleteCtx(ctx context.Context, token string) error {
	if _, err := s.pool.Exec(ctx, `DELETE FROM sessions WHERE token = $1`, token); err != nil {
		return fmt.Errorf("end session: %w", err)
	}
	return nil
}

// DeleteExpired deletes the sessions that are over and returns their number.
func (s *SessionStore) DeleteExpired(ctx context.Context) (int64, error) {
	tag, err := s.pool.Exec(ctx, `DELETE FROM sessions WHERE expires_at <= now()`)
	if err != nil {
		return 0, fmt.Errorf("delete expired sessions: %w", err)
	}
	return tag.RowsAffected(), nil
}

// Find implements scs.Store.
func (s *SessionStore) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

// Commit implements scs.Store.
func (s *SessionStore) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

// Delete implements scs.Store.
func (s *SessionStore) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }
