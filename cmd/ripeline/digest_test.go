package main

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// digests are the two daily digests of the owner. A day has one of each, at a
// wall-clock time; so that a test need not wait for one, the owner's choice of
// this very minute is dated back, and the service, started anew, finds it due.
type digests struct {
	t        testing.TB
	database string
	caller   caller
	person   orders.Person
}

// startDigests has a first digest delivered, after which changes are news.
func startDigests(t testing.TB, database string, c caller, s *serving) *digests {
	t.Helper()
	d := &digests{t: t, database: database, caller: c}
	d.person = listed[orders.Person](c, "/people?")[0]
	if first := d.deliver("digest_today_at", "digest-today"); first.Status != orders.DeliveryEmpty && first.Status != orders.DeliveryShown {
		t.Errorf("the first digest: %+v", first)
	}
	return d
}

// tellsOf has the next digest delivered, which must say all of the texts.
func (d *digests) tellsOf(texts ...string) {
	d.t.Helper()
	sent := d.deliver("digest_at", "digest")
	for _, text := range texts {
		if sent.Status != orders.DeliveryShown || !strings.Contains(sent.Text, text) {
			d.t.Errorf("the digest (%s, %q) does not say %q:\n%s", sent.Status, sent.Subject, text, sent.Text)
		}
	}
}

// deliver makes a digest due and has a further replica deliver it at its start.
func (d *digests) deliver(column, kind string) orders.Delivery {
	d.t.Helper()
	d.backdate(column)
	start(d.t, "serve", "--database-url", d.database)
	var found orders.Delivery
	await(d.t, "the delivery of "+kind, func() bool {
		for _, x := range listed[orders.Delivery](d.caller, "/deliveries?limit=200") {
			if x.Kind == kind && x.LocalDate == today(d.t) && x.Status != orders.DeliveryDue {
				found = x
				return true
			}
		}
		return false
	})
	return found
}

// backdate chooses the local minute of now for a digest, as if that had been
// done yesterday, and no other digest: the usual one would be due as well once
// its time of day has passed.
func (d *digests) backdate(column string) {
	d.t.Helper()
	who := got[struct {
		Workshop string `json:"workshop_id"`
	}](d.caller, "/me")
	minute := civil.ClockOf(time.Now().In(shopZone(d.t)))
	asWorkshop(d.t, d.database, who.Workshop, func(conn *pgx.Conn) error {
		_, err := conn.Exec(d.t.Context(), `UPDATE people SET digest_at = NULL, digest_today_at = NULL WHERE id = $1`, d.person.ID)
		if err != nil {
			return err
		}
		done, err := conn.Exec(d.t.Context(), `UPDATE people SET `+pgx.Identifier{column}.Sanitize()+` = $1, changed_at = changed_at - interval '1 day' WHERE id = $2`,
			int(minute), d.person.ID)
		if err == nil && done.RowsAffected() != 1 {
			err = errors.New("the owner is not there")
		}
		return err
	})
}

// asWorkshop lets do change what no user can, such as when something was done.
func asWorkshop(t testing.TB, database, workshop string, do func(*pgx.Conn) error) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), database)
	if err != nil {
		t.Fatal(err)
	}
	_, err = conn.Exec(t.Context(), `SELECT set_config('ripeline.workshop', $1, false)`, workshop)
	if err == nil {
		err = do(conn)
	}
	if err := errors.Join(err, conn.Close(t.Context())); err != nil {
		t.Fatal(err)
	}
}
