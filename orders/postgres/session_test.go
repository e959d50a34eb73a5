package postgres_test

import (
	"testing"
	"time"

	"ripeline/orders/postgres"
)

func TestSessions(t *testing.T) {
	t.Parallel()
	sessions := postgres.NewSessionStore(newStore(t))
	future, past := time.Now().Add(time.Hour), time.Now().Add(-time.Hour)
	want := func(token, data string, found bool) {
		t.Helper()
		got, ok, err := sessions.FindCtx(t.Context(), token)
		if err != nil || ok != found || string(got) != data {
			t.Errorf("%s: %q, %v, %v; want %q, %v", token, got, ok, err, data, found)
		}
	}
	must(t, sessions.CommitCtx(t.Context(), "a", []byte("one"), future))
	must(t, sessions.CommitCtx(t.Context(), "b", []byte("over"), past))
	want("a", "one", true)
	want("b", "", false)
	want("c", "", false)
	must(t, sessions.CommitCtx(t.Context(), "a", []byte("two"), future))
	want("a", "two", true)
	for _, left := range []int64{1, 0} {
		if n, err := sessions.DeleteExpired(t.Context()); n != left || err != nil {
			t.Errorf("DeleteExpired = %d, %v; want %d", n, err, left)
		}
	}
	want("a", "two", true)
	must(t, sessions.DeleteCtx(t.Context(), "a"))
	must(t, sessions.DeleteCtx(t.Context(), "a"))
	want("a", "", false)
}
