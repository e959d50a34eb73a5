package postgres

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

func taskColumns(t *orders.Task) []column {
	return []column{
		{"id", (*ref)(&t.ID)},
		{"kind", &t.Kind},
		{"batch_id", (*optionalRef)(&t.BatchID)},
		{"order_id", (*optionalRef)(&t.OrderID)},
		{"design_id", (*optionalRef)(&t.DesignID)},
		{"ingredient_id", (*optionalRef)(&t.IngredientID)},
		{"part", &t.Part},
		{"from_at", (*instant)(&t.From)},
		{"to_at", (*instant)(&t.To)},
		{"day", &t.Day},
		{"last_day", &t.LastDay},
		{"all_day", &t.AllDay},
		{"title", &t.Title},
		{"detail", &t.Detail},
		{"obstacle", &t.Obstacle},
		{"status", &t.Status},
		{"sequence", &t.Sequence},
		{"changed_at", (*instant)(&t.ChangedAt)},
		{"revision", &t.Revision},
	}
}

func scanTask(row pgx.CollectableRow) (orders.Task, error) {
	var t orders.Task
	err := row.Scan(targets(taskColumns(&t))...)
	return t, err
}

// selectTasks has room for a condition on the workshop's tasks. All-day tasks
// come first on their day.
func selectTasks(where string) string {
	return "SELECT " + names(taskColumns(new(orders.Task))) + " FROM tasks WHERE workshop_id = $1 AND " + where +
		" ORDER BY day, from_at NULLS FIRST, id"
}

// Tasks implements orders.Tx.
func (t *tx) Tasks(ctx context.Context, from civil.Date) ([]orders.Task, error) {
	all, err := rows(ctx, t.conn, scanTask, selectTasks("last_day >= coalesce($2::date, '-infinity')"), t.workshop, from)
	if err != nil {
		return nil, fmt.Errorf("read tasks from %s: %w", from, err)
	}
	return all, nil
}

// TaskPage implements orders.Tx.
func (t *tx) TaskPage(ctx context.Context, q orders.ListQuery) (orders.Page[orders.Task], error) {
	l := listing{keys: []sortKey{{"day", "date"}, {"coalesce(from_at, '-infinity')", "timestamptz"}, {"id", "uuid"}}, from: "last_day"}
	page, err := readPage(ctx, t, "tasks", l, taskColumns, q)
	if err != nil {
		return page, fmt.Errorf("list tasks: %w", err)
	}
	return page, nil
}

// PutTasks implements orders.Tx. A task without an id gets a random one, for
// it is shown to calendars.
func (t *tx) PutTasks(ctx context.Context, tasks []orders.Task) error {
	var b pgx.Batch
	for i := range tasks {
		if err := t.queueTask(&b, i, &tasks[i]); err != nil {
			return err
		}
	}
	if err := t.send(ctx, &b); err != nil {
		return fmt.Errorf("store tasks: %w", err)
	}
	return nil
}

func (t *tx) queueTask(b *pgx.Batch, i int, task *orders.Task) error {
	if task.ID == "" {
		id, err := uuid.NewRandom()
		if err != nil {
			return fmt.Errorf("make a task's id: %w", err)
		}
		task.ID = id.String()
	}
	columns := taskColumns(task)
	if err := checkRefs(fmt.Sprintf("tasks[%d].", i), columns); err != nil {
		return err
	}
	given, err := args([]any{t.workshop}, columns)
	if err != nil {
		return err
	}
	b.Queue("INSERT INTO tasks (workshop_id, "+names(columns)+") VALUES ($1, "+placeholders(2, columns)+
		") ON CONFLICT ON CONSTRAINT tasks_pkey DO UPDATE SET "+assignments(3, columns[1:]), given...)
	return nil
}
