package remind

import (
	"context"
	"errors"
	"fmt"
	"html"
	"log/slog"
	netmail "net/mail"
	"strings"
	"time"
	"unicode"

	"ripeline/orders"
)

// Message is one reminder as it leaves. All of it is fixed before the first
// attempt but the recipient, who may change address, and Unsubscribe.
type Message struct {
	ID          string // Message-ID without brackets; the same at every attempt
	DeliveryID  string
	Kind        string
	ToName      string
	To          string
	FromName    string // the workshop
	Subject     string
	Text        string
	HTML        string // a fragment, without html and body
	Date        time.Time
	Unsubscribe string // address that ends this kind of reminder
	// Noted, unless nil, runs give, the one step by which the other side comes to
	// have the message, and notes that it has. It may also refuse to run it.
	Noted func(give func() error) error
}

// hand runs the step that hands the message over.
func (m Message) hand(give func() error) error {
	if m.Noted == nil {
		return give()
	}
	return m.Noted(give)
}

// Mailer hands a message on, once for each call. An error that is ErrRefused
// is final; any other one is tried again.
type Mailer interface {
	// Send returns what became of the message (sent or shown) and what the
	// other side answered, for the log.
	Send(ctx context.Context, m Message) (orders.DeliveryStatus, string, error)
}

// ErrRefused says that trying again can not help.
var ErrRefused = errors.New("refused")

// NewShown is the Mailer for when there is no mail server: a reminder is
// listed on the page and written to the log.
func NewShown(log *slog.Logger) Mailer { return shown{log} }

type shown struct{ log *slog.Logger }

// Send implements Mailer.
func (s shown) Send(ctx context.Context, m Message) (orders.DeliveryStatus, string, error) {
	s.log.InfoContext(ctx, "reminder", "subject", m.Subject, "text", m.Text, "message_id", m.ID)
	return orders.DeliveryShown, "", nil
}

// oneLine makes s safe in a header: line breaks and control characters become
// blanks, runs of blanks one, and bytes that are not text are dropped.
func oneLine(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	return strings.Join(strings.Fields(s), " ")
}

// checkAddress returns the bare address that s is, or ErrRefused.
func checkAddress(s string) (string, error) {
	a, err := netmail.ParseAddress(s)
	if err != nil || a.Name != "" || a.Address != s || strings.ContainsFunc(s, unicode.IsControl) {
		return "", fmt.Errorf("%w: %q is not an e-mail address; correct it on the workshop's page", ErrRefused, s)
	}
	return s, nil
}

// stopText is the end of a mail's text that says how to get no more of them.
func stopText(m Message) string {
	return "\nTo get no more of these: " + m.Unsubscribe + "\n"
}

// page is the whole HTML part of a mail.
func page(m Message) string {
	return "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>" + html.EscapeString(m.Subject) +
		"</title></head><body>\n" + m.HTML + "<p><a href=\"" + html.EscapeString(m.Unsubscribe) +
		"\">Get no more of these</a></p>\n</body></html>\n"
}
