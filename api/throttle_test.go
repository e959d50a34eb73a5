package api

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"testing"
	"time"
)

func TestThrottleByAddress(t *testing.T) {
	now := noon
	limits := newThrottle(1, 2, func() time.Time { return now })
	a, b := netip.MustParseAddr("192.0.2.1"), netip.MustParseAddr("192.0.2.2")
	for i, want := range []bool{true, true, false} {
		if got := limits.allow(a); got != want {
			t.Errorf("request %d: %t", i+1, got)
		}
	}
	if !limits.allow(b) {
		t.Error("another address waits too")
	}
	now = now.Add(time.Second)
	if !limits.allow(a) || limits.allow(a) {
		t.Error("a second later exactly one more should pass")
	}
}

func TestThrottleTakesAnIPv6NetworkAsOne(t *testing.T) {
	limits := newThrottle(1, 1, func() time.Time { return noon })
	if !limits.allow(netip.MustParseAddr("2001:db8::1")) || limits.allow(netip.MustParseAddr("2001:db8::2")) {
		t.Error("two addresses of one /64 are not one visitor")
	}
	if !limits.allow(netip.MustParseAddr("2001:db8:0:1::1")) {
		t.Error("another /64 waits too")
	}
}

func TestThrottleTableIsBounded(t *testing.T) {
	now := noon
	limits := newThrottle(1, 5, func() time.Time { return now })
	addr := netip.MustParseAddr("10.0.0.0")
	for range maxAddresses + 100 {
		addr = addr.Next()
		limits.allow(addr)
	}
	if len(limits.table) != maxAddresses {
		t.Fatalf("table holds %d addresses", len(limits.table))
	}
	now = now.Add(time.Minute) // all are quiet and may be forgotten
	limits.allow(addr.Next())
	if len(limits.table) != 1 {
		t.Errorf("table still holds %d addresses", len(limits.table))
	}
}

func TestOverloadIsTold(t *testing.T) {
	cfg := plainConfig()
	cfg.Rate, cfg.Burst = 1, 1
	h := mustNew(t, cfg)
	for _, path := range []string{"/api/v1/molds", "/feeds/x/plan.ics"} { // each surface has its own allowance
		ask(t, h, http.MethodGet, path, "")
		res := ask(t, h, http.MethodGet, path, "")
		problemIn(t, res, http.StatusTooManyRequests)
		if res.Header.Get("Retry-After") == "" {
			t.Errorf("%s: no Retry-After", path)
		}
	}
}

func TestTooManyAtOnce(t *testing.T) {
	cfg := plainConfig()
	cfg.InFlight = 1
	entered, leave := make(chan struct{}), make(chan struct{})
	cfg.Pages = http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		entered <- struct{}{}
		<-leave
	})
	h := mustNew(t, cfg)
	first := make(chan struct{})
	go func() {
		defer close(first)
		h.ServeHTTP(httptest.NewRecorder(), httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil))
	}()
	<-entered
	res := ask(t, h, http.MethodGet, "/", "")
	problemIn(t, res, http.StatusServiceUnavailable)
	if res.Header.Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	close(leave)
	<-first
}

func TestClientAddress(t *testing.T) {
	var from string
	pages := http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { from = ClientAddr(r.Context()) })
	for _, c := range []struct {
		trust      []string
		peer, sent string
		want       string
	}{
		{nil, "192.0.2.9:4000", "198.51.100.1", "192.0.2.9"},
		{[]string{"192.0.2.0/24"}, "192.0.2.9:4000", "198.51.100.1", "198.51.100.1"},
		{[]string{"192.0.2.0/24"}, "203.0.113.5:4000", "198.51.100.1", "203.0.113.5"},
	} {
		cfg := plainConfig()
		cfg.Pages, cfg.TrustProxy = pages, c.trust
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
		r.RemoteAddr = c.peer
		r.Header.Set("X-Forwarded-For", c.sent)
		mustNew(t, cfg).ServeHTTP(httptest.NewRecorder(), r)
		if from != c.want {
			t.Errorf("%s: address is %q, want %q", fmt.Sprint(c.trust), from, c.want)
		}
	}
}
