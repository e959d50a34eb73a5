package postgres_test

import (
	"context"
	"errors"
	"log/slog"
	"net/url"
	"os"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
	"ripeline/orders/localpg"
	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

func migrate(ctx context.Context, ownerURL string) error {
	return postgres.Migrate(ctx, ownerURL, slog.New(slog.DiscardHandler))
}

// newDB is a migrated database of the test's own.
func newDB(t *testing.T) *pgtest.DB {
	t.Helper()
	return pgtest.New(t, migrate)
}

// open opens a store that the end of the test closes.
func open(t *testing.T, url string) *postgres.Store {
	t.Helper()
	s, err := postgres.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// newStore opens a new database in the service's role.
func newStore(t *testing.T) *postgres.Store {
	t.Helper()
	return open(t, newDB(t).AppURL)
}

// adminURL is the database as a superuser.
func adminURL(t *testing.T, db *pgtest.DB) string {
	t.Helper()
	outside := os.Getenv("DATABASE_URL_TEST")
	if outside == "" {
		return asRole(t, db.OwnerURL, localpg.AdminRole)
	}
	admin, err := url.Parse(outside)
	must(t, err)
	owner, err := url.Parse(db.OwnerURL)
	must(t, err)
	admin.Path = owner.Path
	return admin.String()
}

// asRole is a database's URL in another role with the same password.
func asRole(t *testing.T, address, role string) string {
	t.Helper()
	u, err := url.Parse(address)
	must(t, err)
	if password, ok := u.User.Password(); ok {
		u.User = url.UserPassword(role, password)
	} else {
		u.User = url.User(role)
	}
	return u.String()
}

// connect opens a plain connection that the end of the test closes.
func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := conn.Close(context.Background()); err != nil {
			t.Error(err)
		}
	})
	return conn
}

// query runs a query for values of one type.
func query[T any](t *testing.T, conn *pgx.Conn, sql string, args ...any) []T {
	t.Helper()
	rows, err := conn.Query(t.Context(), sql, args...)
	if err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	all, err := pgx.CollectRows(rows, pgx.RowTo[T])
	if err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return all
}

// must stops the test on an error.
func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// wantInvalid wants an *orders.Invalid that names the field.
func wantInvalid(t *testing.T, err error, field string) {
	t.Helper()
	var invalid *orders.Invalid
	if !errors.As(err, &invalid) {
		t.Errorf("got %v, want an Invalid at %s", err, field)
		return
	}
	if invalid.Fields[0].Field != field || invalid.Fields[0].Message == "" {
		t.Errorf("got %+v, want an Invalid at %s", invalid.Fields, field)
	}
}

// write and read run fn in a transaction and stop the test on an error.
func write(t testing.TB, s *postgres.Store, workshop string, fn func(orders.Tx) error) {
	t.Helper()
	must(t, s.Write(t.Context(), workshop, fn))
}

func read(t testing.TB, s *postgres.Store, workshop string, fn func(orders.Tx) error) {
	t.Helper()
	must(t, s.Read(t.Context(), workshop, fn))
}

// system runs fn across workshops and stops the test on an error.
func system(t testing.TB, s *postgres.Store, fn func(orders.SystemTx) error) {
	t.Helper()
	must(t, s.System(t.Context(), fn))
}

// noon is an instant on a day of the year the tests play in.
func noon(month time.Month, day int) time.Time {
	return time.Date(2027, month, day, 12, 0, 0, 0, time.UTC)
}

// derived are fields that are worked out of other records when they are read.
var derived = []string{"Ingredient.OnHand", "Ingredient.Expired", "Ingredient.Ends", "Ingredient.ExpectedOn", "Ingredient.Lots", "Lot.Used"}

// unset lists the fields of v that are zero, so that a sample of a record
// proves to fill every one: a field that is not stored would go unnoticed.
func unset(path string, v reflect.Value) []string {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return []string{path}
		}
		return unset(path, v.Elem())
	case reflect.Slice:
		if v.Len() == 0 {
			return []string{path}
		}
		return unset(path+"[0]", v.Index(0))
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			break
		}
		var all []string
		for i := range v.NumField() {
			name := v.Type().Field(i).Name
			if name != "Meta" && !slices.Contains(derived, v.Type().Name()+"."+name) {
				all = append(all, unset(path+"."+name, v.Field(i))...)
			}
		}
		return all
	}
	if v.IsZero() {
		return []string{path}
	}
	return nil
}
