package postgres

import (
	"context"
	"fmt"

	"ripeline/orders"
)

func journalColumns(e *orders.JournalEntry) []column {
	return []column{
		{"id", &e.ID},
		{"at", (*instant)(&e.At)},
		{"person", &e.Person},
		{"action", &e.Action},
		{"subject", &e.Subject},
		{"text", &e.Text},
	}
}

// Journal implements orders.Tx.
func (t *tx) Journal(ctx context.Context, q orders.ListQuery) (orders.Page[orders.JournalEntry], error) {
	l := listing{keys: []sortKey{{"id", "bigint"}}, newest: true, status: "action", parent: "lower(subject)", text: "text"}
	page, err := readPage(ctx, t, "journal", l, journalColumns, q)
	if err != nil {
		return page, fmt.Errorf("list the journal: %w", err)
	}
	return page, nil
}

// AddJournal implements orders.Tx. Entries count up within a workshop; its
// lock keeps two writers from taking the same number.
func (t *tx) AddJournal(ctx context.Context, e orders.JournalEntry) error {
	columns := journalColumns(&e)[1:]
	given, err := args([]any{t.workshop}, columns)
	if err == nil {
		_, err = t.exec(ctx, "INSERT INTO journal (workshop_id, id, "+names(columns)+
			") VALUES ($1, 1 + coalesce((SELECT max(id) FROM journal WHERE workshop_id = $1), 0), "+placeholders(2, columns)+")", given...)
	}
	if err != nil {
		return fmt.Errorf("write the journal: %w", err)
	}
	return nil
}

// keyLife is how long the answer to an idempotency key is kept.
const keyLife = "2 days"

// Remembered implements orders.Tx.
func (t *tx) Remembered(ctx context.Context, key string) (requestHash, result []byte, err error) {
	err = t.one(ctx, `SELECT request_hash, result FROM idempotency_keys WHERE workshop_id = $1 AND key = $2`,
		[]any{t.workshop, key}, &requestHash, &result)
	if err != nil {
		return nil, nil, fmt.Errorf("look up idempotency key: %w", err)
	}
	return requestHash, result, nil
}

// Remember implements orders.Tx, and forgets keys that are past their life.
func (t *tx) Remember(ctx context.Context, key string, requestHash, result []byte) error {
	_, err := t.exec(ctx, `DELETE FROM idempotency_keys WHERE workshop_id = $1 AND created_at < now() - $2::interval`,
		t.workshop, keyLife)
	if err == nil {
		_, err = t.exec(ctx, `INSERT INTO idempotency_keys (workshop_id, key, request_hash, result) VALUES ($1, $2, $3, $4)`,
			t.workshop, key, requestHash, result)
	}
	if err != nil {
		return fmt.Errorf("remember idempotency key: %w", err)
	}
	return nil
}
