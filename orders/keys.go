package orders

import (
	"context"
	"fmt"
	"slices"
	"time"
)

// The scopes of an API token.
const (
	ScopeRead  = "read"
	ScopeWrite = "write"
)

// NewToken is a token with its secret, which is shown this once.
type NewToken struct {
	APIToken
	Secret string `json:"secret"`
}

// NewFeed is a feed with its secret, which is shown this once.
type NewFeed struct {
	Feed
	Secret string `json:"secret"`
}

func (t NewToken) withoutSecret() any { t.Secret = ""; return t }
func (f NewFeed) withoutSecret() any  { f.Secret = ""; return f }

// Tokens returns a page of API tokens, revoked ones left out unless q.All.
// Owners only.
func (b *Book) Tokens(ctx context.Context, a Actor, q ListQuery) (Page[APIToken], error) {
	if err := a.may(Owner, false); err != nil {
		return Page[APIToken]{}, err
	}
	return read(ctx, b, a, func(tx Tx) (Page[APIToken], error) { return tx.Tokens().List(ctx, q) })
}

// TokenInput is what can be said of a token.
type TokenInput struct {
	Name  string `json:"name"`
	Scope string `json:"scope" enum:"read,write"`
	Days  int    `json:"days,omitempty"` // for which it works; 0: until it is revoked
}

const (
	maxTokens    = 100 // that work at once, in a workshop
	maxTokenDays = 3660
)

// AddToken makes an API token of scope read or write, acting as the actor.
func (b *Book) AddToken(ctx context.Context, a Actor, in TokenInput) (NewToken, error) {
	if err := a.may(Viewer, true); err != nil {
		return NewToken{}, err
	}
	var c Check
	checkName(&c, "name", in.Name, true)
	c.Want(in.Scope == ScopeRead || in.Scope == ScopeWrite, "scope", `must be "read" or "write"`)
	within(&c, "days", in.Days, 0, maxTokenDays, "days")
	if err := c.Err(); err != nil {
		return NewToken{}, err
	}
	return write(ctx, b, a, func(tx Tx) (NewToken, error) {
		if err := b.roomForToken(ctx, tx); err != nil {
			return NewToken{}, err
		}
		secret, hash := newSecret()
		t := APIToken{Name: in.Name, Scope: in.Scope, PersonID: a.PersonID, Hash: hash}
		if in.Days > 0 {
			t.ExpiresAt = b.now().AddDate(0, 0, in.Days)
		}
		if err := tx.Tokens().Insert(ctx, &t); err != nil {
			return NewToken{}, fmt.Errorf("add token: %w", err)
		}
		return NewToken{t, secret}, b.journal(ctx, tx, a, "token.create", t.ID, "Made the "+in.Scope+" token "+in.Name)
	})
}

// Expired reports whether a token ended by itself.
func (t APIToken) Expired(now time.Time) bool {
	return !t.ExpiresAt.IsZero() && !now.Before(t.ExpiresAt)
}

// roomForToken is a conflict when the workshop has as many tokens as it may. Those
// that expired are deleted: the journal tells of them.
func (b *Book) roomForToken(ctx context.Context, tx Tx) error {
	working := 0
	for q := (ListQuery{Limit: 200}); ; {
		page, err := tx.Tokens().List(ctx, q)
		if err != nil {
			return err
		}
		for _, t := range page.Items {
			if !t.Expired(b.now()) {
				working++
			} else if err := tx.Tokens().Delete(ctx, t.ID, t.Version); err != nil {
				return fmt.Errorf("delete an expired token: %w", err)
			}
		}
		if working >= maxTokens {
			return &Conflict{fmt.Sprintf("This workshop has %d tokens that work, as many as it may. End one that nothing needs, then make the new one.", working)}
		}
		if page.Next == "" {
			return nil
		}
		q.Cursor = page.Next
	}
}

// RevokeToken ends a token: an owner any, others their own.
func (b *Book) RevokeToken(ctx context.Context, a Actor, id string) error {
	if err := a.may(Viewer, true); err != nil {
		return err
	}
	_, err := write(ctx, b, a, func(tx Tx) (struct{}, error) {
		t, err := tx.Tokens().Get(ctx, id)
		if err != nil {
			return struct{}{}, err
		}
		if a.Role != Owner && t.PersonID != a.PersonID {
			return struct{}{}, fmt.Errorf("%w: only an owner ends another person's token", ErrForbidden)
		}
		if !t.RevokedAt.IsZero() {
			return struct{}{}, nil
		}
		t.RevokedAt = b.now()
		if err := tx.Tokens().Update(ctx, &t); err != nil {
			return struct{}{}, err
		}
		return struct{}{}, b.journal(ctx, tx, a, "token.revoke", t.ID, "Ended the token "+t.Name)
	})
	return err
}

// FeedInput is what can be said of a feed.
type FeedInput struct {
	Name    string   `json:"name"`
	Kind    FeedKind `json:"kind"`
	OrderID string   `json:"order_id,omitempty"`
	Alarm   int      `json:"alarm_minutes,omitempty"`
}

// FeedKinds are the kinds of feed that can be made.
var FeedKinds = [...]FeedKind{
	FeedAll, FeedKind(TaskMake), FeedKind(TaskCut), FeedKind(TaskCure), FeedKind(TaskWrap),
	FeedKind(TaskHandOver), FeedKind(TaskSupplies), FeedOrder,
}

// Feeds returns a page of feeds, revoked ones left out unless q.All; q.Parent
// filters by order.
func (b *Book) Feeds(ctx context.Context, a Actor, q ListQuery) (Page[Feed], error) {
	return read(ctx, b, a, func(tx Tx) (Page[Feed], error) { return tx.Feeds().List(ctx, q) })
}

// AddFeed makes a feed. Helpers may make feeds for themselves; a feed for an
// order's customer is the owner's to give.
func (b *Book) AddFeed(ctx context.Context, a Actor, in FeedInput) (NewFeed, error) {
	least := Helper
	if in.Kind == FeedOrder {
		least = Owner
	}
	if err := a.may(least, true); err != nil {
		return NewFeed{}, err
	}
	return write(ctx, b, a, func(tx Tx) (NewFeed, error) {
		if err := checkFeed(ctx, tx, in); err != nil {
			return NewFeed{}, err
		}
		secret, hash := newSecret()
		f := Feed{Name: in.Name, Kind: in.Kind, OrderID: in.OrderID, Alarm: in.Alarm, Hash: hash}
		if err := tx.Feeds().Insert(ctx, &f); err != nil {
			return NewFeed{}, fmt.Errorf("add feed: %w", err)
		}
		return NewFeed{f, secret}, b.journal(ctx, tx, a, "feed.create", f.ID, "Made the calendar feed "+f.Name)
	})
}

func checkFeed(ctx context.Context, tx Tx, in FeedInput) error {
	var c Check
	checkName(&c, "name", in.Name, true)
	c.Want(slices.Contains(FeedKinds[:], in.Kind), "kind", "must be one of all, make, cut, cure, wrap, hand_over, supplies, order")
	within(&c, "alarm_minutes", in.Alarm, 0, 7*24*60, "minutes")
	if in.Kind != FeedOrder {
		c.Want(in.OrderID == "", "order_id", "belongs to a feed of the kind order; leave it empty")
		return c.Err()
	}
	if _, err := known(ctx, &c, tx.Orders(), "order_id", in.OrderID, "order"); err != nil {
		return err
	}
	return c.Err()
}

// RotateFeed gives a feed a new secret; the old one stops working at once.
func (b *Book) RotateFeed(ctx context.Context, a Actor, id string) (NewFeed, error) {
	var secret string // stays empty where an idempotency key recalls the answer
	f, err := b.changeFeed(ctx, a, id, "rotate", "Gave a new address to the calendar feed ", func(f *Feed) { secret, f.Hash = newSecret() })
	return NewFeed{f, secret}, err
}

// RevokeFeed ends a feed.
func (b *Book) RevokeFeed(ctx context.Context, a Actor, id string) error {
	_, err := b.changeFeed(ctx, a, id, "revoke", "Ended the calendar feed ", func(f *Feed) { f.RevokedAt = b.now() })
	return err
}

func (b *Book) changeFeed(ctx context.Context, a Actor, id, verb, text string, change func(*Feed)) (Feed, error) {
	if err := a.may(Helper, true); err != nil {
		return Feed{}, err
	}
	return write(ctx, b, a, func(tx Tx) (Feed, error) {
		f, err := tx.Feeds().Get(ctx, id)
		switch {
		case err != nil:
			return f, err
		case !f.RevokedAt.IsZero():
			return f, &Conflict{"This feed was ended. Make a new one."}
		case f.Kind == FeedOrder && a.Role != Owner:
			return f, fmt.Errorf("%w: a customer's feed is the owner's to change", ErrForbidden)
		}
		change(&f)
		if err := tx.Feeds().Update(ctx, &f); err != nil {
			return f, fmt.Errorf("%s feed: %w", verb, err)
		}
		return f, b.journal(ctx, tx, a, "feed."+verb, f.ID, text+f.Name)
	})
}

// Deliveries returns a page of reminders, newest first; q.Parent filters by
// person.
func (b *Book) Deliveries(ctx context.Context, a Actor, q ListQuery) (Page[Delivery], error) {
	return read(ctx, b, a, func(tx Tx) (Page[Delivery], error) { return tx.Deliveries(ctx, q) })
}

// Journal returns a page of the journal, newest first; q.Parent filters by
// subject.
func (b *Book) Journal(ctx context.Context, a Actor, q ListQuery) (Page[JournalEntry], error) {
	return read(ctx, b, a, func(tx Tx) (Page[JournalEntry], error) { return tx.Journal(ctx, q) })
}
