package orders

import (
	"context"
	"time"

	"ripeline/schedule/civil"
)

// Setup is what first run asks for.
type Setup struct {
	Workshop string
	Name     string // of the owner
	Email    string
	Password string
	Zone     string
	Demo     bool // fill with the demo
}

// NewSetupToken makes the one-time token of the first-run link; "" when the
// installation already has a workshop.
func (b *Book) NewSetupToken(ctx context.Context) (string, error) { return "", errUnbuilt }

// CheckSetupToken is nil while token opens first run.
func (b *Book) CheckSetupToken(ctx context.Context, token string) error { return errUnbuilt }

// FirstRun makes the first workshop and its owner, using up the token. The
// workshop starts with sensible hours, reminder rules and no molds.
func (b *Book) FirstRun(ctx context.Context, token string, s Setup) (Actor, error) {
	return Actor{}, errUnbuilt
}

// AddWorkshop makes a further workshop with its owner.
func (b *Book) AddWorkshop(ctx context.Context, s Setup) (Actor, error) { return Actor{}, errUnbuilt }

// SignIn checks an e-mail address and password. ErrSignIn for either being
// wrong; ErrThrottled, before the password is looked at, after 5 failures of
// the email or 20 of the address within 15 minutes.
func (b *Book) SignIn(ctx context.Context, email, password, addr string) (Person, Actor, error) {
	return Person{}, Actor{}, errUnbuilt
}

// ActorOf returns the actor of a signed-in person; ErrNotFound when retired.
func (b *Book) ActorOf(ctx context.Context, personID string) (Person, Actor, error) {
	return Person{}, Actor{}, errUnbuilt
}

// ActorByToken returns the actor of an API token; ErrSignIn when unknown or
// revoked.
func (b *Book) ActorByToken(ctx context.Context, token string) (Actor, error) {
	return Actor{}, errUnbuilt
}

// PersonInput is what can be said of a person. An empty Password on a change
// keeps the old one.
type PersonInput struct {
	Name        string        `json:"name"`
	Email       string        `json:"email"`
	Role        Role          `json:"role"`
	Password    string        `json:"password,omitempty"`
	DigestAt    *civil.Minute `json:"digest_at"`
	DigestToday *civil.Minute `json:"digest_today_at"`
	QuietFrom   *civil.Minute `json:"quiet_from"`
	QuietTo     *civil.Minute `json:"quiet_to"`
	Retired     bool          `json:"retired"`
}

// People returns a page of the workshop's people.
func (b *Book) People(ctx context.Context, a Actor, q ListQuery) (Page[Person], error) {
	return Page[Person]{}, errUnbuilt
}

// Person returns one of the workshop's people.
func (b *Book) Person(ctx context.Context, a Actor, id string) (Person, error) {
	return Person{}, errUnbuilt
}

// AddPerson adds a person who can sign in.
func (b *Book) AddPerson(ctx context.Context, a Actor, in PersonInput) (Person, error) {
	return Person{}, errUnbuilt
}

// ChangePerson changes a person; the last owner can not be retired or lowered.
func (b *Book) ChangePerson(ctx context.Context, a Actor, id string, version int, in PersonInput) (Person, error) {
	return Person{}, errUnbuilt
}

// Workshop returns the actor's workshop.
func (b *Book) Workshop(ctx context.Context, a Actor) (Workshop, error) {
	return Workshop{}, errUnbuilt
}

// ChangeWorkshop changes name, zone, units, currency, locale, hands, firm
// days, hand-over default and hours, and re-plans.
func (b *Book) ChangeWorkshop(ctx context.Context, a Actor, w Workshop) (Workshop, error) {
	return Workshop{}, errUnbuilt
}

// RemoveDemo deletes the demo workshop's book, keeping its people and hours.
func (b *Book) RemoveDemo(ctx context.Context, a Actor) error { return errUnbuilt }

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
func (b *Book) Tokens(ctx context.Context, a Actor, q ListQuery) (Page[APIToken], error) {
	return Page[APIToken]{}, errUnbuilt
}

// AddToken makes an API token of scope read or write acting as the actor.
func (b *Book) AddToken(ctx context.Context, a Actor, name, scope string) (NewToken, error) {
	return NewToken{}, errUnbuilt
}

// RevokeToken ends a token.
func (b *Book) RevokeToken(ctx context.Context, a Actor, id string) error { return errUnbuilt }

// FeedInput is what can be said of a feed.
type FeedInput struct {
	Name    string   `json:"name"`
	Kind    FeedKind `json:"kind"`
	OrderID string   `json:"order_id,omitempty"`
	Alarm   int      `json:"alarm_minutes"`
}

// Feeds returns a page of feeds, revoked ones left out unless q.All; q.Parent
// filters by order.
func (b *Book) Feeds(ctx context.Context, a Actor, q ListQuery) (Page[Feed], error) {
	return Page[Feed]{}, errUnbuilt
}

// AddFeed makes a feed.
func (b *Book) AddFeed(ctx context.Context, a Actor, in FeedInput) (NewFeed, error) {
	return NewFeed{}, errUnbuilt
}

// RotateFeed gives a feed a new secret; the old one stops working at once.
func (b *Book) RotateFeed(ctx context.Context, a Actor, id string) (NewFeed, error) {
	return NewFeed{}, errUnbuilt
}

// RevokeFeed ends a feed.
func (b *Book) RevokeFeed(ctx context.Context, a Actor, id string) error { return errUnbuilt }

// Deliveries returns a page of reminders, newest first.
func (b *Book) Deliveries(ctx context.Context, a Actor, q ListQuery) (Page[Delivery], error) {
	return Page[Delivery]{}, errUnbuilt
}

// Journal returns a page of the journal, newest first.
func (b *Book) Journal(ctx context.Context, a Actor, q ListQuery) (Page[JournalEntry], error) {
	return Page[JournalEntry]{}, errUnbuilt
}

// NextTimes returns the next n local times a cron expression fires, by the
// workshop's wall clock; *Invalid (field "cron") when it can not be read or
// never fires.
func (b *Book) NextTimes(ctx context.Context, a Actor, cron string, n int) ([]time.Time, error) {
	return nil, errUnbuilt
}

func (b *Book) catalog() {}
