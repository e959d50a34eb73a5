package remind

import (
	"context"
	"errors"
	"fmt"
	"time"

	"ripeline/orders"
)

// Trying again after a failure that may pass: after one minute, then twice as
// long each time up to half an hour. A reminder that is latest overdue by then
// is folded; one that has no digest to go into ends after mostAttempts.
const (
	firstRetry   = time.Minute
	longestRetry = 30 * time.Minute
	mostAttempts = 40
)

// deliverOne claims one due reminder and brings it as far as it gets; false
// when none is due. What is begun is finished even when ctx ends meanwhile,
// since only then is it known what became of it.
func (s *Service) deliverOne(ctx context.Context) (bool, error) {
	now := s.now()
	var workshop string
	var d orders.Delivery
	err := s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
		var err error
		workshop, d, err = tx.ClaimDelivery(ctx, now, s.cfg.Lease)
		return err
	})
	if errors.Is(err, orders.ErrNotFound) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), s.cfg.Lease*2/3)
	defer cancel()
	if err := s.deliver(ctx, workshop, now, d); err != nil {
		return true, fmt.Errorf("reminder %s of workshop %s: %w", d.ID, workshop, err)
	}
	return true, nil
}

// deliver brings a claimed reminder to an end, or puts it off.
func (s *Service) deliver(ctx context.Context, workshop string, now time.Time, d orders.Delivery) error {
	b, err := s.brief(ctx, workshop, now, d)
	if err != nil {
		return s.fault(ctx, d, now, err)
	}
	due, wanted, err := b.stillDue()
	if err != nil {
		return s.fault(ctx, d, now, err)
	}
	switch {
	case !wanted:
		return s.end(ctx, d, now, orders.DeliveryEmpty, "No longer wanted.")
	case due.After(now):
		d.NextTry = due
		return s.save(ctx, d)
	case now.After(due.Add(latest)) && wantsDigest(b.person):
		return s.end(ctx, d, now, orders.DeliveryFolded, "More than three hours late; told in the next digest.")
	}
	if d.MessageID == "" {
		something, err := s.write(ctx, b, &d)
		if err != nil || !something {
			return err
		}
	}
	return s.send(ctx, b, now, d)
}

// stillDue is when the reminder is due by the settings of now; false when it
// is not wanted any more.
func (b brief) stillDue() (time.Time, bool, error) {
	if b.person.ID == "" {
		return time.Time{}, false, nil
	}
	due, wanted, err := b.dueNow(b.delivery, b.person, b.rules)
	if wanted && b.delivery.DueAt.After(due) {
		due = b.delivery.DueAt
	}
	return due, wanted, err
}

// write fixes what the reminder says and its Message-ID, before anything
// leaves; false when there was nothing to say, which ends it.
func (s *Service) write(ctx context.Context, b brief, d *orders.Delivery) (bool, error) {
	l, something := b.write()
	if !something {
		return false, s.end(ctx, *d, b.now, orders.DeliveryEmpty, "")
	}
	var err error
	if d.Text, d.HTML, err = l.rendered(); err != nil {
		return false, s.fault(ctx, *d, b.now, err)
	}
	d.Subject = oneLine(l.Heading)
	d.MessageID = messageID(d.ID, coverage{b.PlanRevision, b.now}, s.host)
	return true, s.save(ctx, *d)
}

// send hands the written reminder on and records what came of it.
func (s *Service) send(ctx context.Context, b brief, now time.Time, d orders.Delivery) error {
	stop, err := s.unsubscribeURL(ctx, d.PersonID, d.Kind)
	if err != nil {
		return s.fault(ctx, d, now, err)
	}
	n := note{service: s, now: now, delivery: d}
	status, answer, err := s.cfg.Mailer.Send(ctx, Message{
		ID: d.MessageID, DeliveryID: d.ID, Kind: d.Kind, ToName: b.person.Name, To: b.person.Email, FromName: b.Name,
		Subject: d.Subject, Text: d.Text, HTML: d.HTML, Date: now, Unsubscribe: stop,
		Noted: func(give func() error) error { return n.around(ctx, give) },
	})
	switch {
	case errors.Is(err, ErrRefused):
		return errors.Join(err, s.end(ctx, d, now, orders.DeliveryFailed, err.Error()))
	case err != nil:
		return errors.Join(err, s.tryLater(ctx, d, now, err.Error()))
	}
	s.cfg.Log.InfoContext(ctx, "reminder delivered", "message_id", d.MessageID, "kind", d.Kind, "status", status, "attempts", d.Attempts, "answer", answer)
	if n.given {
		return n.err
	}
	return s.end(ctx, d, now, status, "")
}

// note is the noting that a mail was sent.
type note struct {
	service  *Service
	now      time.Time
	delivery orders.Delivery
	given    bool  // the other side has the mail
	err      error // why that could not be noted
}

// around gives the mail away within the transaction that notes it as sent, so
// that only its commit is left to do when the other side has it: a death between
// the two is what sends a mail twice. Nothing is given when the note could not be
// written, as when the lease was lost. The row stays locked meanwhile, which
// keeps other replicas off it.
func (n *note) around(ctx context.Context, give func() error) error {
	sent := n.delivery
	sent.Status, sent.DoneAt, sent.LastError = orders.DeliverySent, n.now, ""
	err := n.service.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
		if err := tx.FinishDelivery(ctx, sent); err != nil || n.given {
			return err
		}
		err := give()
		n.given = err == nil
		return err
	})
	if !n.given {
		return err
	}
	if err != nil {
		n.err = n.service.save(ctx, sent)
	}
	return nil
}

// fault is a failure of the service's own. Its text is for the log only.
func (s *Service) fault(ctx context.Context, d orders.Delivery, now time.Time, err error) error {
	return errors.Join(err, s.tryLater(ctx, d, now, "It could not be written; the log says why."))
}

// tryLater puts the reminder off, or gives it up after mostAttempts.
func (s *Service) tryLater(ctx context.Context, d orders.Delivery, now time.Time, reason string) error {
	if d.Attempts >= mostAttempts {
		return s.end(ctx, d, now, orders.DeliveryFailed, reason)
	}
	d.NextTry, d.LastError = now.Add(backOff(d.Attempts)), oneLine(reason)
	return s.save(ctx, d)
}

// backOff is the pause after the nth attempt.
func backOff(n int) time.Duration {
	pause := firstRetry
	for ; n > 1 && pause < longestRetry; n-- {
		pause *= 2
	}
	return min(pause, longestRetry)
}

// end records the final status.
func (s *Service) end(ctx context.Context, d orders.Delivery, now time.Time, status orders.DeliveryStatus, reason string) error {
	d.Status, d.DoneAt, d.LastError = status, now, oneLine(reason)
	return s.save(ctx, d)
}

// saveTries is how often an outcome is written: a mail that has left must not
// be forgotten because the database was restarting.
const saveTries = 5

// save stores the outcome of a claim. Who lost the lease gets ErrConflict.
func (s *Service) save(ctx context.Context, d orders.Delivery) error {
	pause := 200 * time.Millisecond
	for try := 1; ; try++ {
		err := s.cfg.Store.System(ctx, func(tx orders.SystemTx) error { return tx.FinishDelivery(ctx, d) })
		if err == nil || errors.Is(err, orders.ErrConflict) || try == saveTries {
			return err
		}
		timer := time.NewTimer(pause)
		select {
		case <-ctx.Done():
			timer.Stop()
			return errors.Join(err, ctx.Err())
		case <-timer.C:
			pause *= 2
		}
	}
}

// brief reads all that the delivery is written from.
func (s *Service) brief(ctx context.Context, workshop string, now time.Time, d orders.Delivery) (brief, error) {
	b := brief{delivery: d, now: now, planURL: s.cfg.BaseURL + "/plan"}
	var lastDue time.Time
	err := s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
		kinds := []string{kindDigest, kindToday}
		var err error
		if b.told, lastDue, b.known, err = told(ctx, tx, d.PersonID, kinds...); err != nil || d.Kind != kindChange {
			return err
		}
		b.told, _, _, err = told(ctx, tx, d.PersonID, append(kinds, kindChange)...)
		return err
	})
	if err != nil {
		return b, err
	}
	err = s.cfg.Store.Read(ctx, workshop, func(tx orders.Tx) error { return b.read(ctx, tx, lastDue) })
	return b, err
}

// read fills in what the workshop's own records say. lastDue is when the last
// delivered digest was due.
func (b *brief) read(ctx context.Context, tx orders.Tx, lastDue time.Time) error {
	var err error
	if b.shop, err = readShop(ctx, tx, b.now, lookBack); err != nil {
		return err
	}
	b.person, _ = b.shop.person(b.delivery.PersonID)
	if b.known {
		revs, err := revisionsSince(ctx, tx, b.told)
		if err != nil {
			return err
		}
		b.changes, b.whys = changesSince(b.told, b.tasks, revs), whys(revs)
	}
	if b.delivery.Kind != kindDigest && b.delivery.Kind != kindToday {
		return nil
	}
	if b.molded, err = all(ctx, tx.Batches().List, orders.ListQuery{Status: string(orders.BatchPoured)}); err != nil {
		return err
	}
	since := b.now.AddDate(0, 0, -lookBack)
	if b.known {
		since = earliest(lastDue, b.told.at.Add(-latest)).Add(-time.Second)
	}
	recent, err := deliveriesSince(ctx, tx, b.delivery.PersonID, since)
	b.missed = missedOf(b.delivery, recent, b.now, lastDue, b.told.at)
	return err
}

func earliest(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}
