package postgres_test

import (
	"errors"
	"io/fs"
	"strings"
	"sync"
	"testing"

	"ripeline/migrations"
	"ripeline/orders/postgres"
)

func TestReplicasMayMigrateAtOnce(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	owner := connect(t, db.OwnerURL)
	for _, sql := range []string{`DROP SCHEMA public CASCADE`, `CREATE SCHEMA public`} {
		if _, err := owner.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	var group sync.WaitGroup
	var errs [4]error
	for i := range errs {
		group.Go(func() { errs[i] = migrate(t.Context(), db.OwnerURL) })
	}
	group.Wait()
	must(t, errors.Join(errs[:]...))
	files, err := fs.Glob(migrations.Files, "*.sql")
	must(t, err)
	if n := query[int](t, owner, `SELECT count(*) FROM goose_db_version WHERE version_id > 0`)[0]; n != len(files) {
		t.Errorf("%d migrations noted, want %d", n, len(files))
	}
	newWorld(t, open(t, db.AppURL), "tideline") // the service's role may use the new schema
}

func TestOlderProgramRefusesNewerSchema(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	owner := connect(t, db.OwnerURL)
	_, err := owner.Exec(t.Context(), `INSERT INTO goose_db_version (version_id, is_applied) VALUES (9000, true)`)
	must(t, err)
	err = migrate(t.Context(), db.OwnerURL)
	if !errors.Is(err, postgres.ErrNewerSchema) || !strings.Contains(err.Error(), "version 9000") {
		t.Errorf("got %v, want ErrNewerSchema that names version 9000", err)
	}
}

func TestServiceRoleIsNotNeeded(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	newWorld(t, open(t, db.OwnerURL), "tideline")
}

func TestMigrationsSayWhy(t *testing.T) {
	t.Parallel()
	files, err := fs.Glob(migrations.Files, "*.sql")
	must(t, err)
	for _, name := range files {
		text, err := fs.ReadFile(migrations.Files, name)
		must(t, err)
		if !strings.HasPrefix(string(text), "-- Why: ") {
			t.Errorf("%s does not begin by saying why it exists", name)
		}
	}
}
