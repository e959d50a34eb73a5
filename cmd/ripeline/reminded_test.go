package main

import (
	"context"
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
	"ripeline/orders/postgres"
	"ripeline/schedule/civil"
)

// ruleTimes is how often a rule of the test fires on its one day.
const ruleTimes = 12

// reminded is the outbox of one person, who chose no digests, so that a late
// reminder is sent all the same. Their rules tell of a hand-over next week and
// fired yesterday, every five minutes from 18:00: next puts those reminders into
// the outbox as the service would have done then.
type reminded struct {
	database string
	store    *postgres.Store
	owner    orders.Actor
	person   string
	rules    []string
	day      civil.Date // yesterday
	zone     *time.Location
	due      []string // slots put into the outbox
}

// newReminded makes the person and rules enough for most reminders.
func newReminded(c caller, database string, most int) *reminded {
	c.t.Helper()
	store, err := postgres.Open(c.t.Context(), database)
	if err != nil {
		c.t.Fatal(err)
	}
	c.t.Cleanup(store.Close)
	who := got[struct {
		Workshop string `json:"workshop_id"`
		Person   string `json:"person_id"`
	}](c, "/me")
	r := &reminded{
		database: database, store: store, day: today(c.t).AddDays(-1), zone: shopZone(c.t),
		owner: orders.Actor{WorkshopID: who.Workshop, PersonID: who.Person, Name: "Mara", Role: orders.Owner},
	}
	r.person = c.create("/people", map[string]any{"name": "Ivo", "email": "ivo@tidepool.example", "role": "helper", "password": ownerPassword})
	var handOver civil.Date
	for _, task := range listed[orders.Task](c, "/tasks?") {
		if task.Kind == orders.TaskHandOver {
			handOver = task.Day
		}
	}
	// Of the owner's reminders none may come in between.
	owner := got[orders.Person](c, "/people/"+who.Person)
	answered[orders.Person](c.t, c.change(http.MethodPut, "/people/"+owner.ID, owner.Version, map[string]any{
		"name": owner.Name, "email": owner.Email, "role": owner.Role,
	}), http.StatusOK)
	rule := orders.ReminderRule{
		PersonID: r.person, Name: "Before a hand-over", Cron: "*/5 18 " + dateParts(r.day) + " *", Kind: orders.TaskHandOver, LeadDays: handOver.Sub(r.day),
	}
	book := orders.NewBook(store, time.Now)
	for range most/ruleTimes + 1 {
		made, err := book.Rules.Create(c.t.Context(), r.owner, rule)
		if err != nil {
			c.t.Fatal(err)
		}
		r.rules = append(r.rules, made.ID)
	}
	return r
}

// next puts the next reminder into the outbox.
func (r *reminded) next(ctx context.Context) error {
	n := len(r.due)
	if n >= len(r.rules)*ruleTimes {
		return fmt.Errorf("the rules are used up after %d reminders", n)
	}
	minute := civil.Minute(18*60 + 5*(n%ruleTimes))
	d := orders.Delivery{
		PersonID: r.person, Kind: "rule:" + r.rules[n/ruleTimes], LocalDate: r.day, Slot: minute.String(), DueAt: civil.At(r.day, minute, r.zone).UTC(),
	}
	r.due = append(r.due, slotOf(d))
	return r.store.System(ctx, func(tx orders.SystemTx) error { return tx.AddDeliveries(ctx, r.owner.WorkshopID, []orders.Delivery{d}) })
}

// deliveries is the outbox.
func (r *reminded) deliveries(t testing.TB) []orders.Delivery {
	t.Helper()
	book := orders.NewBook(r.store, time.Now)
	var all []orders.Delivery
	for q := (orders.ListQuery{Limit: 200}); ; {
		page, err := book.Deliveries(t.Context(), r.owner, q)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, page.Items...)
		if q.Cursor = page.Next; q.Cursor == "" {
			return all
		}
	}
}

// endLeases has the time pass that dead replicas keep what they claimed.
func (r *reminded) endLeases(t testing.TB) {
	t.Helper()
	asWorkshop(t, r.database, r.owner.WorkshopID, func(conn *pgx.Conn) error {
		_, err := conn.Exec(t.Context(), `UPDATE deliveries SET next_try = due_at WHERE status = 'due' AND due_at <= now()`)
		return err
	})
}
