package main

import (
	"context"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"

	"ripeline/orders/postgres"
	"ripeline/orders/remind"
)

// How long a person stays signed in, and for how long without a visit.
const (
	sessionLife = 90 * 24 * time.Hour
	sessionIdle = 30 * 24 * time.Hour
)

// sweepEvery is how often expired sessions are deleted.
const sweepEvery = time.Hour

// newSessions keeps web sessions in the database, under the hash of their
// token.
func newSessions(store *postgres.Store, base string) *scs.SessionManager {
	m := scs.New()
	m.Store = postgres.NewSessionStore(store)
	m.HashTokenInStore = true
	m.Lifetime, m.IdleTimeout = sessionLife, sessionIdle
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Name = "ripeline"
	if strings.HasPrefix(base, "https://") {
		m.Cookie.Secure = true
		m.Cookie.Name = "__Host-ripeline"
	}
	return m
}

// sweep deletes expired sessions until ctx ends.
func sweep(ctx context.Context, store *postgres.Store, log *slog.Logger) error {
	sessions := postgres.NewSessionStore(store)
	tick := time.NewTicker(sweepEvery)
	defer tick.Stop()
	for {
		if _, err := sessions.DeleteExpired(ctx); err != nil && ctx.Err() == nil {
			log.Warn("expired sessions were not deleted; trying again later", "err", err)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

// reminders wires the reminder loop.
func (s service) reminders(store *postgres.Store, base string, log *slog.Logger) (*remind.Service, error) {
	mailer, err := s.mailer(log)
	if err != nil {
		return nil, err
	}
	return remind.New(remind.Config{Store: store, Mailer: mailer, Now: time.Now, Log: log, BaseURL: base})
}

// mailer delivers by mail when a server is set, else to the webhook, else on
// the page and in the log.
func (s service) mailer(log *slog.Logger) (remind.Mailer, error) {
	switch {
	case s.SMTPURL != "":
		return remind.NewSMTP(remind.SMTPConfig{URL: s.SMTPURL, From: s.MailFrom})
	case s.WebhookURL != "":
		return remind.NewWebhook(remind.WebhookConfig{URL: s.WebhookURL, Secret: s.WebhookSecret})
	}
	return remind.NewShown(log), nil
}
