package api

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"
	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
)

// server is what all handlers share. It is read-only after New.
type server struct {
	cfg           Config
	base          *url.URL
	json          huma.API
	problemSchema *huma.Schema
}

// New returns the whole HTTP surface: the JSON API, the calendar feeds, the
// health checks, and cfg.Pages for everything else.
func New(cfg Config) (http.Handler, error) {
	cfg, base, err := cfg.checked()
	if err != nil {
		return nil, err
	}
	s := &server{cfg: cfg, base: base}
	sameOrigin, err := s.sameOrigin()
	if err != nil {
		return nil, fmt.Errorf("api: trusted origins: %w", err)
	}
	root := chi.NewRouter()
	root.Use(numbered, s.clientAddr(), s.logged, s.recovered, s.guarded, sized, s.timed, middleware.GetHead)
	root.NotFound(notFound)
	root.MethodNotAllowed(methodNotAllowed)
	root.Get("/healthz", s.alive)
	root.Get("/readyz", s.ready)
	root.Route("/feeds", func(r chi.Router) {
		r.Use(s.bounded, s.throttled)
		s.feeds(r)
	})
	root.Route(prefix, func(r chi.Router) {
		r.Use(s.bounded, s.throttled, sameOrigin, s.tokened, s.sessioned, unstored)
		err = s.routes(r)
	})
	if err != nil {
		return nil, fmt.Errorf("api: %w", err)
	}
	root.HandleFunc("/api/*", notFound)
	if cfg.Pages != nil {
		root.With(s.bounded, sameOrigin, s.sessioned, apart).Handle("/*", cfg.Pages)
	}
	return root, nil
}

// apart lets the pages route for themselves: with this router's state in the
// context, a chi router among them would take our routes for its own.
func apart(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		none := (*chi.Context)(nil)
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), chi.RouteCtxKey, none)))
	})
}

// clientAddr finds the address a request came from.
func (s *server) clientAddr() func(http.Handler) http.Handler {
	if len(s.cfg.TrustProxy) == 0 {
		return middleware.ClientIPFromRemoteAddr
	}
	return middleware.ClientIPFromXFF(s.cfg.TrustProxy...)
}

// unstored keeps answers out of every cache: they are one workshop's own.
func unstored(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

func notFound(w http.ResponseWriter, r *http.Request) {
	refuse(w, r, newProblem(r.Context(), http.StatusNotFound, "There is nothing at this address. Check how it is spelt."))
}

// methods are those that anything here answers to, beside HEAD.
var methods = [...]string{http.MethodGet, http.MethodPost, http.MethodPut, http.MethodDelete}

func methodNotAllowed(w http.ResponseWriter, r *http.Request) {
	routes := chi.RouteContext(r.Context()).Routes
	var allowed []string
	for _, method := range methods {
		if !routes.Match(chi.NewRouteContext(), method, r.URL.Path) {
			continue
		}
		allowed = append(allowed, method)
		if method == http.MethodGet {
			allowed = append(allowed, http.MethodHead) // see middleware.GetHead
		}
	}
	w.Header().Set("Allow", strings.Join(allowed, ", "))
	refuse(w, r, newProblem(r.Context(), http.StatusMethodNotAllowed, "This address does not take "+r.Method+" requests; see the Allow header."))
}

// routes adds the API below prefix.
func (s *server) routes(r chi.Router) error {
	s.json = humachi.New(r, s.description())
	s.describeProblem()
	s.access()
	s.workshop()
	s.records()
	s.people()
	s.orders()
	s.batches()
	s.sale()
	s.supplies()
	s.plan()
	s.reminders()
	return s.publish(r)
}
