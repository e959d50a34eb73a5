package postgres

import (
	"fmt"

	"github.com/jackc/pgx/v5"
)

// rowsOf is a list of values C within a record T, kept in order in a table of
// their own that has no ids: saving replaces them all.
type rowsOf[T, C any] struct {
	table   string
	parent  string // the column that holds the record's id
	field   string // the JSON name of the list
	of      func(*T) *[]C
	columns func(*C) []column
}

func (p rowsOf[T, C]) check(r *T) error {
	values := *p.of(r)
	for i := range values {
		if err := checkRefs(fmt.Sprintf("%s[%d].", p.field, i), p.columns(&values[i])); err != nil {
			return err
		}
	}
	return nil
}

func (p rowsOf[T, C]) queueLoad(b *pgx.Batch, workshop string, ids []string, records []*T) {
	byID := make(map[string]*[]C, len(ids))
	for i, id := range ids {
		byID[id] = p.of(records[i])
		*byID[id] = []C{}
	}
	var zero C
	sql := fmt.Sprintf("SELECT %[1]s, %[2]s FROM %[3]s WHERE workshop_id = $1 AND %[1]s = ANY($2::uuid[]) ORDER BY %[1]s, position",
		p.parent, names(p.columns(&zero)), p.table)
	b.Queue(sql, workshop, ids).Query(func(found pgx.Rows) error {
		defer found.Close()
		for found.Next() {
			var id string
			var value C
			if err := found.Scan(append([]any{&id}, targets(p.columns(&value))...)...); err != nil {
				return fmt.Errorf("read %s: %w", p.table, err)
			}
			*byID[id] = append(*byID[id], value)
		}
		return found.Err()
	})
}

func (p rowsOf[T, C]) queueSave(b *pgx.Batch, workshop, id string, r *T) error {
	b.Queue(fmt.Sprintf("DELETE FROM %s WHERE workshop_id = $1 AND %s = $2", p.table, p.parent), workshop, id)
	values := *p.of(r)
	for i := range values {
		columns := p.columns(&values[i])
		given, err := args([]any{workshop, id, i}, columns)
		if err != nil {
			return err
		}
		b.Queue(fmt.Sprintf("INSERT INTO %s (workshop_id, %s, position, %s) VALUES ($1, $2, $3, %s)",
			p.table, p.parent, names(columns), placeholders(4, columns)), given...)
	}
	return nil
}
