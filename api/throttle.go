package api

import (
	"context"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"github.com/go-chi/chi/v5/middleware"
	"golang.org/x/time/rate"
)

// maxAddresses bounds the table of a throttle.
const maxAddresses = 10_000

// throttle limits the requests of each address. Its table is bounded: when it
// is full, addresses that have been quiet are forgotten; if none was, all
// newcomers share one limiter.
type throttle struct {
	limit rate.Limit
	burst int
	now   func() time.Time

	mu     sync.Mutex
	table  map[netip.Addr]*rate.Limiter
	shared *rate.Limiter
}

func newThrottle(limit rate.Limit, burst int, now func() time.Time) *throttle {
	return &throttle{limit: limit, burst: burst, now: now, table: map[netip.Addr]*rate.Limiter{}, shared: rate.NewLimiter(limit, burst)}
}

// allow takes one request of addr; false when it has to wait.
func (t *throttle) allow(addr netip.Addr) bool {
	now := t.now()
	t.mu.Lock()
	defer t.mu.Unlock()
	addr = household(addr)
	limiter, ok := t.table[addr]
	if !ok {
		limiter = t.admit(addr, now)
	}
	return limiter.AllowN(now, 1)
}

// admit makes room for a new address.
func (t *throttle) admit(addr netip.Addr, now time.Time) *rate.Limiter {
	if len(t.table) >= maxAddresses {
		for old, limiter := range t.table {
			if limiter.TokensAt(now) >= float64(t.burst) {
				delete(t.table, old)
			}
		}
	}
	if len(t.table) >= maxAddresses {
		return t.shared
	}
	limiter := rate.NewLimiter(t.limit, t.burst)
	t.table[addr] = limiter
	return limiter
}

// household is the part of an address that one visitor can not change at
// will: all of an IPv4 address, the first 64 bits of an IPv6 one.
func household(addr netip.Addr) netip.Addr {
	if !addr.Is6() {
		return addr
	}
	prefix, err := addr.WithZone("").Prefix(64)
	if err != nil { // 64 bits always fit an IPv6 address
		panic(err)
	}
	return prefix.Addr()
}

// throttled answers 429 to an address that asks too often.
func (s *server) throttled(next http.Handler) http.Handler {
	limits := newThrottle(s.cfg.Rate, s.cfg.Burst, s.cfg.Now)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !limits.allow(middleware.GetClientIPAddr(r.Context())) {
			writeProblem(w, newProblem(r.Context(), http.StatusTooManyRequests,
				"Too many requests from your address. Wait a moment, then go on more slowly.").with("Retry-After", "1"))
			return
		}
		next.ServeHTTP(w, r)
	})
}

// bounded answers 503 when too many requests are being served at once.
func (s *server) bounded(next http.Handler) http.Handler {
	places := make(chan struct{}, s.cfg.InFlight)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case places <- struct{}{}:
			defer func() { <-places }()
			next.ServeHTTP(w, r)
		default:
			refuse(w, r, overloaded(r.Context()))
		}
	})
}

func overloaded(ctx context.Context) *Problem {
	return newProblem(ctx, http.StatusServiceUnavailable, "The service is busy or can not reach its database. Try again in a moment.").hinted()
}
