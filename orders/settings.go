package orders

import (
	"context"
	"fmt"
)

// Workshop returns the actor's workshop.
func (b *Book) Workshop(ctx context.Context, a Actor) (Workshop, error) {
	return read(ctx, b, a, func(tx Tx) (Workshop, error) { return tx.Workshop(ctx) })
}

// ChangeWorkshop changes name, zone, units, currency, locale, hands, firm
// days, hand-over default and hours, and re-plans. Owners only.
func (b *Book) ChangeWorkshop(ctx context.Context, a Actor, w Workshop) (Workshop, error) {
	if err := a.may(Owner, true); err != nil {
		return w, err
	}
	if err := checkWorkshop(&w); err != nil {
		return w, err
	}
	return write(ctx, b, a, func(tx Tx) (Workshop, error) {
		w := w
		before, err := tx.Workshop(ctx)
		if err != nil {
			return w, err
		}
		w.ID, w.Demo, w.BookRevision, w.PlanRevision = before.ID, before.Demo, before.BookRevision, before.PlanRevision
		if err := checkCutHours(ctx, tx, w.Hours); err != nil {
			return w, err
		}
		if err := tx.UpdateWorkshop(ctx, &w); err != nil {
			return w, fmt.Errorf("change workshop: %w", err)
		}
		if err := b.journal(ctx, tx, a, "workshop.change", w.ID, "Changed the workshop's settings"); err != nil {
			return w, err
		}
		if _, err := b.replan(ctx, tx, a, "The workshop's settings changed"); err != nil {
			return w, err
		}
		return tx.Workshop(ctx)
	})
}

// checkCutHours refuses hours under which a recipe in use could never be cut.
// No hours at all are allowed: nothing is then planned, and the plan says so.
func checkCutHours(ctx context.Context, tx Tx, hours []Window) error {
	if len(hours) == 0 {
		return nil
	}
	var c Check
	for q := (ListQuery{Limit: 200}); ; {
		page, err := tx.Recipes().List(ctx, q)
		if err != nil {
			return err
		}
		for _, r := range page.Items {
			c.Want(r.canBeCut(hours), "hours", fmt.Sprintf("%s could never be cut: %s", r.Name, r.cutWindowMessage()))
		}
		if q.Cursor = page.Next; q.Cursor == "" {
			return c.Err()
		}
	}
}

// RemoveDemo empties the demo workshop's book, keeping its people and hours,
// and makes it the maker's own, with the ingredients of a new one.
func (b *Book) RemoveDemo(ctx context.Context, a Actor) error {
	if err := a.may(Owner, true); err != nil {
		return err
	}
	_, err := write(ctx, b, a, func(tx Tx) (struct{}, error) {
		w, err := tx.Workshop(ctx)
		if err != nil {
			return struct{}{}, err
		}
		if !w.Demo {
			return struct{}{}, &Conflict{"This workshop is not the demo, so there is nothing to remove."}
		}
		if err := tx.ClearBook(ctx); err != nil {
			return struct{}{}, fmt.Errorf("remove demo: %w", err)
		}
		if err := listStarting(ctx, tx); err != nil {
			return struct{}{}, fmt.Errorf("remove demo: %w", err)
		}
		if w, err = tx.Workshop(ctx); err != nil {
			return struct{}{}, err
		}
		w.Demo = false
		if err := tx.UpdateWorkshop(ctx, &w); err != nil {
			return struct{}{}, err
		}
		return struct{}{}, b.journal(ctx, tx, a, "demo.remove", w.ID, "Removed the demo's orders, batches and designs")
	})
	return err
}
