package remind

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"ripeline/orders"
)

// UnsubscribePath is where Service.Unsubscriber must be mounted. It needs no
// login and no session, and must not be behind a cross-origin check: a mail
// provider posts there (RFC 8058), with nothing but the address itself.
const UnsubscribePath = "/unsubscribe"

// unsubscribeSecret names the installation's key in the store.
const unsubscribeSecret = "unsubscribe"

// Subscription is one kind of reminder to one person.
type Subscription struct{ PersonID, Kind string }

// signature proves that an unsubscribe address was made here. Neither part
// holds a line break, so no two subscriptions sign alike.
func (u Subscription) signature(key []byte) string {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte("unsubscribe\n" + u.PersonID + "\n" + u.Kind))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// unsubscribeURL is the address that ends a kind of reminder for a person. It
// never expires: an old mail must still be able to stop new ones.
func (s *Service) unsubscribeURL(ctx context.Context, personID, kind string) (string, error) {
	key, err := s.unsubscribeKey(ctx)
	if err != nil {
		return "", err
	}
	u := Subscription{personID, kind}
	q := url.Values{"person": {personID}, "kind": {kind}, "sig": {u.signature(key)}}
	return s.cfg.BaseURL + UnsubscribePath + "?" + q.Encode(), nil
}

// unsubscribeKey reads the key, making one at the first use. Replicas that make
// one at the same moment get the same: an address signed with another would be
// refused for ever.
func (s *Service) unsubscribeKey(ctx context.Context) ([]byte, error) {
	var key []byte
	err := s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
		var err error
		if key, err = tx.Secret(ctx, unsubscribeSecret); errors.Is(err, orders.ErrNotFound) {
			fresh := make([]byte, sha256.Size)
			_, _ = rand.Read(fresh) // never fails since Go 1.24
			key, err = tx.KeepSecret(ctx, unsubscribeSecret, fresh)
		}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("key of unsubscribe addresses: %w", err)
	}
	return key, nil
}

// VerifyUnsubscribe returns what an unsubscribe address is about, or
// ErrNotFound when it was not made here.
func (s *Service) VerifyUnsubscribe(ctx context.Context, q url.Values) (Subscription, error) {
	u := Subscription{q.Get("person"), q.Get("kind")}
	key, err := s.unsubscribeKey(ctx)
	if err != nil {
		return Subscription{}, err
	}
	if strings.ContainsAny(u.PersonID+u.Kind, "\r\n") || !hmac.Equal([]byte(u.signature(key)), []byte(q.Get("sig"))) {
		return Subscription{}, fmt.Errorf("unsubscribe address: %w", orders.ErrNotFound)
	}
	return u, nil
}

// Unsubscribe ends a kind of reminder. Change mails come with the digests, so
// ending them ends those. Doing it again changes nothing.
func (s *Service) Unsubscribe(ctx context.Context, u Subscription) error {
	var workshop string
	err := s.cfg.Store.System(ctx, func(tx orders.SystemTx) error {
		var err error
		workshop, _, err = tx.PersonByID(ctx, u.PersonID)
		return err
	})
	if err == nil {
		err = s.cfg.Store.Write(ctx, workshop, func(tx orders.Tx) error { return s.endSubscription(ctx, tx, u) })
	}
	if err != nil {
		return fmt.Errorf("unsubscribe %s from %s: %w", u.PersonID, u.Kind, err)
	}
	return nil
}

func (s *Service) endSubscription(ctx context.Context, tx orders.Tx, u Subscription) error {
	p, err := tx.People().Get(ctx, u.PersonID)
	if err != nil {
		return err
	}
	changed, err := endKind(ctx, tx, p, u.Kind)
	if err != nil || !changed {
		return err
	}
	return tx.AddJournal(ctx, orders.JournalEntry{
		At: s.now(), Person: p.Name, Action: "reminder.unsubscribe", Subject: p.ID, Text: "Unsubscribed from " + kindName(u.Kind),
	})
}

// endKind turns the kind off; false when it was off.
func endKind(ctx context.Context, tx orders.Tx, p orders.Person, kind string) (bool, error) {
	if id, isRule := strings.CutPrefix(kind, kindRule); isRule {
		r, err := tx.Rules().Get(ctx, id)
		if err != nil || r.Off || r.PersonID != p.ID {
			return false, err
		}
		r.Off = true
		return true, tx.Rules().Update(ctx, &r)
	}
	before := p
	if kind == kindDigest || kind == kindChange {
		p.DigestAt = nil
	}
	if kind == kindToday || kind == kindChange {
		p.DigestToday = nil
	}
	if p.DigestAt == before.DigestAt && p.DigestToday == before.DigestToday {
		return false, nil
	}
	return true, tx.People().Update(ctx, &p)
}

// kindName says which reminders a kind is.
func kindName(kind string) string {
	switch kind {
	case kindDigest:
		return "the daily digest of tomorrow"
	case kindToday:
		return "the daily digest of today"
	case kindChange:
		return "the daily digests and the mails about changes that follow them"
	}
	return "this reminder of your own"
}
