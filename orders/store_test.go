package orders_test

import (
	"context"
	"log/slog"
	"os"
	"testing"

	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

// openStore opens a database of the test's own.
func openStore(t testing.TB) *postgres.Store {
	t.Helper()
	db := pgtest.New(t, func(ctx context.Context, url string) error {
		return postgres.Migrate(ctx, url, slog.New(slog.DiscardHandler))
	})
	store, err := postgres.Open(context.Background(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	return store
}
