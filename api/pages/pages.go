// Package pages is the web pages of the workshop: server-rendered HTML that
// works without JavaScript, on a phone as on a laptop. A handler reads a form,
// asks the order book, and shows one typed view; it decides nothing itself.
//
// Every page asks api.VisitorFrom who is looking, so the session middleware of
// package api has to stand in front, as has its cross-origin protection: forms
// carry no token of their own.
package pages

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"

	"ripeline/orders"
)

// Config is what the pages need; every field but MailSet and Version is
// required.
type Config struct {
	Book     *orders.Book
	Sessions *scs.SessionManager // signing in puts the person's id at SessionKey
	BaseURL  string              // scheme and host that people and calendar apps use, such as https://soap.example
	Now      func() time.Time
	Version  string // shown at the foot of the pages
	MailSet  bool   // false: reminders are only shown, and the pages say so
	Log      *slog.Logger
}

func (c Config) check() error {
	if c.Book == nil || c.Sessions == nil || c.Now == nil || c.Log == nil {
		return errors.New("pages: Book, Sessions, Now and Log must be set")
	}
	base, err := url.Parse(c.BaseURL)
	if err != nil || base.Host == "" || (base.Scheme != "http" && base.Scheme != "https") {
		return fmt.Errorf("pages: BaseURL %q must be an http or https address with a host", c.BaseURL)
	}
	return nil
}

// site is what all handlers share. It is read-only after New.
type site struct {
	Config
	templates *templates
	assets    *assets
}

// New returns the pages as one handler for "/". It fails on a broken template:
// each one is executed with a filled and with an empty view first.
func New(cfg Config) (http.Handler, error) {
	if err := cfg.check(); err != nil {
		return nil, err
	}
	cfg.BaseURL = strings.TrimRight(cfg.BaseURL, "/")
	files, err := loadAssets()
	if err != nil {
		return nil, fmt.Errorf("pages: %w", err)
	}
	tmpl, err := loadTemplates(templateFiles, files)
	if err != nil {
		return nil, fmt.Errorf("pages: %w", err)
	}
	s := &site{Config: cfg, templates: tmpl, assets: files}
	return s.routes(), nil
}
