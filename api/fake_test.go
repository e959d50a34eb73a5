package api

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"testing"
	"time"

	"ripeline/orders"
)

// noon is the clock of these tests.
var noon = time.Date(2026, 12, 3, 12, 0, 0, 0, time.UTC)

// downStore is a database that can not be reached.
type downStore struct{}

var errDown = errors.New("dial 10.1.2.3:5432: connection refused")

func (downStore) Write(context.Context, string, func(orders.Tx) error) error { return errDown }
func (downStore) Read(context.Context, string, func(orders.Tx) error) error  { return errDown }
func (downStore) System(context.Context, func(orders.SystemTx) error) error  { return errDown }

// plainConfig is a configuration without a database behind it.
func plainConfig() Config {
	clock := func() time.Time { return noon }
	return Config{
		Book: orders.NewBook(downStore{}, clock), BaseURL: "https://soap.example", Now: clock,
		Log: slog.New(slog.DiscardHandler), Version: "test",
	}
}

func mustNew(t *testing.T, cfg Config) http.Handler {
	t.Helper()
	h, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return h
}
