package postgres

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"ripeline/orders"
)

// Rows are loaded in groups of at most this many, and of about this size.
const (
	groupRows  = 500
	groupBytes = 4 << 20
)

// Load restores a backup into a migrated database that holds no workshop:
// all of it, or nothing. The error wraps ErrBackup or ErrNotEmpty when the
// file or the database is the reason.
func (s *Store) Load(ctx context.Context, r io.Reader, progress Progress) error {
	zip, err := gzip.NewReader(r)
	if err != nil {
		return fmt.Errorf("restore: %w: it is not a file that ripeline backup made (%w)", ErrBackup, err)
	}
	err = pgx.BeginTxFunc(ctx, s.pool, pgx.TxOptions{}, func(pg pgx.Tx) error {
		c := conn{pg}
		if err := s.enterSystem(ctx, c); err != nil {
			return err
		}
		l := loader{conn: c, lines: bufio.NewReaderSize(zip, 1<<16), sum: sha256.New(), progress: progress}
		return l.all(ctx)
	})
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	return nil
}

// loader is a backup being read.
type loader struct {
	conn
	lines    *bufio.Reader
	schema   int64     // that the file was made with
	sum      hash.Hash // of the lines so far
	progress Progress

	table    string   // whose rows are being read
	columns  []string // that the file has of it
	done     int64    // its rows so far
	workshop string   // whose the group's rows are
	group    bytes.Buffer
	grouped  int
}

func (l *loader) all(ctx context.Context) error {
	if err := l.head(ctx); err != nil {
		return err
	}
	if err := l.claim(ctx); err != nil {
		return err
	}
	for {
		sum := hex.EncodeToString(l.sum.Sum(nil))
		line, err := l.next()
		switch {
		case err != nil:
			return err
		case line.SHA256 != "":
			return l.end(ctx, line.SHA256, sum)
		case line.Table != "":
			err = l.open(ctx, line)
		case line.Row != nil:
			err = l.row(ctx, line.Row)
		default:
			err = fmt.Errorf("%w: it has a line of an unknown kind; the file is damaged", ErrBackup)
		}
		if err != nil {
			return err
		}
	}
}

// next reads a line. A file that ends before its last line was cut short.
func (l *loader) next() (backupLine, error) {
	raw, err := l.lines.ReadBytes('\n')
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return backupLine{}, fmt.Errorf("%w: it was cut short; copy the file again", ErrBackup)
	case err != nil:
		return backupLine{}, fmt.Errorf("%w: the file is damaged (%w); copy it again", ErrBackup, err)
	}
	l.sum.Write(raw) // a hash never fails to write
	return readLine(raw)
}

// head checks that the backup is of a kind and schema this program knows.
func (l *loader) head(ctx context.Context) error {
	first, err := l.next()
	if err != nil {
		return err
	}
	known, err := schemaVersion(ctx, l.conn)
	switch {
	case err != nil:
		return err
	case first.Format == 0:
		return fmt.Errorf("%w: it does not begin like one", ErrBackup)
	case first.Format > backupFormat, first.Schema > known:
		return fmt.Errorf("%w: it was made by a newer program (schema %d, this one knows %d); restore it with that one",
			ErrBackup, first.Schema, known)
	}
	l.schema = first.Schema
	return nil
}

// claim makes sure that the database is empty and stays so. A program that
// was started on it once has left secrets: the backup's take their place.
func (l *loader) claim(ctx context.Context) error {
	if _, err := l.exec(ctx, `LOCK TABLE workshops IN EXCLUSIVE MODE`); err != nil {
		return err
	}
	var held int
	if err := l.one(ctx, `SELECT count(*) FROM workshops`, nil, &held); err != nil {
		return err
	}
	if held > 0 {
		return fmt.Errorf("%w: it holds %d workshop(s); restore into a new database or an empty data directory", ErrNotEmpty, held)
	}
	var b pgx.Batch
	b.Queue(`DELETE FROM secrets`)
	b.Queue(`DELETE FROM sign_ins`)
	return l.send(ctx, &b)
}

// open begins a table.
func (l *loader) open(ctx context.Context, line backupLine) error {
	if err := l.flush(ctx); err != nil {
		return err
	}
	if !slices.Contains(backupTables[:], line.Table) {
		return fmt.Errorf("%w: it has a table %q that this program does not know", ErrBackup, line.Table)
	}
	known, err := columnsOf(ctx, l.conn, line.Table)
	if err != nil {
		return err
	}
	for _, c := range line.Columns {
		if !slices.Contains(known, c) {
			return fmt.Errorf("%w: its table %s has a column %q that this program does not know", ErrBackup, line.Table, c)
		}
	}
	l.table, l.columns, l.done = line.Table, line.Columns, 0
	return nil
}

// row adds a row to the group, after writing the group when it is full or of
// another workshop.
func (l *loader) row(ctx context.Context, row json.RawMessage) error {
	if l.table == "" {
		return fmt.Errorf("%w: it has a row before any table; the file is damaged", ErrBackup)
	}
	workshop, err := workshopOf(l.table, row)
	if err != nil {
		return err
	}
	if workshop != l.workshop || l.grouped == groupRows || l.group.Len() > groupBytes {
		if err := l.flush(ctx); err != nil {
			return err
		}
		l.workshop = workshop
	}
	l.group.WriteByte("[,"[min(l.grouped, 1)])
	l.group.Write(row)
	l.grouped++
	return nil
}

// workshopOf says whose a row is, "" when the installation's.
func workshopOf(table string, row json.RawMessage) (string, error) {
	key := workshopKey(table)
	if key == "" {
		return "", nil
	}
	var fields map[string]json.RawMessage
	var id string
	err := json.Unmarshal(row, &fields)
	if err == nil {
		err = json.Unmarshal(fields[key], &id)
	}
	if err != nil {
		return "", fmt.Errorf("%w: a row of %s does not say whose it is (%w); the file is damaged", ErrBackup, table, err)
	}
	return id, nil
}

// flush writes the group of rows.
func (l *loader) flush(ctx context.Context) error {
	if l.grouped == 0 {
		return nil
	}
	l.group.WriteByte(']')
	quoted := make([]string, len(l.columns))
	for i, c := range l.columns {
		quoted[i] = pgx.Identifier{c}.Sanitize()
	}
	var b pgx.Batch
	if l.workshop != "" {
		queueEnter(&b, l.workshop)
	}
	columns := strings.Join(quoted, ", ")
	b.Queue("INSERT INTO "+l.table+" ("+columns+") SELECT "+columns+" FROM json_populate_recordset(NULL::"+l.table+", $1::json)", l.group.String())
	if err := l.send(ctx, &b); err != nil {
		return refused(l.table, err)
	}
	l.done += int64(l.grouped)
	l.progress.tell(l.table, l.done)
	l.group.Reset()
	l.grouped = 0
	return nil
}

// refused tells rows that can not be from a database that can not answer.
func refused(table string, err error) error {
	var pg *pgconn.PgError
	if errors.As(err, &pg) || errors.Is(err, orders.ErrInvalid) {
		return fmt.Errorf("%w: rows of %s are refused: %w", ErrBackup, table, err)
	}
	return fmt.Errorf("load %s: %w", table, err)
}

// end checks that all that was written was read as it was written.
func (l *loader) end(ctx context.Context, written, sum string) error {
	if err := l.flush(ctx); err != nil {
		return err
	}
	if written != sum {
		return fmt.Errorf("%w: its check sum does not fit what it holds; the file is damaged, copy it again", ErrBackup)
	}
	if _, err := l.lines.ReadByte(); !errors.Is(err, io.EOF) {
		return fmt.Errorf("%w: there is something behind its end; the file is damaged, copy it again", ErrBackup)
	}
	if l.schema < trialsSchema {
		return l.recordTrials(ctx)
	}
	return nil
}
