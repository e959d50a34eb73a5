package postgres

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// A backup is gzip over lines of JSON:
//
//	{"ripeline_backup":1,"schema":8,"taken_at":"..."}   first
//	{"table":"molds","columns":["workshop_id","id",...]}  before the rows of a table
//	{"row":{"workshop_id":"...",...}}                     once per row
//	{"sha256":"..."}                                      last; of all lines before
//
// Columns are named so that a backup fits a newer schema, whose new columns
// then get their defaults. A file without its last line was cut short.

// backupFormat is the version of the lines, not of the schema.
const backupFormat = 1

// ErrBackup says that a file can not be restored: it is no backup, is damaged,
// or was made by a newer program.
var ErrBackup = errors.New("this backup can not be restored")

// ErrNotEmpty says that a database holds workshops already.
var ErrNotEmpty = errors.New("the database is not empty")

// Progress is told how many rows of a table are done, now and then and at its
// end. It may be nil.
type Progress func(table string, rows int64)

func (p Progress) tell(table string, rows int64) {
	if p != nil {
		p(table, rows)
	}
}

// tellEvery is after how many rows progress is told within a table.
const tellEvery = 1000

// backupLine is one line; exactly one of Format, Table, Row and SHA256 is there.
type backupLine struct {
	Format  int             `json:"ripeline_backup,omitempty"`
	Schema  int64           `json:"schema,omitempty"`
	TakenAt *time.Time      `json:"taken_at,omitempty"`
	Table   string          `json:"table,omitempty"`
	Columns []string        `json:"columns,omitempty"`
	Row     json.RawMessage `json:"row,omitempty"`
	SHA256  string          `json:"sha256,omitempty"`
}

func readLine(raw []byte) (backupLine, error) {
	var line backupLine
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(&line); err != nil {
		return line, fmt.Errorf("%w: a line of it can not be read (%w); the file is damaged", ErrBackup, err)
	}
	return line, nil
}

// backupTables are what a backup holds, in an order in which the rows they
// refer to come first. Sessions are left out: everyone signs in again.
var backupTables = [...]string{
	"workshops", "hours", "closed_days", "extra_windows", "molds", "mold_outs", "racks",
	"ingredients", "ingredient_lots", "purchases", "recipes", "recipe_parts", "trials", "trial_fragrances", "designs", "design_molds",
	"customers", "orders", "order_lines",
	"batches", "batch_molds", "batch_losses", "batch_weighings", "batch_makings", "batch_ticks", "batch_weight_checks", "batch_uses", "lot_counters", "stocks", "allocations",
	"plan_revisions", "proposals", "tasks",
	"people", "api_tokens", "feeds", "reminder_rules", "deliveries",
	"journal", "idempotency_keys", "sign_ins", "secrets",
}

// workshopKey is the column that tells whose a row of a table is, "" when it
// belongs to the installation.
func workshopKey(table string) string {
	switch table {
	case "workshops":
		return "id"
	case "sign_ins", "secrets":
		return ""
	}
	return "workshop_id"
}

// schemaVersion is the number of the last migration applied.
func schemaVersion(ctx context.Context, c conn) (int64, error) {
	var version int64
	if err := c.one(ctx, `SELECT max(version_id) FROM goose_db_version WHERE is_applied`, nil, &version); err != nil {
		return 0, fmt.Errorf("read the schema's version: %w", err)
	}
	return version, nil
}

// columnsOf are a table's columns, as they stand in it.
func columnsOf(ctx context.Context, c conn, table string) ([]string, error) {
	var names []string
	err := c.one(ctx, `SELECT array_agg(attname::text ORDER BY attnum) FROM pg_attribute
		WHERE attrelid = $1::regclass AND attnum > 0 AND NOT attisdropped`, []any{table}, &names)
	if err != nil {
		return nil, fmt.Errorf("read the columns of %s: %w", table, err)
	}
	return names, nil
}
