package postgres

import (
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"time"

	"github.com/jackc/pgx/v5"
)

// Dump writes a backup of everything but sessions, as it is at one instant,
// while others go on working. It holds the hashes of passwords and tokens and
// the names and addresses of people: keep it as safe as the database.
func (s *Store) Dump(ctx context.Context, w io.Writer, progress Progress) error {
	opts := pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
	err := pgx.BeginTxFunc(ctx, s.pool, opts, func(pg pgx.Tx) error {
		c := conn{pg}
		if err := s.enterSystem(ctx, c); err != nil {
			return err
		}
		d := dumper{conn: c, zip: gzip.NewWriter(w), sum: sha256.New(), progress: progress}
		if err := d.all(ctx); err != nil {
			return err
		}
		return d.zip.Close()
	})
	if err != nil {
		return fmt.Errorf("back up: %w", err)
	}
	return nil
}

// dumper is a backup being written.
type dumper struct {
	conn
	zip      *gzip.Writer
	sum      hash.Hash
	done     int64 // rows of the table being written
	progress Progress
}

func (d *dumper) all(ctx context.Context) error {
	if err := d.head(ctx); err != nil {
		return err
	}
	workshops, err := rows(ctx, d.conn, pgx.RowTo[string], `SELECT id::text FROM workshops ORDER BY id`)
	if err != nil {
		return err
	}
	for _, table := range backupTables {
		if err := d.table(ctx, table, workshops); err != nil {
			return fmt.Errorf("%s: %w", table, err)
		}
	}
	return d.line(backupLine{SHA256: hex.EncodeToString(d.sum.Sum(nil))})
}

func (d *dumper) head(ctx context.Context) error {
	schema, err := schemaVersion(ctx, d.conn)
	if err != nil {
		return err
	}
	var at time.Time
	if err := d.one(ctx, `SELECT transaction_timestamp()`, nil, &at); err != nil {
		return err
	}
	at = at.UTC().Truncate(time.Second)
	return d.line(backupLine{Format: backupFormat, Schema: schema, TakenAt: &at})
}

// table writes a table's rows, workshop by workshop since row-level security
// shows no more at once.
func (d *dumper) table(ctx context.Context, table string, workshops []string) error {
	columns, err := columnsOf(ctx, d.conn, table)
	if err != nil {
		return err
	}
	if err := d.line(backupLine{Table: table, Columns: columns}); err != nil {
		return err
	}
	d.done = 0
	sql := "SELECT row_to_json(t)::text FROM " + table + " AS t"
	if key := workshopKey(table); key == "" {
		err = d.write(ctx, table, sql+" ORDER BY 1")
	} else {
		for _, workshop := range workshops {
			if err = d.workshop(ctx, workshop); err != nil {
				break
			}
			if err = d.write(ctx, table, sql+" WHERE "+key+" = $1 ORDER BY 1", workshop); err != nil {
				break
			}
		}
	}
	d.progress.tell(table, d.done)
	return err
}

// workshop opens one workshop to the statements that follow.
func (d *dumper) workshop(ctx context.Context, id string) error {
	var b pgx.Batch
	queueEnter(&b, id)
	return d.send(ctx, &b)
}

// write writes what a query gives.
func (d *dumper) write(ctx context.Context, table, sql string, args ...any) error {
	found, err := d.pg.Query(ctx, sql, args...)
	if err != nil {
		return translate(err)
	}
	defer found.Close()
	for found.Next() {
		var row string
		if err := found.Scan(&row); err != nil {
			return err
		}
		if err := d.line(backupLine{Row: json.RawMessage(row)}); err != nil {
			return err
		}
		if d.done++; d.done%tellEvery == 0 {
			d.progress.tell(table, d.done)
		}
	}
	return found.Err()
}

func (d *dumper) line(l backupLine) error {
	raw, err := json.Marshal(l)
	if err != nil {
		return err
	}
	_, err = io.MultiWriter(d.zip, d.sum).Write(append(raw, '\n'))
	return err
}
