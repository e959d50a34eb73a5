package remind

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// recently is how far back the outbox is looked at before anything is stored.
const recently = 3 * 24 * time.Hour

// storeAhead stores what will be due in every workshop. It reads each workshop
// at each look, so that a change of a person's times or of the plan is seen by
// whichever replica looks next, and writes only what is new.
func (s *Service) storeAhead(ctx context.Context) error {
	var errs []error
	for after := ""; ; {
		var ids []string
		err := s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
			var err error
			ids, err = tx.WorkshopIDs(ctx, after, pageSize)
			return err
		})
		if err != nil {
			return errors.Join(append(errs, fmt.Errorf("store reminders: %w", err))...)
		}
		if len(ids) == 0 {
			return errors.Join(errs...)
		}
		for _, id := range ids {
			err := s.storeShop(ctx, id)
			if err != nil && !errors.Is(err, orders.ErrNotFound) { // deleted meanwhile
				errs = append(errs, fmt.Errorf("store reminders of workshop %s: %w", id, err))
			}
		}
		after = ids[len(ids)-1]
	}
}

func (s *Service) storeShop(ctx context.Context, workshopID string) error {
	now := s.now()
	var sh shop
	var recent []orders.Delivery
	err := s.cfg.Store.Read(ctx, workshopID, func(tx orders.Tx) error {
		var err error
		if sh, err = readShop(ctx, tx, now, 1); err != nil {
			return err
		}
		recent, err = deliveriesSince(ctx, tx, "", now.Add(-recently))
		return err
	})
	if err != nil {
		return err
	}
	var due []orders.Delivery
	var errs []error
	for _, p := range sh.people {
		more, err := sh.ahead(now, p, sh.rules)
		due, errs = append(due, more...), append(errs, err)
	}
	mails, err := s.changeMails(ctx, now, sh, recent)
	due, errs = unknown(append(due, mails...), recent), append(errs, err)
	if len(due) > 0 {
		errs = append(errs, s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
			return tx.AddDeliveries(ctx, workshopID, due)
		}))
	}
	return errors.Join(errs...)
}

// unknown leaves out what the outbox holds already, due at the same time.
func unknown(due, stored []orders.Delivery) []orders.Delivery {
	type key struct {
		person, kind, slot string
		day                civil.Date
	}
	keyOf := func(d orders.Delivery) key { return key{d.PersonID, d.Kind, d.Slot, d.LocalDate} }
	at := make(map[key]time.Time, len(stored))
	for _, d := range stored {
		at[keyOf(d)] = d.DueAt
	}
	return slices.DeleteFunc(due, func(d orders.Delivery) bool {
		known, ok := at[keyOf(d)]
		return ok && known.Equal(d.DueAt)
	})
}

// changeMails is the change mails to store: for everyone whose digest went out
// before something near changed.
func (s *Service) changeMails(ctx context.Context, now time.Time, sh shop, recent []orders.Delivery) ([]orders.Delivery, error) {
	var out []orders.Delivery
	var errs []error
	for _, p := range sh.people {
		if p.Retired || !wantsDigest(p) {
			continue
		}
		d, found, err := s.changeMailFor(ctx, now, sh, p, recent)
		if err != nil {
			errs = append(errs, err)
		} else if found {
			out = append(out, d)
		}
	}
	return out, errors.Join(errs...)
}

func (s *Service) changeMailFor(ctx context.Context, now time.Time, sh shop, p orders.Person, recent []orders.Delivery) (orders.Delivery, bool, error) {
	c, known, err := s.toldAll(ctx, p.ID)
	if err != nil || !known || !slices.ContainsFunc(sh.tasks, c.news) {
		return orders.Delivery{}, false, err
	}
	var revs []orders.PlanRevision
	err = s.cfg.Store.Read(ctx, sh.ID, func(tx orders.Tx) error {
		var err error
		revs, err = revisionsSince(ctx, tx, c)
		return err
	})
	if err != nil {
		return orders.Delivery{}, false, err
	}
	near := sh.nearChanges(changesSince(c, sh.tasks, revs), now)
	var mails []orders.Delivery
	for _, d := range recent {
		if d.Kind == kindChange && d.PersonID == p.ID {
			mails = append(mails, d)
		}
	}
	d, found := sh.changeMail(now, p, near, mails)
	return d, found, nil
}

// toldAll is what digests and change mails have told a person; false before
// the first digest, since until then nothing is a change.
func (s *Service) toldAll(ctx context.Context, personID string) (c coverage, known bool, err error) {
	err = s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
		_, _, known, err = told(ctx, tx, personID, kindDigest, kindToday)
		if err != nil || !known {
			return err
		}
		c, _, _, err = told(ctx, tx, personID, kindDigest, kindToday, kindChange)
		return err
	})
	return c, known, err
}
