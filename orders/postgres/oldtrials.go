package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// trialsSchema is the migration from which on trials are recorded.
const trialsSchema = 10

// What was poured and did not fail, or was judged good, before trials were
// recorded has proved itself: what the migration does to the books it finds.
const (
	insertOldTrials = `INSERT INTO trials (workshop_id, id, version, created_at, changed_at, recipe_id, judged_on, verdict, notes)
		SELECT $1, gen_random_uuid(), 1, ` + now + `, ` + now + `, r.id, current_date, 'fit', 'Poured before trials were recorded.'
		FROM recipes r
		WHERE r.workshop_id = $1 AND EXISTS (
			SELECT FROM designs d WHERE d.workshop_id = $1 AND d.recipe_id = r.id AND (d.trial_passed OR EXISTS (
				SELECT FROM batches b WHERE b.workshop_id = $1 AND b.design_id = d.id AND b.state IN ('curing', 'wrapped'))))`
	insertOldTrialFragrances = `INSERT INTO trial_fragrances (workshop_id, trial_id, position, ingredient_id)
		SELECT $1, t.id, p.position, p.ingredient_id
		FROM trials t
		JOIN recipe_parts p ON p.workshop_id = $1 AND p.recipe_id = t.recipe_id
		JOIN ingredients i ON i.workshop_id = $1 AND i.id = p.ingredient_id
		WHERE t.workshop_id = $1 AND i.kind = 'fragrance'`
)

// recordTrials gives restored workshops the trials that their backup is too old
// to have. It goes from workshop to workshop, as row-level security wants.
func (l *loader) recordTrials(ctx context.Context) error {
	workshops, err := rows(ctx, l.conn, pgx.RowTo[string], `SELECT id::text FROM workshops ORDER BY id`)
	if err != nil {
		return err
	}
	for _, id := range workshops {
		var b pgx.Batch
		queueEnter(&b, id)
		b.Queue(insertOldTrials, id)
		b.Queue(insertOldTrialFragrances, id)
		if err := l.send(ctx, &b); err != nil {
			return fmt.Errorf("record the trials of older batches: %w", err)
		}
	}
	return nil
}
