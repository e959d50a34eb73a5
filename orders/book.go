package orders

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// Book is the order book of every workshop of an installation. Its methods
// are the use cases; each is one transaction.
type Book struct {
	store Store
	now   func() time.Time

	hashing hashing
	noHash  string // a hash no password fits

	Closed      Records[ClosedDays]
	Extras      Records[ExtraWindow]
	Molds       Records[Mold]
	MoldOuts    Records[MoldOut]
	Racks       Records[Rack]
	Ingredients Records[Ingredient]
	Lots        Records[Lot]
	Purchases   Records[Purchase]
	Recipes     Records[Recipe]
	Designs     Records[Design]
	Trials      Records[Trial]
	Customers   Records[Customer]
	Stock       Records[Stock]
	Rules       Records[ReminderRule]
}

// NewBook opens the book kept in store. now is the only clock it reads.
func NewBook(store Store, now func() time.Time) *Book {
	b := &Book{
		store:   store,
		now:     func() time.Time { return now().UTC().Truncate(time.Second) },
		hashing: make(hashing, 2),
		noHash:  "$argon2id$v=19$m=65536,t=3,p=2$cmlwZWxpbmUtbm8tb25lIQ$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	}
	b.catalog()
	return b
}

// may is nil when the actor's role is at least least and, for a change, its
// scope allows writing.
func (a Actor) may(least Role, change bool) error {
	rank := map[Role]int{Viewer: 1, Helper: 2, Owner: 3}
	switch {
	case a.WorkshopID == "" || rank[a.Role] < rank[least]:
		return fmt.Errorf("%w: this needs the role %s", ErrForbidden, least)
	case change && a.ReadOnly:
		return fmt.Errorf("%w: this token may only read", ErrForbidden)
	}
	return nil
}

type onceKey struct{}

type onceMark struct {
	key  string
	hash []byte
}

// WithOnce makes the next creating use case under ctx happen once for key,
// whatever the number of calls: a repeat with the same requestHash gets the
// first answer, one with another hash a conflict.
func WithOnce(ctx context.Context, key string, requestHash []byte) context.Context {
	return context.WithValue(ctx, onceKey{}, onceMark{key, requestHash})
}

// secretive results leave their secret out of what is remembered.
type secretive interface{ withoutSecret() any }

// write runs fn in one transaction of the actor's workshop, honouring WithOnce.
func write[T any](ctx context.Context, b *Book, a Actor, fn func(Tx) (T, error)) (T, error) {
	var out T
	err := b.store.Write(ctx, a.WorkshopID, func(tx Tx) error {
		mark, marked := ctx.Value(onceKey{}).(onceMark)
		if marked {
			done, err := recall(ctx, tx, mark, &out)
			if done || err != nil {
				return err
			}
		}
		var err error
		if out, err = fn(tx); err != nil || !marked {
			return err
		}
		var keep any = out
		if s, ok := keep.(secretive); ok {
			keep = s.withoutSecret()
		}
		raw, err := json.Marshal(keep)
		if err != nil {
			return fmt.Errorf("remember result of %q: %w", mark.key, err)
		}
		return tx.Remember(ctx, mark.key, mark.hash, raw)
	})
	if err != nil {
		var zero T
		return zero, err
	}
	return out, nil
}

// recall fills out with the remembered result of the mark, if there is one.
func recall[T any](ctx context.Context, tx Tx, mark onceMark, out *T) (done bool, err error) {
	hash, raw, err := tx.Remembered(ctx, mark.key)
	switch {
	case errors.Is(err, ErrNotFound):
		return false, nil
	case err != nil:
		return false, err
	case !bytes.Equal(hash, mark.hash):
		return false, &Conflict{"This idempotency key was used for another request. Use a new key for a new request."}
	}
	if err := json.Unmarshal(raw, out); err != nil {
		return false, fmt.Errorf("recall result of %q: %w", mark.key, err)
	}
	return true, nil
}

// read runs fn on a snapshot of the actor's workshop, for any role.
func read[T any](ctx context.Context, b *Book, a Actor, fn func(Tx) (T, error)) (T, error) {
	var out T
	if err := a.may(Viewer, false); err != nil {
		return out, err
	}
	err := b.store.Read(ctx, a.WorkshopID, func(tx Tx) error {
		var err error
		out, err = fn(tx)
		return err
	})
	return out, err
}

// journal writes who did what to what.
func (b *Book) journal(ctx context.Context, tx Tx, a Actor, action, subject, text string) error {
	return tx.AddJournal(ctx, JournalEntry{At: b.now(), Person: a.Name, Action: action, Subject: subject, Text: text})
}
