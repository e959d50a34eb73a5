package orders

import (
	"context"
	"fmt"
)

// Records is the use cases of one plain kind of record: list, get, create,
// change, remove. Those that planning reads re-plan in the same transaction;
// a plan that has to wait for a yes is then found among the proposals.
type Records[T any] struct {
	book  *Book
	rules recordRules[T]
}

// recordRules is what differs between kinds of record.
type recordRules[T any] struct {
	name  string // "mold", for the journal and messages
	table func(Tx) Table[T]
	meta  func(*T) *Meta
	// check completes and checks r; before is nil when it is new.
	check func(ctx context.Context, tx Tx, r, before *T) error
	// added adds what comes with a new record; nil adds nothing.
	added func(ctx context.Context, tx Tx, r *T) error
	// shown completes what is read for whoever asks; nil leaves it as it is stored.
	shown func(ctx context.Context, tx Tx, all []T) error
	// gone checks that r may be removed; nil allows it.
	gone  func(r *T) error
	label func(*T) string // how a person knows it
	plans bool            // planning reads it
	least Role            // who may change it
}

// List returns a page of the records.
func (r Records[T]) List(ctx context.Context, a Actor, q ListQuery) (Page[T], error) {
	return read(ctx, r.book, a, func(tx Tx) (Page[T], error) {
		page, err := r.rules.table(tx).List(ctx, q)
		if err != nil {
			return page, err
		}
		return page, r.show(ctx, tx, page.Items)
	})
}

// Get returns one record, or ErrNotFound.
func (r Records[T]) Get(ctx context.Context, a Actor, id string) (T, error) {
	return read(ctx, r.book, a, func(tx Tx) (T, error) {
		rec, err := r.rules.table(tx).Get(ctx, id)
		if err != nil {
			return rec, err
		}
		one := []T{rec}
		err = r.show(ctx, tx, one)
		return one[0], err
	})
}

func (r Records[T]) show(ctx context.Context, tx Tx, all []T) error {
	if r.rules.shown == nil {
		return nil
	}
	return r.rules.shown(ctx, tx, all)
}

// Create adds a record; what it says of ID, Version and times is ignored.
func (r Records[T]) Create(ctx context.Context, a Actor, rec T) (T, error) {
	if err := a.may(r.rules.least, true); err != nil {
		return rec, err
	}
	return write(ctx, r.book, a, func(tx Tx) (T, error) { return r.create(ctx, tx, a, rec) })
}

// create is Create within a transaction, of an actor who may.
func (r Records[T]) create(ctx context.Context, tx Tx, a Actor, rec T) (T, error) {
	*r.rules.meta(&rec) = Meta{}
	if err := r.rules.check(ctx, tx, &rec, nil); err != nil {
		return rec, err
	}
	if err := r.rules.table(tx).Insert(ctx, &rec); err != nil {
		return rec, fmt.Errorf("create %s: %w", r.rules.name, err)
	}
	if r.rules.added != nil {
		if err := r.rules.added(ctx, tx, &rec); err != nil {
			return rec, err
		}
	}
	return rec, r.after(ctx, tx, a, "create", &rec)
}

// Change replaces the record that has rec's ID; rec's Version must be the
// stored one, else ErrConflict.
func (r Records[T]) Change(ctx context.Context, a Actor, rec T) (T, error) {
	if err := a.may(r.rules.least, true); err != nil {
		return rec, err
	}
	return write(ctx, r.book, a, func(tx Tx) (T, error) {
		rec := rec
		before, err := r.rules.table(tx).Get(ctx, r.rules.meta(&rec).ID)
		if err != nil {
			return rec, err
		}
		if err := r.rules.check(ctx, tx, &rec, &before); err != nil {
			return rec, err
		}
		if err := r.rules.table(tx).Update(ctx, &rec); err != nil {
			return rec, fmt.Errorf("change %s: %w", r.rules.name, err)
		}
		if err := r.after(ctx, tx, a, "change", &rec); err != nil {
			return rec, err
		}
		one := []T{rec}
		err = r.show(ctx, tx, one)
		return one[0], err
	})
}

// Remove deletes the record; version must be the stored one, else ErrConflict.
func (r Records[T]) Remove(ctx context.Context, a Actor, id string, version int) error {
	if err := a.may(r.rules.least, true); err != nil {
		return err
	}
	_, err := write(ctx, r.book, a, func(tx Tx) (struct{}, error) {
		rec, err := r.rules.table(tx).Get(ctx, id)
		if err != nil {
			return struct{}{}, err
		}
		if r.rules.gone != nil {
			if err := r.rules.gone(&rec); err != nil {
				return struct{}{}, err
			}
		}
		if err := r.rules.table(tx).Delete(ctx, id, version); err != nil {
			return struct{}{}, fmt.Errorf("remove %s: %w", r.rules.name, err)
		}
		return struct{}{}, r.after(ctx, tx, a, "remove", &rec)
	})
	return err
}

// after journals the change and re-plans when planning reads the record.
func (r Records[T]) after(ctx context.Context, tx Tx, a Actor, verb string, rec *T) error {
	text := fmt.Sprintf("%s %s: %s", past[verb], r.rules.name, r.rules.label(rec))
	if err := r.book.journal(ctx, tx, a, r.rules.name+"."+verb, r.rules.meta(rec).ID, text); err != nil {
		return err
	}
	if !r.rules.plans {
		return nil
	}
	_, err := r.book.replan(ctx, tx, a, text)
	return err
}

var past = map[string]string{"create": "Added", "change": "Changed", "remove": "Removed"}
