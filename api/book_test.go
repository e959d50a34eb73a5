package api

import (
	"context"
	"log/slog"
	"os"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

// newBook is an order book in a database of its own.
func newBook(t testing.TB, clock func() time.Time) *orders.Book {
	t.Helper()
	db := pgtest.New(t, func(ctx context.Context, url string) error {
		return postgres.Migrate(ctx, url, slog.New(slog.DiscardHandler))
	})
	store, err := postgres.Open(t.Context(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	return orders.NewBook(store, clock)
}
