package postgres

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"ripeline/orders"
)

// Sizes of a page.
const (
	usualLimit = 50
	mostLimit  = 200
)

// listing says how a table is paged: sorted by keys, of which the last is
// unique, and filtered by SQL expressions that are empty where the list has no
// such filter.
type listing struct {
	keys   []sortKey
	newest bool   // last first
	status string // compared with ListQuery.Status
	parent string // an expression of type text, compared with ListQuery.Parent
	text   string // searched for ListQuery.Text
	live   string // a condition, unless ListQuery.All
	from   string // a date, compared with ListQuery.From
}

// sortKey is an expression that is never NULL, and its type.
type sortKey struct{ expr, typ string }

// by is a listing sorted by one expression, then by id.
func by(expr, typ string) []sortKey { return []sortKey{{expr, typ}, {"id", "uuid"}} }

// byName sorts by name without regard to case. The beginning of a long name is
// enough, and keeps cursors short.
func byName() []sortKey { return by("left(lower(name), 40)", "text") }

func (l listing) orderBy() string {
	direction := ""
	if l.newest {
		direction = " DESC"
	}
	exprs := make([]string, len(l.keys))
	for i, k := range l.keys {
		exprs[i] = k.expr + direction
	}
	return " ORDER BY " + strings.Join(exprs, ", ")
}

// marks are the keys as text, for a cursor.
func (l listing) marks() string {
	exprs := make([]string, len(l.keys))
	for i, k := range l.keys {
		exprs[i] = fmt.Sprintf("(%s)::text AS mark%d", k.expr, i)
	}
	return strings.Join(exprs, ", ")
}

// pageQuery is a statement under construction.
type pageQuery struct {
	where []string
	args  []any
}

// and adds a condition in which each %s is the placeholder of the next arg.
func (p *pageQuery) and(condition string, args ...any) {
	marks := make([]any, len(args))
	for i, a := range args {
		p.args = append(p.args, a)
		marks[i] = fmt.Sprintf("$%d", len(p.args))
	}
	p.where = append(p.where, fmt.Sprintf(condition, marks...))
}

// filter adds the conditions of q.
func (l listing) filter(p *pageQuery, q orders.ListQuery) error {
	var c orders.Check
	for _, f := range []struct{ field, value, expr, condition string }{
		{"status", q.Status, l.status, l.status + " = %s"},
		{"parent", q.Parent, l.parent, l.parent + " = lower(%s)"},
		{"text", q.Text, l.text, "position(lower(%s) IN lower(" + l.text + ")) > 0"},
	} {
		switch {
		case f.value == "":
		case f.expr == "":
			c.Add(f.field, "can not be used with this list; leave it out")
		default:
			p.and(f.condition, f.value)
		}
	}
	if l.live != "" && !q.All {
		p.and(l.live)
	}
	switch {
	case q.From.IsZero():
	case l.from == "":
		c.Add("from", "can not be used with this list; leave it out")
	default:
		p.and(l.from+" >= %s::date", q.From)
	}
	return c.Err()
}

// after adds the condition that rows come after those of the page before.
func (l listing) after(p *pageQuery, keys []string) {
	exprs, marks, given := make([]string, len(l.keys)), make([]string, len(l.keys)), make([]any, len(l.keys))
	for i, k := range l.keys {
		exprs[i], marks[i], given[i] = k.expr, "%s::text::"+k.typ, keys[i]
	}
	beyond := ") > ("
	if l.newest {
		beyond = ") < ("
	}
	p.and("("+strings.Join(exprs, ", ")+beyond+strings.Join(marks, ", ")+")", given...)
}

// readPage reads a page of a table's rows, given by their columns.
func readPage[T any](ctx context.Context, t *tx, table string, l listing, columns func(*T) []column, q orders.ListQuery) (orders.Page[T], error) {
	limit, err := checkLimit(q.Limit)
	if err != nil {
		return orders.Page[T]{}, err
	}
	var p pageQuery
	p.and("workshop_id = %s", t.workshop)
	if err := l.filter(&p, q); err != nil {
		return orders.Page[T]{}, err
	}
	if q.Cursor != "" {
		keys, err := openCursor(q.Cursor, table, len(l.keys))
		if err != nil {
			return orders.Page[T]{}, err
		}
		l.after(&p, keys)
	}
	p.args = append(p.args, limit+1)
	var zero T
	sql := fmt.Sprintf("SELECT %s, %s FROM %s WHERE %s%s LIMIT $%d", names(columns(&zero)), l.marks(), table,
		strings.Join(p.where, " AND "), l.orderBy(), len(p.args))
	marked, err := rows(ctx, t.conn, scanMarked(columns, len(l.keys)), sql, p.args...)
	if err != nil {
		return orders.Page[T]{}, badCursor(err, q.Cursor)
	}
	return cutPage(marked, limit, table)
}

// checkLimit is the page size asked for.
func checkLimit(limit int) (int, error) {
	if limit < 0 || limit > mostLimit {
		return 0, invalid("limit", fmt.Sprintf("must lie between 1 and %d", mostLimit))
	}
	if limit == 0 {
		return usualLimit, nil
	}
	return limit, nil
}

// marked is a record with its place in the list.
type marked[T any] struct {
	record T
	keys   []string
}

func scanMarked[T any](columns func(*T) []column, keys int) pgx.RowToFunc[marked[T]] {
	return func(row pgx.CollectableRow) (marked[T], error) {
		m := marked[T]{keys: make([]string, keys)}
		into := targets(columns(&m.record))
		for i := range m.keys {
			into = append(into, &m.keys[i])
		}
		err := row.Scan(into...)
		return m, err
	}
}

// cutPage makes a page of up to limit+1 rows.
func cutPage[T any](found []marked[T], limit int, table string) (orders.Page[T], error) {
	page := orders.Page[T]{Items: make([]T, 0, min(len(found), limit))}
	for i, m := range found {
		if i == limit {
			var err error
			page.Next, err = newCursor(table, found[i-1].keys)
			return page, err
		}
		page.Items = append(page.Items, m.record)
	}
	return page, nil
}

// place is what a cursor holds: the list and the keys of the last row seen.
type place struct {
	List  string   `json:"l"`
	After []string `json:"a"`
}

func newCursor(list string, after []string) (string, error) {
	raw, err := json.Marshal(place{list, after})
	if err != nil {
		return "", fmt.Errorf("make a cursor: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(raw), nil
}

func openCursor(cursor, list string, keys int) ([]string, error) {
	var p place
	raw, err := base64.RawURLEncoding.DecodeString(cursor)
	if err == nil {
		err = json.Unmarshal(raw, &p)
	}
	if err != nil || p.List != list || len(p.After) != keys || strings.ContainsRune(strings.Join(p.After, ""), 0) {
		return nil, errCursor()
	}
	return p.After, nil
}

func errCursor() error {
	return invalid("cursor", "is not one that this list gave; begin again without it")
}

// badCursor makes of a refused cast what it must be: a cursor that was made up.
func badCursor(err error, cursor string) error {
	const dataException = "22"
	var pg *pgconn.PgError
	if cursor != "" && errors.As(err, &pg) && strings.HasPrefix(pg.Code, dataException) {
		return errCursor()
	}
	return err
}
