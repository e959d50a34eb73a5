package remind

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"

	"ripeline/orders"
)

const webhookSecret = "sixteen and some more"

// hook is a webhook to a server on this machine, which is allowed.
func hook(t *testing.T, handler http.HandlerFunc) Mailer {
	t.Helper()
	web := httptest.NewServer(handler)
	t.Cleanup(web.Close)
	m, err := NewWebhook(WebhookConfig{URL: web.URL, Secret: webhookSecret, Allow: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}})
	must(t, err)
	return m
}

func TestWebhookIsSigned(t *testing.T) {
	t.Parallel()
	var header http.Header
	var body []byte
	m := hook(t, func(_ http.ResponseWriter, r *http.Request) {
		var err error
		header = r.Header
		if body, err = io.ReadAll(r.Body); err != nil {
			t.Error(err)
		}
	})
	status, answer, err := m.Send(t.Context(), sample())
	if err != nil || status != orders.DeliverySent || answer != "200 OK" {
		t.Fatalf("%v %q %v", status, answer, err)
	}
	if got := header.Get("Ripeline-Signature"); got != signWebhook([]byte(webhookSecret), sample().Date, body) || !strings.HasPrefix(got, "t=2080317600,v1=") {
		t.Errorf("signature %q of %s", got, body)
	}
	var got map[string]string
	must(t, json.Unmarshal(body, &got))
	if got["id"] != "0198" || header.Get("Idempotency-Key") != "0198" || got["subject"] != sample().Subject || strings.Contains(string(body), UnsubscribePath) {
		t.Errorf("body %s", body)
	}
}

func TestWebhookSignatureValue(t *testing.T) {
	t.Parallel()
	// Worked out with openssl: HMAC-SHA256 over "2080317600." and the body.
	const want = "t=2080317600,v1=2ff84e7ad67131554e707fcf67d13f84690a1345a2f7c1839a787bf0a661917b"
	if got := signWebhook([]byte(webhookSecret), sample().Date, []byte(`{"id":"0198"}`)); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestWebhookAnswers(t *testing.T) {
	t.Parallel()
	for code, final := range map[int]bool{302: false, 408: false, 429: false, 500: false, 503: false, 400: true, 404: true, 410: true} {
		m := hook(t, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Location", "http://169.254.169.254/")
			w.WriteHeader(code)
		})
		if _, _, err := m.Send(t.Context(), sample()); err == nil || errors.Is(err, ErrRefused) != final {
			t.Errorf("%d: %v", code, err)
		}
	}
}

func TestWebhookStaysOutOfTheOwnNetwork(t *testing.T) {
	t.Parallel()
	for address, public := range map[string]bool{
		"93.184.216.34:443": true, "[2606:4700::1]:443": true,
		"127.0.0.1:80": false, "10.1.2.3:80": false, "192.168.1.1:80": false, "172.16.0.1:80": false, "169.254.169.254:80": false,
		"100.64.0.1:80": false, "0.0.0.0:80": false, "224.0.0.1:80": false, "255.255.255.255:80": false, "198.18.0.1:80": false,
		"[::1]:80": false, "[fe80::1%eth0]:80": false, "[fd00::1]:80": false, "[::ffff:10.0.0.1]:80": false, "[64:ff9b::a00:1]:80": false,
		"[::]:80": false, "[2002:a00:1::]:80": false, "name:80": false,
	} {
		if err := checkPublic(address, nil); (err == nil) != public || err != nil && !errors.Is(err, ErrRefused) {
			t.Errorf("%s: %v", address, err)
		}
	}
	m, err := NewWebhook(WebhookConfig{URL: "https://localhost:1/hooks/its-own-secret", Secret: webhookSecret})
	must(t, err)
	_, _, err = m.Send(t.Context(), sample())
	if !errors.Is(err, ErrRefused) {
		t.Errorf("localhost was called: %v", err)
	}
	if strings.Contains(err.Error(), "its-own-secret") {
		t.Errorf("the reason tells the address: %v", err)
	}
}

func TestWebhookSettings(t *testing.T) {
	t.Parallel()
	for _, c := range []WebhookConfig{
		{URL: "", Secret: webhookSecret},
		{URL: "http://example.org/", Secret: webhookSecret},
		{URL: "ftp://example.org/", Secret: webhookSecret},
		{URL: "https://example.org/", Secret: "short"},
	} {
		if _, err := NewWebhook(c); err == nil {
			t.Errorf("%+v was taken", c)
		}
	}
}
