package postgres

import (
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"ripeline/orders"
)

// The codes this package tells apart (PostgreSQL's manual, appendix A).
const (
	notNullViolation    = "23502"
	foreignKeyViolation = "23503"
	uniqueViolation     = "23505"
	checkViolation      = "23514"
	notInEncoding       = "22021"
	untranslatable      = "22P05"
)

// translate turns a database error into the orders error it means. What is a
// fault of the service comes back as it is.
func translate(err error) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return orders.ErrNotFound
	}
	var pg *pgconn.PgError
	if !errors.As(err, &pg) {
		return err
	}
	switch pg.Code {
	case uniqueViolation:
		return invalid(fieldOf(pg), taken(pg))
	case foreignKeyViolation:
		return invalid(fieldOf(pg), "there is no such record in this workshop; choose one that exists")
	case checkViolation:
		return invalid(fieldOf(pg), fmt.Sprintf("can not be stored like this (rule %s); correct it", pg.ConstraintName))
	case notNullViolation:
		return invalid(pg.ColumnName, "is missing; give it")
	case notInEncoding, untranslatable:
		return invalid("text", "has a character that can not be stored; type it again")
	}
	return err
}

func invalid(field, message string) error {
	return &orders.Invalid{Fields: []orders.FieldError{{Field: field, Message: message}}}
}

// fieldOf is the JSON name of the field that a constraint named table__field
// is about, within the record that a person edits.
func fieldOf(pg *pgconn.PgError) string {
	_, field, ok := strings.Cut(pg.ConstraintName, "__")
	if !ok {
		return "id" // a primary key
	}
	switch pg.TableName {
	case "hours", "order_lines", "recipe_parts", "batch_molds", "batch_losses", "batch_weighings", "batch_uses":
		return partField[pg.TableName] + "." + field
	case "design_molds":
		return "mold_ids"
	case "trial_fragrances":
		return "fragrance_ids"
	}
	return field
}

// partField is the field of a record whose rows are kept in a table of their own.
var partField = map[string]string{
	"hours": "hours", "order_lines": "lines", "recipe_parts": "parts",
	"batch_molds": "molds", "batch_losses": "losses", "batch_weighings": "weighings",
	"batch_uses": "lots_used",
}

func taken(pg *pgconn.PgError) string {
	switch pg.ConstraintName {
	case "batches__lot":
		return "another batch has this lot code; choose another"
	case "orders__number":
		return "another order has this number; choose another"
	case "people__email":
		return "someone already signs in with this e-mail address; use another"
	case "allocations__line_id":
		return "these pieces are given to this order line already; add them up"
	}
	return "is there already; choose another"
}

// inUse says that a record can not be deleted because of the other records
// that name it. noun is the record's kind.
func inUse(err error, noun string) error {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) || pg.Code != foreignKeyViolation {
		return translate(err)
	}
	return &orders.Conflict{Message: fmt.Sprintf(
		"This %s is still used by %s, so it stays. Take it out there first, or retire it instead.", noun, users[pg.TableName])}
}

// users names the records kept in a table, for inUse.
var users = map[string]string{
	"recipe_parts": "a recipe", "trials": "a trial", "trial_fragrances": "a trial", "designs": "a design", "design_molds": "a design", "orders": "an order",
	"order_lines": "an order", "batches": "a batch", "batch_molds": "a batch", "stocks": "stock",
	"batch_uses": "a batch", "ingredient_lots": "a lot", "purchases": "something on order",
}

// stale says that a record was changed by someone else.
func stale(noun string) error {
	return &orders.Conflict{Message: fmt.Sprintf(
		"Someone changed this %s since you opened it, so nothing was saved. Open it again and repeat your change.", noun)}
}
