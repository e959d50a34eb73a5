package postgres_test

import (
	"context"
	"errors"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/orders/postgres/pgtest"
)

// ofNoWorkshop are the tables that belong to the installation.
var ofNoWorkshop = []string{"goose_db_version", "secrets", "sessions", "sign_ins", "workshops"}

// roles are the ways to connect: the two roles of the private cluster, and a
// superuser as the single role for everything.
func roles(t *testing.T, db *pgtest.DB) map[string]string {
	t.Helper()
	admin := adminURL(t, db)
	must(t, migrate(t.Context(), admin))
	return map[string]string{"app": db.AppURL, "owner": db.OwnerURL, "superuser": admin}
}

const allTables = `SELECT relname::text FROM pg_class
	WHERE relkind IN ('r', 'p', 'v', 'm') AND relnamespace = 'public'::regnamespace ORDER BY relname`

// workshopTables are the tables that hold rows of a workshop, from the catalog.
func workshopTables(t *testing.T, conn *pgx.Conn) []string {
	t.Helper()
	tables := query[string](t, conn, allTables)
	return slices.DeleteFunc(tables, func(table string) bool {
		return table != "workshops" && slices.Contains(ofNoWorkshop, table)
	})
}

func keyOf(table string) string {
	if table == "workshops" {
		return "id"
	}
	return "workshop_id"
}

// countRows counts a workshop's rows in each of its tables.
func countRows(t *testing.T, s *postgres.Store, workshop string) map[string]int {
	t.Helper()
	counts := map[string]int{}
	read(t, s, workshop, func(tx orders.Tx) error {
		raw := postgres.Raw(tx)
		for _, table := range workshopTables(t, raw.Conn()) {
			var n int
			if err := raw.QueryRow(t.Context(), "SELECT count(*) FROM "+table+" WHERE "+keyOf(table)+" = $1", workshop).Scan(&n); err != nil {
				return err
			}
			counts[table] = n
		}
		return nil
	})
	return counts
}

func TestEveryTableIsGuarded(t *testing.T) {
	t.Parallel()
	conn := connect(t, newDB(t).OwnerURL)
	for _, table := range query[string](t, conn, allTables) {
		owned := query[bool](t, conn, `SELECT EXISTS (SELECT FROM information_schema.columns
			WHERE table_schema = 'public' AND table_name = $1 AND column_name = 'workshop_id' AND is_nullable = 'NO')`, table)[0]
		if !owned && !slices.Contains(ofNoWorkshop, table) {
			t.Errorf("%s has no workshop_id", table)
		}
		if !owned && table != "workshops" {
			continue
		}
		guarded := query[bool](t, conn, `SELECT relrowsecurity AND relforcerowsecurity AND EXISTS (
				SELECT FROM pg_policy WHERE polrelid = c.oid AND polname = 'own_workshop' AND polcmd = '*')
			FROM pg_class c WHERE oid = $1::text::regclass`, table)[0]
		if !guarded {
			t.Errorf("%s is not guarded by forced row-level security", table)
		}
	}
}

func TestReferencesStayInTheWorkshop(t *testing.T) {
	t.Parallel()
	conn := connect(t, newDB(t).OwnerURL)
	loose := query[string](t, conn, `SELECT format('%s of %s', conname, conrelid::regclass) FROM pg_constraint c
		WHERE contype = 'f' AND confrelid <> 'workshops'::regclass AND NOT EXISTS (
			SELECT FROM unnest(conkey, confkey) AS pair (mine, theirs)
			JOIN pg_attribute m ON m.attrelid = conrelid AND m.attnum = mine AND m.attname = 'workshop_id'
			JOIN pg_attribute o ON o.attrelid = confrelid AND o.attnum = theirs AND o.attname = 'workshop_id')`)
	if len(loose) > 0 {
		t.Errorf("these references could point into another workshop: %v", loose)
	}
	if n := query[int](t, conn, `SELECT count(*) FROM pg_constraint WHERE contype = 'f'`)[0]; n < 30 {
		t.Errorf("only %d references found", n)
	}
}

func TestWorkshopsCanNotReachEachOther(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	for name, url := range roles(t, db) {
		t.Run(name, func(t *testing.T) {
			s := open(t, url)
			mine, theirs := newWorld(t, s, "mine-"+name), newWorld(t, s, "theirs-"+name)
			before := countRows(t, s, theirs.ID)
			for table, n := range before {
				if n == 0 {
					t.Fatalf("the test world has no rows in %s", table)
				}
			}
			write(t, s, mine.ID, func(tx orders.Tx) error {
				raw := postgres.Raw(tx)
				for table := range before {
					wantUnreachable(t, raw, table, theirs.ID)
				}
				return nil
			})
			for table, n := range countRows(t, s, theirs.ID) {
				if n != before[table] {
					t.Errorf("%s went from %d rows to %d", table, before[table], n)
				}
			}
		})
	}
}

// wantUnreachable wants another workshop's rows neither seen nor written.
func wantUnreachable(t *testing.T, raw pgx.Tx, table, other string) {
	t.Helper()
	key := keyOf(table)
	var seen int
	must(t, raw.QueryRow(t.Context(), "SELECT count(*) FROM "+table+" WHERE "+key+" = $1", other).Scan(&seen))
	if seen != 0 {
		t.Errorf("%s shows %d rows of another workshop", table, seen)
	}
	for _, sql := range []string{
		"UPDATE " + table + " SET " + key + " = " + key + " WHERE " + key + " = $1",
		"DELETE FROM " + table + " WHERE " + key + " = $1",
	} {
		if n, err := attempt(t, raw, sql, other); n != 0 || (err != nil && err.Code != "42501") {
			t.Errorf("%s touched %d rows: %v", sql, n, err)
		}
	}
	// One's own row, made over to the other workshop.
	sql := "INSERT INTO " + table + " SELECT (jsonb_populate_record(mine, jsonb_build_object('" + key + "', $1::text))).* FROM " + table + " AS mine LIMIT 1"
	if n, err := attempt(t, raw, sql, other); n != 0 || err == nil || err.Code != "42501" {
		t.Errorf("%s: %d rows, %v; want a refusal by row-level security", sql, n, err)
	}
}

// attempt runs a statement that may fail without ending the transaction.
func attempt(t *testing.T, raw pgx.Tx, sql string, args ...any) (int64, *pgconn.PgError) {
	t.Helper()
	var touched int64
	err := pgx.BeginFunc(t.Context(), raw, func(nested pgx.Tx) error {
		tag, err := nested.Exec(t.Context(), sql, args...)
		touched = tag.RowsAffected()
		return err
	})
	var pg *pgconn.PgError
	if err != nil && !errors.As(err, &pg) {
		t.Fatalf("%s: %v", sql, err)
	}
	return touched, pg
}

func TestSystemSeesOnlyWhatItLooksUp(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	lookedUp := []string{"api_tokens", "deliveries", "feeds", "people", "workshops"}
	for name, url := range roles(t, db) {
		t.Run(name, func(t *testing.T) {
			s := open(t, url)
			w := newWorld(t, s, name)
			system(t, s, func(tx orders.SystemTx) error {
				raw := postgres.RawSystem(tx)
				for _, table := range workshopTables(t, raw.Conn()) {
					var seen int
					must(t, raw.QueryRow(t.Context(), "SELECT count(*) FROM "+table).Scan(&seen))
					if (seen > 0) != slices.Contains(lookedUp, table) {
						t.Errorf("%s shows %d rows across workshops", table, seen)
					}
					sql := "UPDATE " + table + " SET " + keyOf(table) + " = " + keyOf(table) + " WHERE " + keyOf(table) + " = $1"
					n, err := attempt(t, raw, sql, w.ID)
					if (n > 0) != (table == "deliveries") || (err != nil && err.Code != "42501") {
						t.Errorf("%s: %d rows changed across workshops: %v", table, n, err)
					}
				}
				return nil
			})
		})
	}
}

func TestNothingIsSeenWithoutAWorkshop(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	newWorld(t, open(t, db.AppURL), "tideline")
	for _, url := range []string{db.AppURL, db.OwnerURL} {
		conn := connect(t, url)
		for _, table := range workshopTables(t, conn) {
			if n := query[int](t, conn, "SELECT count(*) FROM "+table)[0]; n != 0 {
				t.Errorf("%s shows %d rows to who names no workshop", table, n)
			}
		}
	}
}

func TestRoleThatEscapesAndCanNotStepDownIsRefused(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	admin := connect(t, adminURL(t, db))
	const role = "ripeline_test_escapes"
	_, err := admin.Exec(t.Context(), "CREATE ROLE "+role+" LOGIN BYPASSRLS PASSWORD 'ripeline_test'")
	must(t, err)
	t.Cleanup(func() {
		if _, err := admin.Exec(context.Background(), "DROP ROLE "+role); err != nil {
			t.Error(err)
		}
	})
	s, err := postgres.Open(t.Context(), asRole(t, db.OwnerURL, role))
	if err == nil {
		s.Close()
		t.Fatal("Open accepted a role that row-level security does not bind")
	}
	t.Log(err)
}
