package remind

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strconv"
	"syscall"
	"time"

	"ripeline/orders"
)

// webhookTimeout bounds one call, all of it.
const webhookTimeout = 15 * time.Second

// WebhookConfig says where reminders are posted to.
type WebhookConfig struct {
	URL    string // https, or http to an address that Allow lists
	Secret string // of at least 16 characters, shared with the receiver
	// Allow lists private address ranges that may be called all the same, such
	// as that of a machine in the workshop. Empty: only public addresses.
	Allow []netip.Prefix
}

type webhook struct {
	url    string
	secret []byte
	client *http.Client
}

// webhookBody is what is posted. ID stays the same when a call is repeated.
type webhookBody struct {
	ID      string    `json:"id"`
	Kind    string    `json:"kind"`
	Person  string    `json:"person"`
	Subject string    `json:"subject"`
	Text    string    `json:"text"`
	SentAt  time.Time `json:"sent_at"`
}

// NewWebhook returns a Mailer that posts each reminder as JSON. The header
// Ripeline-Signature is "t=<unix seconds>,v1=<hex>", the HMAC-SHA256 with the
// secret of the seconds, a full stop and the body; a receiver should refuse
// old ones. Addresses are checked after the name is resolved, and redirects are
// not followed, so that it can not be turned against the own network.
func NewWebhook(cfg WebhookConfig) (Mailer, error) {
	u, err := url.Parse(cfg.URL)
	if err != nil || u.Host == "" || (u.Scheme != "https" && (u.Scheme != "http" || len(cfg.Allow) == 0)) {
		return nil, errors.New("the webhook must be an address such as https://example.org/reminders")
	}
	if len(cfg.Secret) < 16 {
		return nil, errors.New("the webhook's secret must have at least 16 characters")
	}
	dialer := &net.Dialer{Timeout: webhookTimeout, Control: func(_, address string, _ syscall.RawConn) error {
		return checkPublic(address, cfg.Allow)
	}}
	return &webhook{cfg.URL, []byte(cfg.Secret), &http.Client{
		Timeout:       webhookTimeout,
		Transport:     &http.Transport{DialContext: dialer.DialContext, DisableKeepAlives: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}, nil
}

// notPublic are ranges that are not the internet, beside those netip knows:
// shared address space (RFC 6598), special purposes (RFC 6890, 2544, 1112) and
// IPv4 inside IPv6 (RFC 6052, 3056, 4380).
var notPublic = []netip.Prefix{
	netip.MustParsePrefix("0.0.0.0/8"), netip.MustParsePrefix("100.64.0.0/10"), netip.MustParsePrefix("192.0.0.0/24"),
	netip.MustParsePrefix("198.18.0.0/15"), netip.MustParsePrefix("240.0.0.0/4"),
	netip.MustParsePrefix("64:ff9b::/96"), netip.MustParsePrefix("64:ff9b:1::/48"),
	netip.MustParsePrefix("2002::/16"), netip.MustParsePrefix("2001::/32"), netip.MustParsePrefix("fec0::/10"),
}

// checkPublic refuses an address (host:port) outside the public internet,
// unless it is allowed.
func checkPublic(address string, allow []netip.Prefix) error {
	to, err := netip.ParseAddrPort(address)
	if err != nil {
		return fmt.Errorf("%w: webhook: %q is not an address", ErrRefused, address)
	}
	ip := to.Addr().Unmap().WithZone("")
	for _, p := range allow {
		if p.Contains(ip) {
			return nil
		}
	}
	public := ip.IsGlobalUnicast() && !ip.IsPrivate()
	for _, p := range notPublic {
		public = public && !p.Contains(ip)
	}
	if !public {
		return fmt.Errorf("%w: webhook: %s is not a public address", ErrRefused, ip)
	}
	return nil
}

// Send implements Mailer.
func (h *webhook) Send(ctx context.Context, m Message) (orders.DeliveryStatus, string, error) {
	body, err := json.Marshal(webhookBody{
		ID: m.DeliveryID, Kind: m.Kind, Person: m.ToName, Subject: m.Subject, Text: m.Text, SentAt: m.Date,
	})
	if err != nil {
		return "", "", fmt.Errorf("webhook: %w", err)
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, h.url, bytes.NewReader(body))
	if err != nil {
		return "", "", fmt.Errorf("webhook: %w", err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Idempotency-Key", m.DeliveryID)
	req.Header.Set("Ripeline-Signature", signWebhook(h.secret, m.Date, body))
	resp, err := h.client.Do(req)
	if err != nil {
		return "", "", fmt.Errorf("webhook: %w", addressless(err))
	}
	defer func() { _ = resp.Body.Close() }() // read only
	return webhookVerdict(resp.StatusCode)
}

// addressless leaves the address out of net/http's error: whoever has it may
// post there, and the reason is shown to everyone in the workshop.
func addressless(err error) error {
	var asked *url.Error
	if errors.As(err, &asked) {
		return asked.Err
	}
	return err
}

// webhookVerdict reads the answer: 4xx is final, but for those that ask to come
// again.
func webhookVerdict(code int) (orders.DeliveryStatus, string, error) {
	answer := strconv.Itoa(code) + " " + http.StatusText(code)
	switch {
	case code/100 == 2:
		return orders.DeliverySent, answer, nil
	case code/100 == 4 && code != http.StatusRequestTimeout && code != http.StatusTooManyRequests:
		return "", "", fmt.Errorf("%w: webhook: it answered %s", ErrRefused, answer)
	}
	return "", "", fmt.Errorf("webhook: it answered %s", answer)
}

func signWebhook(secret []byte, at time.Time, body []byte) string {
	seconds := strconv.FormatInt(at.Unix(), 10)
	mac := hmac.New(sha256.New, secret)
	mac.Write([]byte(seconds + "."))
	mac.Write(body)
	return "t=" + seconds + ",v1=" + hex.EncodeToString(mac.Sum(nil))
}
