package api

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"

	"ripeline/orders"
)

// bearer returns the token of an Authorization header; false when the request
// has no such header at all.
func bearer(r *http.Request) (token string, sent bool) {
	header := r.Header.Get("Authorization")
	if header == "" {
		return "", false
	}
	scheme, token, _ := strings.Cut(header, " ")
	if !strings.EqualFold(scheme, "Bearer") {
		return "", true
	}
	return strings.TrimSpace(token), true
}

// tokened lets a request with an Authorization header in as its token's maker.
// A token that does not fit ends the request; a session is not asked instead.
func (s *server) tokened(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		token, sent := bearer(r)
		if !sent {
			next.ServeHTTP(w, r)
			return
		}
		actor, err := s.cfg.Book.ActorByToken(r.Context(), token)
		if err != nil {
			writeProblem(w, s.problemOf(r.Context(), err, "header", true))
			return
		}
		next.ServeHTTP(w, r.WithContext(WithVisitor(r.Context(), Visitor{Actor: actor})))
	})
}

// sessioned loads the web session of a request without an Authorization
// header, and lets the person who signed in to it in.
func (s *server) sessioned(next http.Handler) http.Handler {
	if s.cfg.Sessions == nil {
		return next
	}
	manager := *s.cfg.Sessions // shares its data with the pages' own
	manager.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) {
		s.cfg.Log.LogAttrs(r.Context(), slog.LevelError, "session failed", slog.String("request", RequestID(r.Context())), slog.Any("error", err))
		refuse(w, r, overloaded(r.Context()))
	}
	known := manager.LoadAndSave(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id := manager.GetString(r.Context(), SessionKey)
		if id == "" {
			next.ServeHTTP(w, r)
			return
		}
		person, actor, err := s.cfg.Book.ActorOf(r.Context(), id)
		if err == nil && manager.GetString(r.Context(), SessionMark) != person.SignInMark() {
			err = fmt.Errorf("the password was changed: %w", orders.ErrNotFound)
		}
		switch {
		case errors.Is(err, orders.ErrNotFound): // retired since, or of another password; the session means nothing now
			manager.Remove(r.Context(), SessionKey)
		case err != nil:
			refuse(w, r, s.problemOf(r.Context(), err, "header", true))
			return
		default:
			r = r.WithContext(WithVisitor(r.Context(), Visitor{Person: person, Actor: actor}))
		}
		next.ServeHTTP(w, r)
	}))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, sent := bearer(r); sent {
			next.ServeHTTP(w, r)
			return
		}
		known.ServeHTTP(w, r)
	})
}

// sameOrigin refuses what another site makes a browser send. A request that
// carries its own token needs no such care: no browser adds one by itself.
func (s *server) sameOrigin() (func(http.Handler) http.Handler, error) {
	guard := http.NewCrossOriginProtection()
	for _, origin := range append([]string{s.base.Scheme + "://" + s.base.Host}, s.cfg.TrustedOrigins...) {
		if err := guard.AddTrustedOrigin(origin); err != nil {
			return nil, err
		}
	}
	for _, path := range s.cfg.OpenPosts {
		guard.AddInsecureBypassPattern("POST " + path)
	}
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			_, own := bearer(r)
			if err := guard.Check(r); err != nil && !own {
				s.cfg.Log.LogAttrs(r.Context(), slog.LevelWarn, "cross-origin request refused",
					slog.String("request", RequestID(r.Context())), slog.String("origin", r.Header.Get("Origin")))
				refuse(w, r, newProblem(r.Context(), http.StatusForbidden,
					"This came from another site, so nothing was changed. If that site is yours, add it to the trusted origins."))
				return
			}
			next.ServeHTTP(w, r)
		})
	}, nil
}

// signedIn stops an operation that nobody signed in for, before its input is
// looked at.
func (s *server) signedIn(ctx huma.Context, next func(huma.Context)) {
	if _, ok := VisitorFrom(ctx.Context()); !ok {
		s.stop(ctx, s.problemOf(ctx.Context(), orders.ErrSignIn, "header", true))
		return
	}
	next(ctx)
}

// mayWrite stops a read token at an operation that changes something.
func (s *server) mayWrite(ctx huma.Context, next func(huma.Context)) {
	if v, _ := VisitorFrom(ctx.Context()); v.Actor.ReadOnly {
		s.stop(ctx, newProblem(ctx.Context(), http.StatusForbidden, "This token may only read. Use one of the scope write."))
		return
	}
	next(ctx)
}

func (s *server) stop(ctx huma.Context, p *Problem) {
	_, w := humachi.Unwrap(ctx)
	writeProblem(w, p)
}
