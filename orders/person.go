package orders

import (
	"crypto/sha256"
	"encoding/base64"
	"time"

	"ripeline/schedule/civil"
)

// Person can sign in to one workshop.
type Person struct {
	Meta
	Name         string        `json:"name"`
	Email        string        `json:"email"` // unique in the installation; signs in with it
	Role         Role          `json:"role"`
	PasswordHash string        `json:"-"`
	DigestAt     *civil.Minute `json:"digest_at"`       // evening digest of tomorrow; nil: none
	DigestToday  *civil.Minute `json:"digest_today_at"` // morning digest of today; nil: none
	QuietFrom    *civil.Minute `json:"quiet_from"`      // change mails are held from here ...
	QuietTo      *civil.Minute `json:"quiet_to"`        // ... to here
	Retired      bool          `json:"retired"`
}

// SignInMark changes with the password, and tells nothing of it. A web session that
// holds another mark was begun with a password that is no longer the one.
func (p Person) SignInMark() string {
	sum := sha256.Sum256([]byte("sign-in mark " + p.PasswordHash))
	return base64.RawURLEncoding.EncodeToString(sum[:])
}

// APIToken lets a program act as its maker. Only its hash is stored.
type APIToken struct {
	Meta
	Name      string    `json:"name"`
	Scope     string    `json:"scope"` // "read" or "write"
	PersonID  string    `json:"person_id"`
	Hash      []byte    `json:"-"`
	UsedAt    time.Time `json:"used_at,omitzero"`
	ExpiresAt time.Time `json:"expires_at,omitzero"` // it works until then; zero: until it is revoked
	RevokedAt time.Time `json:"revoked_at,omitzero"`
}

// FeedKind is what a feed holds.
type FeedKind string

// The kinds of feed; the others are the task kinds make, cut, cure, wrap,
// hand_over and supplies.
const (
	FeedAll   FeedKind = "all"
	FeedOrder FeedKind = "order" // one order's own dates, for its customer
)

// Feed is a calendar that can be subscribed to by a secret address. Only the
// token's hash is stored.
type Feed struct {
	Meta
	Name      string    `json:"name"`
	Kind      FeedKind  `json:"kind"`
	OrderID   string    `json:"order_id,omitempty"` // for FeedOrder
	Alarm     int       `json:"alarm_minutes"`      // before timed hands-on work; 0: no alarm
	Hash      []byte    `json:"-"`
	UsedAt    time.Time `json:"used_at,omitzero"`
	RevokedAt time.Time `json:"revoked_at,omitzero"`
}

// ReminderRule is a person's own rule: whenever Cron fires, a reminder is
// sent if there is work of Kind LeadDays later.
type ReminderRule struct {
	Meta
	PersonID string   `json:"person_id"`
	Name     string   `json:"name"`
	Cron     string   `json:"cron"` // five fields, in the workshop's wall clock
	Kind     TaskKind `json:"kind"`
	LeadDays int      `json:"lead_days"` // 0 today, 1 tomorrow, ...
	Off      bool     `json:"off"`
}

// DeliveryStatus is what became of a reminder.
type DeliveryStatus string

// The statuses of a delivery.
const (
	DeliveryDue    DeliveryStatus = "due"    // claimed or to be claimed
	DeliverySent   DeliveryStatus = "sent"   // accepted by the mail server
	DeliveryShown  DeliveryStatus = "shown"  // no mail server set: on the page and in the log
	DeliveryFolded DeliveryStatus = "folded" // too late; went into the next one
	DeliveryEmpty  DeliveryStatus = "empty"  // there was nothing to say
	DeliveryFailed DeliveryStatus = "failed" // given up, with the reason
)

// Delivery is one reminder to one person: exactly one per person, local date
// and kind.
type Delivery struct {
	ID        string         `json:"id"`
	PersonID  string         `json:"person_id"`
	Kind      string         `json:"kind"` // "digest", "digest-today", "change", or "rule:<id>"
	LocalDate civil.Date     `json:"local_date"`
	Slot      string         `json:"slot"` // tells apart several of one kind on one date (a rule's HH:MM)
	DueAt     time.Time      `json:"due_at"`
	Status    DeliveryStatus `json:"status"`
	Subject   string         `json:"subject"`
	Text      string         `json:"text"`
	HTML      string         `json:"-"`
	MessageID string         `json:"message_id"`
	Attempts  int            `json:"attempts"`
	NextTry   time.Time      `json:"-"`
	LastError string         `json:"last_error,omitempty"`
	DoneAt    time.Time      `json:"done_at,omitzero"`
}

// JournalEntry says who did what to what, when. It is never changed.
type JournalEntry struct {
	ID      int64     `json:"id"`
	At      time.Time `json:"at"`
	Person  string    `json:"person"`
	Action  string    `json:"action"`  // "order.accept", "batch.fail", ...
	Subject string    `json:"subject"` // id of what it was done to
	Text    string    `json:"text"`    // one sentence for a person
}
