package postgres_test

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"ripeline/orders"
	"ripeline/orders/postgres"
)

func dump(t *testing.T, s *postgres.Store) []byte {
	t.Helper()
	var file bytes.Buffer
	must(t, s.Dump(t.Context(), &file, nil))
	return file.Bytes()
}

// unzipped are the lines of a backup.
func unzipped(t *testing.T, file []byte) []string {
	t.Helper()
	zip, err := gzip.NewReader(bytes.NewReader(file))
	must(t, err)
	text, err := io.ReadAll(zip)
	must(t, err)
	return strings.SplitAfter(strings.TrimSuffix(string(text), "\n"), "\n")
}

// zipped is the reverse, with no regard to the check sum.
func zipped(t *testing.T, lines []string) []byte {
	t.Helper()
	var file bytes.Buffer
	zip := gzip.NewWriter(&file)
	_, err := io.WriteString(zip, strings.Join(lines, "")+"\n")
	must(t, errors.Join(err, zip.Close()))
	return file.Bytes()
}

func TestBackupHoldsEveryTable(t *testing.T) {
	t.Parallel()
	conn := connect(t, newDB(t).OwnerURL)
	tables := query[string](t, conn, allTables)
	tables = slices.DeleteFunc(tables, func(table string) bool { return table == "sessions" || table == "goose_db_version" })
	if held := slices.Sorted(slices.Values(postgres.BackupTables())); !slices.Equal(held, tables) {
		t.Errorf("a backup holds\n     %v\nwant %v", held, tables)
	}
}

func TestBackupComesBack(t *testing.T) {
	t.Parallel()
	from, to := newDB(t), newDB(t)
	for name, url := range roles(t, from) {
		newWorld(t, open(t, url), name)
	}
	source := open(t, from.AppURL)
	system(t, source, func(tx orders.SystemTx) error {
		return errors.Join(tx.SetSecret(t.Context(), "session-key", []byte{0, 1, 255}),
			tx.AddSignIn(t.Context(), "maud@example.org", "10.0.0.1", noon(3, 1)))
	})
	file := dump(t, source)
	for name, url := range roles(t, from) {
		if !sameRows(t, dump(t, open(t, url)), file) {
			t.Errorf("as %s the backup holds something else", name)
		}
	}

	target := open(t, to.OwnerURL)
	system(t, target, func(tx orders.SystemTx) error { // what a program leaves that was started once
		return tx.SetSecret(t.Context(), "setup", []byte("unused"))
	})
	told := map[string]int64{}
	must(t, target.Load(t.Context(), bytes.NewReader(file), func(table string, rows int64) { told[table] = rows }))
	if !sameRows(t, dump(t, target), file) {
		t.Error("what was restored is not what was backed up")
	}
	for _, table := range postgres.BackupTables() {
		if told[table] == 0 {
			t.Errorf("no progress told of %s: %v", table, told)
		}
	}
	if err := target.Load(t.Context(), bytes.NewReader(file), nil); !errors.Is(err, postgres.ErrNotEmpty) {
		t.Errorf("restored twice: %v, want ErrNotEmpty", err)
	}
	restored := open(t, to.AppURL) // the service goes on from there
	w := newWorld(t, restored, "afterwards")
	write(t, restored, w.ID, func(tx orders.Tx) error {
		_, err := tx.NextOrderNumber(t.Context())
		return err
	})
}

// sameRows reports whether two backups differ in when they were taken only.
func sameRows(t *testing.T, a, b []byte) bool {
	t.Helper()
	x, y := unzipped(t, a), unzipped(t, b)
	return slices.Equal(x[1:len(x)-1], y[1:len(y)-1])
}

func TestUnusableBackupsAreRefusedWhole(t *testing.T) {
	t.Parallel()
	source := newStore(t)
	w := newWorld(t, source, "tideline")
	file := dump(t, source)
	lines := unzipped(t, file)
	target := newStore(t)

	edited := func(edit func([]string) []string) []byte { return zipped(t, edit(slices.Clone(lines))) }
	row := slices.IndexFunc(lines, func(line string) bool { return strings.Contains(line, "long loaf") })
	broken := slices.Clone(file)
	broken[len(broken)/2] ^= 0xff
	bad := map[string][]byte{
		"empty":       {},
		"not gzip":    []byte("molds\n"),
		"other gzip":  zipped(t, []string{"molds"}),
		"bits":        broken,
		"no end":      edited(func(l []string) []string { return l[:len(l)-1] }),
		"row missing": edited(func(l []string) []string { return slices.Delete(l, row, row+1) }),
		"row changed": edited(func(l []string) []string { l[row] = strings.Replace(l[row], "long loaf", "lame loaf", 1); return l }),
		"row of none": edited(func(l []string) []string { l[row] = "{\"row\":{}}\n"; return l }),
		"more behind": edited(func(l []string) []string { return append(l, "\n", lines[row]) }),
		"newer schema": edited(func(l []string) []string {
			l[0] = strings.Replace(l[0], `"schema":`, `"schema":9`, 1)
			return l
		}),
		"newer format":   edited(func(l []string) []string { l[0] = strings.Replace(l[0], `_backup":1`, `_backup":2`, 1); return l }),
		"unknown table":  edited(func(l []string) []string { l[1] = "{\"table\":\"pg_authid\",\"columns\":[]}\n"; return l }),
		"unknown column": edited(func(l []string) []string { l[1] = strings.Replace(l[1], `"units"`, `"unit"`, 1); return l }),
	}
	for cut := 1; cut < len(file); cut += len(file)/20 + 1 {
		bad["cut at "+string(rune('a'+cut*20/len(file)))] = file[:cut]
	}
	for _, name := range slices.Sorted(maps.Keys(bad)) {
		err := target.Load(t.Context(), bytes.NewReader(bad[name]), nil)
		if !errors.Is(err, postgres.ErrBackup) {
			t.Errorf("%s: %v, want ErrBackup", name, err)
		}
	}
	system(t, target, func(tx orders.SystemTx) error {
		n, err := tx.CountWorkshops(t.Context())
		if n != 0 {
			t.Errorf("%d workshops came of unusable backups", n)
		}
		return err
	})
	must(t, target.Load(t.Context(), bytes.NewReader(file), nil))
	if n := countRows(t, target, w.ID)["molds"]; n != 1 {
		t.Errorf("%d molds after the good backup, want 1", n)
	}
}
