package api

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"golang.org/x/time/rate"

	"ripeline/orders"
)

// SessionKey is where a web session keeps the id of the person who signed in.
const SessionKey = "person"

// SessionMark is where it keeps the mark of the password it was begun with.
const SessionMark = "mark"

// Defaults of the limits in Config.
const (
	DefaultRate     = 50  // requests per second
	DefaultBurst    = 300 // requests
	DefaultInFlight = 256 // requests
	DefaultTimeout  = 60 * time.Second
)

// Config is what the HTTP surface needs. Zero limits mean the defaults.
type Config struct {
	Book     *orders.Book        // required
	Sessions *scs.SessionManager // web sessions; nil leaves only bearer tokens
	Pages    http.Handler        // serves everything that is not the API or a feed; nil answers 404

	// BaseURL is the scheme and host that people and calendar apps use, such
	// as https://soap.example. Required. With https, browsers are told to stay
	// with it.
	BaseURL string
	// TrustedOrigins may send forms and JSON from a browser besides BaseURL.
	TrustedOrigins []string
	// OpenPosts are paths that any site may post to, since the address that is
	// posted to is proof enough and no session counts there.
	OpenPosts []string
	// TrustProxy lists the address ranges (CIDR) of reverse proxies whose
	// X-Forwarded-For is believed. Empty: the connection's own address counts.
	TrustProxy []string

	Log     *slog.Logger // required
	Now     func() time.Time
	Version string // of the program, for the API description

	// Ready is nil while the service can do its work; nil is always ready.
	Ready func(context.Context) error

	Rate     rate.Limit    // requests per second of one address to the API and feeds
	Burst    int           // requests at once of one address
	InFlight int           // requests served at once; more get 503
	Timeout  time.Duration // after which a request's context ends
}

// checked returns cfg with its defaults filled in, and the parsed BaseURL.
func (cfg Config) checked() (Config, *url.URL, error) {
	if cfg.Book == nil || cfg.Log == nil || cfg.Now == nil {
		return cfg, nil, errors.New("api: Book, Log and Now must be set")
	}
	cfg.BaseURL = strings.TrimRight(cfg.BaseURL, "/")
	base, err := url.Parse(cfg.BaseURL)
	if err != nil || base.Host == "" || base.Path != "" || base.RawQuery != "" || (base.Scheme != "http" && base.Scheme != "https") {
		return cfg, nil, fmt.Errorf("api: the base address %q must be http or https with a host and no path, such as https://soap.example", cfg.BaseURL)
	}
	for _, prefix := range cfg.TrustProxy {
		if _, err := netip.ParsePrefix(prefix); err != nil {
			return cfg, nil, fmt.Errorf("api: trusted proxy %q must be an address range such as 10.0.0.0/8: %w", prefix, err)
		}
	}
	if cfg.Rate < 0 || cfg.Burst < 0 || cfg.InFlight < 0 || cfg.Timeout < 0 {
		return cfg, nil, errors.New("api: rate, burst, requests in flight and timeout must not be negative")
	}
	cfg.fillLimits()
	return cfg, base, nil
}

func (cfg *Config) fillLimits() {
	if cfg.Rate == 0 {
		cfg.Rate = DefaultRate
	}
	if cfg.Burst == 0 {
		cfg.Burst = DefaultBurst
	}
	if cfg.InFlight == 0 {
		cfg.InFlight = DefaultInFlight
	}
	if cfg.Timeout == 0 {
		cfg.Timeout = DefaultTimeout
	}
	if cfg.Ready == nil {
		cfg.Ready = func(context.Context) error { return nil }
	}
}
