// Package demo fills a workshop with an invented season of work, so that every
// page has something to show. All of it is made by the book's own use cases,
// on a clock that starts weeks ago and ends now.
package demo

import (
	"context"
	"errors"
	"fmt"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// weeksBack is how long before now the demo's season begins.
const weeksBack = 5

// zone is where the invented workshop stands.
const zone = "Europe/Lisbon"

// Login is how the demo's owner signs in.
type Login struct {
	Email    string
	Password string
}

// season is the demo being made.
type season struct {
	book  *orders.Book
	actor orders.Actor
	clock time.Time // moves from weeksBack ago to now
	end   time.Time
	loc   *time.Location

	ingredients map[string]string // name to id
	molds       map[string]string
	designs     map[string]string // lot code to id
	customers   map[string]string
	orders      map[string]orders.Order // by title
}

// made is the secret that tells a whole demo from one whose making was cut
// short: it holds the workshop's id while it is being filled, then "whole".
const (
	made  = "demo"
	whole = "whole"
)

// Ensure makes the demo unless it was made before, even if it has been removed
// since. One whose making was cut short is made anew.
func Ensure(ctx context.Context, store orders.Store, now time.Time, login Login, progress func(step string)) error {
	var state []byte
	err := store.System(ctx, func(tx orders.SystemTx) error {
		var err error
		if state, err = tx.Secret(ctx, made); errors.Is(err, orders.ErrNotFound) {
			return nil
		}
		if err == nil && string(state) != whole {
			err = tx.DeleteWorkshop(ctx, string(state))
		}
		return err
	})
	if err != nil || string(state) == whole {
		return err
	}
	if _, err := fill(ctx, store, now, login, progress); err != nil {
		return err
	}
	return store.System(ctx, func(tx orders.SystemTx) error { return tx.SetSecret(ctx, made, []byte(whole)) })
}

// fill adds the demo workshop with its season to the store, ending at now.
func fill(ctx context.Context, store orders.Store, now time.Time, login Login, progress func(step string)) (orders.Actor, error) {
	loc, err := civil.LoadZone(zone)
	if err != nil {
		return orders.Actor{}, err
	}
	s := &season{
		end: now, loc: loc, clock: now.AddDate(0, 0, -7*weeksBack),
		ingredients: map[string]string{}, molds: map[string]string{}, designs: map[string]string{},
		customers: map[string]string{}, orders: map[string]orders.Order{},
	}
	s.book = orders.NewBook(store, func() time.Time { return s.clock })
	s.actor, err = s.book.AddWorkshop(ctx, orders.Setup{
		Workshop: "Oystercatcher Quay soap room", Name: "Ines of the Quay",
		Email: login.Email, Password: login.Password, Zone: zone, Demo: true, Mark: made,
	})
	if err != nil {
		return s.actor, fmt.Errorf("demo workshop: %w", err)
	}
	steps := []struct {
		name string
		run  func(context.Context) error
	}{
		{"molds, racks and hours", s.place},
		{"recipes and designs", s.goods},
		{"customers and the first orders", s.earlyOrders},
		{"five weeks of work", s.work},
		{"the latest orders", s.lateOrders},
		{"what is on order", s.reorder},
		{"one batch gone wrong", s.trouble},
	}
	for _, step := range steps {
		progress(step.name)
		if err := step.run(ctx); err != nil {
			return s.actor, fmt.Errorf("demo, %s: %w", step.name, err)
		}
	}
	return s.actor, nil
}

// day is n days after the end of the demo, by its calendar.
func (s *season) day(n int) civil.Date { return civil.Of(s.end.In(s.loc)).AddDays(n) }
