package postgres

import (
	"cmp"
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// column ties a column to a field: value is a pointer to the field, scanned
// into when reading and taken from when writing. One list of columns per
// record serves every statement about it.
type column struct {
	name  string
	value any
}

// The kinds of field that are not stored as they are. Use them as
// (*instant)(&field).
type (
	instant     time.Time // NULL when zero; read in UTC
	ref         string    // the id of a record of the workshop
	optionalRef string    // the same, NULL when empty
)

// Scan implements sql.Scanner.
func (i *instant) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*i = instant{}
	case time.Time:
		*i = instant(v.UTC())
	default:
		return fmt.Errorf("an instant cannot be read from a %T", src)
	}
	return nil
}

// Value implements driver.Valuer.
func (i *instant) Value() (driver.Value, error) {
	if t := time.Time(*i); !t.IsZero() {
		return t, nil
	}
	return nil, nil //nolint:nilnil // a nil driver.Value is how NULL is spelled
}

// Scan implements sql.Scanner.
func (r *optionalRef) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*r = ""
	case string:
		*r = optionalRef(v)
	default:
		return fmt.Errorf("an id cannot be read from a %T", src)
	}
	return nil
}

// Value implements driver.Valuer.
func (r *optionalRef) Value() (driver.Value, error) {
	if *r == "" {
		return nil, nil //nolint:nilnil // a nil driver.Value is how NULL is spelled
	}
	return string(*r), nil
}

// orElse is a word of which an empty one means, and is stored as, another.
type orElse[T ~string] struct {
	of   *T
	none T
}

// Scan implements sql.Scanner.
func (o *orElse[T]) Scan(src any) error {
	v, ok := src.(string)
	if !ok {
		return fmt.Errorf("a word cannot be read from a %T", src)
	}
	*o.of = T(v)
	return nil
}

// Value implements driver.Valuer.
func (o *orElse[T]) Value() (driver.Value, error) { return string(cmp.Or(*o.of, o.none)), nil }

// document is a field kept as JSONB; of is a pointer to it.
type document struct{ of any }

// list is a slice kept as a JSONB array: a nil one is stored as an empty one.
func list[T any](of *[]T) *document {
	return &document{of: (*items[T])(of)}
}

type items[T any] []T

// MarshalJSON implements json.Marshaler.
func (s items[T]) MarshalJSON() ([]byte, error) {
	if s == nil {
		return []byte("[]"), nil
	}
	return json.Marshal([]T(s))
}

// Scan implements sql.Scanner.
func (d *document) Scan(src any) error {
	switch v := src.(type) {
	case string:
		return json.Unmarshal([]byte(v), d.of)
	case []byte:
		return json.Unmarshal(v, d.of)
	}
	return fmt.Errorf("a document cannot be read from a %T", src)
}

// Value implements driver.Valuer.
func (d *document) Value() (driver.Value, error) {
	raw, err := json.Marshal(d.of)
	return string(raw), err
}

// arg is what the statement gets for the column.
func (c column) arg() (any, error) {
	switch v := c.value.(type) {
	case *ref:
		return string(*v), nil
	case *civil.Date:
		if !v.IsZero() && !v.Valid() {
			return nil, invalid(c.name, "is not a day of the calendar; write it as 2026-12-31")
		}
		return v.Value()
	case driver.Valuer:
		return v.Value()
	case *[]schedule.Step:
		if *v == nil {
			return []schedule.Step{}, nil // a nil slice would be NULL
		}
	}
	return c.value, nil
}

// checkRefs finds ids that no record can have, which the database would
// refuse without naming the field.
func checkRefs(prefix string, columns []column) error {
	var c orders.Check
	for _, col := range columns {
		var id string
		switch v := col.value.(type) {
		case *ref:
			id = string(*v)
		case *optionalRef:
			if *v == "" {
				continue
			}
			id = string(*v)
		default:
			continue
		}
		_, ok := canonicalID(id)
		c.Want(ok, prefix+col.name, "there is no such record in this workshop; choose one that exists")
	}
	return c.Err()
}

// args are what a statement gets for the columns, after first.
func args(first []any, columns []column) ([]any, error) {
	all := first
	for _, c := range columns {
		a, err := c.arg()
		if err != nil {
			return nil, fmt.Errorf("store %s: %w", c.name, err)
		}
		all = append(all, a)
	}
	return all, nil
}

// targets are what the columns are scanned into.
func targets(columns []column) []any {
	all := make([]any, len(columns))
	for i, c := range columns {
		all[i] = c.value
	}
	return all
}

// names lists the columns for SELECT and INSERT.
func names(columns []column) string {
	all := make([]string, len(columns))
	for i, c := range columns {
		all[i] = c.name
	}
	return strings.Join(all, ", ")
}

// placeholders is "$from, $from+1, ..." for the columns.
func placeholders(from int, columns []column) string {
	all := make([]string, len(columns))
	for i := range columns {
		all[i] = "$" + strconv.Itoa(from+i)
	}
	return strings.Join(all, ", ")
}

// assignments is "a = $from, b = $from+1, ..." for UPDATE.
func assignments(from int, columns []column) string {
	all := make([]string, len(columns))
	for i, c := range columns {
		all[i] = c.name + " = $" + strconv.Itoa(from+i)
	}
	return strings.Join(all, ", ")
}

// canonicalID is id as PostgreSQL writes a uuid; false when it is none.
func canonicalID(id string) (string, bool) {
	if len(id) != 36 {
		return "", false
	}
	parsed, err := uuid.Parse(id)
	return parsed.String(), err == nil
}

// newID is the id of a new record. It rises with time, which keeps indexes
// compact; what is shown to calendars as a UID is random instead.
func newID() (string, error) {
	id, err := uuid.NewV7()
	if err != nil {
		return "", fmt.Errorf("make an id: %w", err)
	}
	return id.String(), nil
}
