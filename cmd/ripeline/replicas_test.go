package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/errgroup"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// How the replicas are tried.
const (
	usualTrial   = 25 * time.Second // RIPELINE_SOAK says another time, such as 10m, and kills at any moment
	killEvery    = 3 * time.Second
	writers      = 3
	writeEvery   = 150 * time.Millisecond // of each writer
	remindEvery  = 125 * time.Millisecond
	acceptedMost = 20 // orders promised at once; the others are enquiries
	sendersEach  = 4  // reminders that a replica sends at once
)

// TestTwoReplicas runs two replicas on one database. Orders are written through
// both while each in turn is killed without warning, often while it sends a
// reminder, and started again. No acknowledged order may be lost or doubled,
// and every reminder that was due must have been sent: as one mail, which only
// a killed sender may have sent again, word for word under the same Message-ID.
func TestTwoReplicas(t *testing.T) {
	t.Parallel()
	r := newTrial(t)
	ctx, cancel := context.WithTimeout(t.Context(), r.length)
	defer cancel()
	var group errgroup.Group
	for range writers {
		group.Go(func() error { return r.write(ctx) })
	}
	group.Go(func() error { return r.remind(ctx) })
	group.Go(func() error { return r.killInTurn(ctx) })
	if err := group.Wait(); err != nil {
		t.Fatal(err)
	}
	r.settle()
	r.checkOrders()
	r.checkReminders()
}

// trial is two replicas and what is asked of them.
type trial struct {
	t        testing.TB
	length   time.Duration
	chance   bool // kill at any moment, not just where it hurts most
	database string
	office   *postOffice
	caller   caller
	goods    goods
	needed   civil.Date // by all orders
	book     *reminded

	addr  [2]string   // where each replica listens, whenever it runs
	procs [2]*serving // touched by one goroutine at a time

	mu    sync.Mutex
	acked map[string]string // id by title of the orders that were acknowledged
	tries int               // requests beyond one for each order
	kills int
}

func newTrial(t *testing.T) *trial {
	r := &trial{t: t, length: usualTrial, needed: today(t).AddDays(120), database: newDatabase(t).OwnerURL, office: openPostOffice(t), acked: map[string]string{}}
	if soak := os.Getenv("RIPELINE_SOAK"); soak != "" {
		var err error
		if r.length, err = time.ParseDuration(soak); err != nil {
			t.Fatalf("RIPELINE_SOAK: %v", err)
		}
		r.chance = true
	}
	for i := range r.procs {
		r.addr[i] = freeAddress(t)
		if err := r.start(i); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() {
		for i, s := range r.procs {
			s.stop()
			if t.Failed() {
				t.Logf("replica %d at last said:\n%s", i, s.log)
			}
		}
	})
	r.caller = setUp(t, r.procs[1]) // only the link of the last one started works
	r.goods = furnish(r.caller)
	shelfOrder(r.caller, r.goods)
	r.book = newReminded(r.caller, r.database, int(r.length/remindEvery)+1)
	return r
}

// start starts replica i, configured by its environment.
func (r *trial) start(i int) error {
	s, err := launch(r.t, []string{
		"DATABASE_URL=" + r.database, "RIPELINE_SMTP_URL=smtp://" + r.office.address + "?starttls=never", "RIPELINE_MAIL_FROM=soap@tidepool.example",
		"RIPELINE_BASE_URL=https://tidepool.example",
	}, "serve", "--addr", r.addr[i])
	if err == nil {
		r.procs[i] = s
	}
	return err
}

// write takes orders, one after the other, until ctx ends. An order that is not
// acknowledged is sent again, to the other replica, under the same key.
func (r *trial) write(ctx context.Context) error {
	tick := time.NewTicker(writeEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		if err := r.takeOrder(); err != nil {
			return err
		}
	}
}

// takeOrder sends one order until it is acknowledged.
func (r *trial) takeOrder() error {
	title, replica := uuid.NewString(), 0
	body := r.goods.order(title, 2, r.needed, r.accepts())
	ctx, cancel := context.WithTimeout(r.t.Context(), patience)
	defer cancel()
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for ; ; replica = 1 - replica {
		at := caller{t: r.t, base: "http://" + r.addr[replica], token: r.caller.token}
		got, err := at.ask(ctx, http.MethodPost, "/orders", body, "Idempotency-Key", title)
		switch {
		case err == nil && got.status == http.StatusCreated:
			return r.acknowledged(title, got)
		case err == nil && got.status < 500 && got.status != http.StatusTooManyRequests:
			return fmt.Errorf("order %s: %s", title, got)
		}
		r.mu.Lock()
		r.tries++
		r.mu.Unlock()
		select {
		case <-ctx.Done():
			return fmt.Errorf("order %s is never acknowledged; at last %v: %w", title, got, err)
		case <-again.C:
		}
	}
}

func (r *trial) acknowledged(title string, got reply) error {
	var made orderAnswer
	if err := json.Unmarshal(got.body, &made); err != nil {
		return fmt.Errorf("order %s: %w in %s", title, err, got)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.acked[title] = made.Order.ID
	return nil
}

// accepts says whether the next order is promised at once.
func (r *trial) accepts() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return len(r.acked)%5 == 0 && len(r.acked) < 5*acceptedMost
}

// remind makes one reminder after the other due.
func (r *trial) remind(ctx context.Context) error {
	tick := time.NewTicker(remindEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		if err := r.book.next(r.t.Context()); err != nil {
			return err
		}
	}
}

// killInTurn kills one replica after the other and starts it again: at some
// moment, and then, unless that is left to chance, once more when it sends what
// has become due meanwhile, after the mail server has taken a mail and before
// the replica knows.
func (r *trial) killInTurn(ctx context.Context) error {
	for i := 0; waited(ctx, killEvery/2+rand.N(killEvery)); i = 1 - i { // no two trials need be alike
		if err := r.restart(i); err != nil {
			return err
		}
		if r.chance {
			continue
		}
		held := r.mail(ctx, killEvery)
		err := r.restart(i)
		if held != nil {
			close(held)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// restart kills replica i and starts it again at once.
func (r *trial) restart(i int) error {
	if err := r.procs[i].kill(); err != nil {
		return err
	}
	r.kills++
	return r.start(i)
}

// waited is true after a time, and false when ctx ends before.
func waited(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}

// mail is the next mail that is taken, held back from its sender; nil when none
// comes in time.
func (r *trial) mail(ctx context.Context, d time.Duration) chan struct{} {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case held := <-r.office.arrived:
		return held
	case <-ctx.Done():
	case <-timer.C:
	}
	return nil
}

// settle kills both replicas, lets the leases of what they were at run out, and
// has new ones send the rest.
func (r *trial) settle() {
	r.t.Helper()
	for _, s := range r.procs {
		if err := s.kill(); err != nil {
			r.t.Fatal(err)
		}
		r.kills++
	}
	r.book.endLeases(r.t)
	for i := range r.procs {
		if err := r.start(i); err != nil {
			r.t.Fatal(err)
		}
	}
}

// checkOrders looks for every acknowledged order.
func (r *trial) checkOrders() {
	r.t.Helper()
	found, numbers := map[string][]string{}, map[int]string{}
	all := listed[orders.Order](r.caller, "/orders?limit=200")
	for _, o := range all {
		found[o.Title] = append(found[o.Title], o.ID)
		if other, taken := numbers[o.Number]; taken {
			r.t.Errorf("orders %s and %s have the number %d", o.ID, other, o.Number)
		}
		numbers[o.Number] = o.ID
	}
	for title, id := range r.acked {
		if ids := found[title]; len(ids) != 1 || ids[0] != id {
			r.t.Errorf("order %s was acknowledged as %s, and is there as %v", title, id, ids)
		}
	}
	if len(all) != len(r.acked)+1 || len(r.acked) == 0 { // and the one from the shelf
		r.t.Errorf("%d orders were acknowledged besides one, and %d are there", len(r.acked), len(all))
	}
	r.t.Logf("in %s: %d kills; %d orders, with %d tries more than that", r.length, r.kills, len(r.acked), r.tries)
}

// checkReminders compares the outbox with the mail server's own count.
func (r *trial) checkReminders() {
	r.t.Helper()
	var sent []orders.Delivery
	await(r.t, "every due reminder to be sent", func() bool {
		sent = r.book.deliveries(r.t)
		for _, d := range sent {
			if d.Status == orders.DeliveryDue && !d.DueAt.After(time.Now()) {
				return false
			}
		}
		return true
	})
	mails, slots, repeats, ahead := r.office.taken(), map[string]bool{}, 0, 0
	for _, d := range sent {
		slots[slotOf(d)] = true
		if d.Status == orders.DeliveryDue {
			ahead++
			continue
		}
		copies := mails[d.MessageID]
		if d.Status != orders.DeliverySent || len(copies) == 0 {
			r.t.Errorf("reminder %s is %s, and %d mails of it came: %s", slotOf(d), d.Status, len(copies), d.LastError)
			continue
		}
		delete(mails, d.MessageID)
		for _, again := range copies[1:] {
			if repeats++; again != copies[0] {
				r.t.Errorf("reminder %s came twice, with different words:\n%s\n%s", slotOf(d), copies[0], again)
			}
		}
	}
	for id := range mails {
		r.t.Errorf("a mail %s came that the outbox does not know", id)
	}
	for _, slot := range r.book.due {
		if !slots[slot] {
			r.t.Errorf("reminder %s was due and is not in the outbox", slot)
		}
	}
	if repeats > r.kills*sendersEach {
		r.t.Errorf("%d mails came again after %d kills", repeats, r.kills)
	}
	r.t.Logf("%d reminders due, %d sent, %d mails sent again after a kill", len(r.book.due), len(sent)-ahead, repeats)
}

// slotOf names the reminder that a delivery is.
func slotOf(d orders.Delivery) string { return d.Kind + " " + d.LocalDate.String() + " " + d.Slot }

// dateParts writes a day's fields of a cron expression.
func dateParts(d civil.Date) string { return strconv.Itoa(d.Day) + " " + strconv.Itoa(int(d.Month)) }
