package remind

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ripeline/orders"
)

// storeAhead stores what will be due in every workshop. It costs one read and
// one small write for each workshop, so that a change of a person's times or of
// the plan is seen at the next look, by whichever replica looks.
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
	err := s.cfg.Store.Read(ctx, workshopID, func(tx orders.Tx) error {
		var err error
		sh, err = readShop(ctx, tx, now, 1)
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
	mails, err := s.changeMails(ctx, now, sh)
	due, errs = append(due, mails...), append(errs, err)
	if len(due) > 0 {
		errs = append(errs, s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
			return tx.AddDeliveries(ctx, workshopID, due)
		}))
	}
	return errors.Join(errs...)
}

// changeMails is the change mails to store: for everyone whose digest went out
// before something near changed.
func (s *Service) changeMails(ctx context.Context, now time.Time, sh shop) ([]orders.Delivery, error) {
	var out []orders.Delivery
	var errs []error
	for _, p := range sh.people {
		if p.Retired || !wantsDigest(p) {
			continue
		}
		d, found, err := s.changeMailFor(ctx, now, sh, p)
		if err != nil {
			errs = append(errs, err)
		} else if found {
			out = append(out, d)
		}
	}
	return out, errors.Join(errs...)
}

func (s *Service) changeMailFor(ctx context.Context, now time.Time, sh shop, p orders.Person) (orders.Delivery, bool, error) {
	c, known, err := s.toldAll(ctx, p.ID)
	if err != nil || !known || !slices.ContainsFunc(sh.tasks, c.news) {
		return orders.Delivery{}, false, err
	}
	var revs []orders.PlanRevision
	var recent []orders.Delivery
	err = s.cfg.Store.Read(ctx, sh.ID, func(tx orders.Tx) error {
		var err error
		if revs, err = revisionsSince(ctx, tx, c); err != nil {
			return err
		}
		recent, err = deliveriesSince(ctx, tx, p.ID, now.Add(-2*24*time.Hour))
		return err
	})
	if err != nil {
		return orders.Delivery{}, false, err
	}
	near := sh.nearChanges(changesSince(c, sh.tasks, revs), now)
	mails := slices.DeleteFunc(recent, func(d orders.Delivery) bool { return d.Kind != kindChange })
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
