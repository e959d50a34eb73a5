package postgres

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
)

func deliveryColumns(d *orders.Delivery) []column {
	return []column{
		{"id", (*ref)(&d.ID)},
		{"person_id", (*ref)(&d.PersonID)},
		{"kind", &d.Kind},
		{"local_date", &d.LocalDate},
		{"slot", &d.Slot},
		{"due_at", (*instant)(&d.DueAt)},
		{"status", &d.Status},
		{"subject", &d.Subject},
		{"text", &d.Text},
		{"html", &d.HTML},
		{"message_id", &d.MessageID},
		{"attempts", &d.Attempts},
		{"next_try", (*instant)(&d.NextTry)},
		{"last_error", &d.LastError},
		{"done_at", (*instant)(&d.DoneAt)},
	}
}

// Deliveries implements orders.Tx.
func (t *tx) Deliveries(ctx context.Context, q orders.ListQuery) (orders.Page[orders.Delivery], error) {
	l := listing{keys: by("due_at", "timestamptz"), newest: true, status: "status", parent: "person_id::text", text: "subject"}
	page, err := readPage(ctx, t, "deliveries", l, deliveryColumns, q)
	if err != nil {
		return page, fmt.Errorf("list deliveries: %w", err)
	}
	return page, nil
}

// AddDeliveries implements orders.SystemTx. A delivery without a status is due,
// and one without NextTry may be claimed from DueAt. One that is known already
// takes the new DueAt while nobody has claimed it: its person chose another time.
func (s *systemTx) AddDeliveries(ctx context.Context, workshopID string, ds []orders.Delivery) error {
	workshop, ok := canonicalID(workshopID)
	if !ok {
		return fmt.Errorf("add deliveries: %w", orders.ErrNotFound)
	}
	var b pgx.Batch
	queueEnter(&b, workshop)
	for _, d := range ds {
		if err := queueDelivery(&b, workshop, &d); err != nil {
			return fmt.Errorf("add deliveries: %w", err)
		}
	}
	if err := s.send(ctx, &b); err != nil {
		return fmt.Errorf("add deliveries: %w", err)
	}
	return nil
}

func queueDelivery(b *pgx.Batch, workshop string, d *orders.Delivery) error {
	if d.ID == "" {
		id, err := newID()
		if err != nil {
			return err
		}
		d.ID = id
	}
	if d.Status == "" {
		d.Status = orders.DeliveryDue
	}
	if d.NextTry.IsZero() {
		d.NextTry = d.DueAt
	}
	columns := deliveryColumns(d)
	if err := checkRefs("", columns); err != nil {
		return err
	}
	given, err := args([]any{workshop}, columns)
	if err != nil {
		return err
	}
	b.Queue("INSERT INTO deliveries (workshop_id, "+names(columns)+") VALUES ($1, "+placeholders(2, columns)+
		") ON CONFLICT ON CONSTRAINT deliveries__slot DO UPDATE SET due_at = EXCLUDED.due_at, next_try = EXCLUDED.next_try"+
		" WHERE deliveries.status = 'due' AND deliveries.attempts = 0 AND deliveries.due_at <> EXCLUDED.due_at", given...)
	return nil
}

// ClaimDelivery implements orders.SystemTx. The claim counts as an attempt and
// holds until now + lease, so that a claimer who dies loses it; a delivery that
// others hold is skipped, not waited for.
func (s *systemTx) ClaimDelivery(ctx context.Context, now time.Time, lease time.Duration) (string, orders.Delivery, error) {
	var workshop string
	var d orders.Delivery
	columns := deliveryColumns(&d)
	err := s.one(ctx, `UPDATE deliveries SET attempts = attempts + 1, next_try = $2
		WHERE (workshop_id, id) = (
			SELECT c.workshop_id, c.id FROM deliveries c
			WHERE c.status = 'due' AND c.next_try <= $1
			ORDER BY c.next_try, c.id LIMIT 1 FOR UPDATE SKIP LOCKED)
		RETURNING workshop_id, `+names(columns), []any{now, now.Add(lease)}, append([]any{&workshop}, targets(columns)...)...)
	if err != nil {
		return "", orders.Delivery{}, fmt.Errorf("claim a delivery: %w", err)
	}
	return workshop, d, nil
}

// FinishDelivery implements orders.SystemTx. d is what ClaimDelivery returned,
// with its outcome: done, or still due with a later NextTry. Attempts tells one
// claim from the next, so who lost the lease can not undo what came after; that
// it was sent is recorded even so, since that can not be undone either.
func (s *systemTx) FinishDelivery(ctx context.Context, d orders.Delivery) error {
	found, err := s.exec(ctx, `UPDATE deliveries SET status = $3, subject = $4, text = $5, html = $6, message_id = $7,
			next_try = $8, last_error = $9, done_at = $10
		WHERE id::text = lower($1) AND status = 'due' AND (attempts = $2 OR $3 = 'sent')`,
		d.ID, d.Attempts, string(d.Status), d.Subject, d.Text, d.HTML, d.MessageID,
		d.NextTry, d.LastError, orNull(d.DoneAt))
	if err == nil && found == 0 {
		err = &orders.Conflict{Message: "This reminder was taken over by another replica, or is already done; nothing was changed."}
	}
	if err != nil {
		return fmt.Errorf("finish delivery %s: %w", d.ID, err)
	}
	return nil
}

// orNull is NULL for the zero instant.
func orNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// LastDelivered implements orders.SystemTx: the latest that reached the person.
func (s *systemTx) LastDelivered(ctx context.Context, personID, kind string) (orders.Delivery, error) {
	var d orders.Delivery
	columns := deliveryColumns(&d)
	err := s.one(ctx, "SELECT "+names(columns)+` FROM deliveries
		WHERE person_id::text = lower($1) AND kind = $2 AND status IN ('sent', 'shown')
		ORDER BY due_at DESC, id DESC LIMIT 1`, []any{personID, kind}, targets(columns)...)
	if err != nil {
		return orders.Delivery{}, fmt.Errorf("last %s delivered to %s: %w", kind, personID, err)
	}
	return d, nil
}

// PruneDeliveries implements orders.SystemTx.
func (s *systemTx) PruneDeliveries(ctx context.Context, before time.Time, limit int) (int, error) {
	gone, err := s.exec(ctx, `DELETE FROM deliveries WHERE (workshop_id, id) IN (
		SELECT d.workshop_id, d.id FROM deliveries d
		WHERE d.done_at < $1 AND NOT (d.status IN ('sent', 'shown') AND NOT EXISTS (
			SELECT FROM deliveries n
			WHERE n.workshop_id = d.workshop_id AND n.person_id = d.person_id AND n.kind = d.kind
				AND n.status IN ('sent', 'shown') AND (n.due_at, n.id) > (d.due_at, d.id)))
		ORDER BY d.done_at LIMIT $2)`, before, limit)
	if err != nil {
		return 0, fmt.Errorf("prune reminders: %w", err)
	}
	return int(gone), nil
}
