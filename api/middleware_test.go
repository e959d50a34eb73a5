package api

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
)

// ask sends one request and returns the answer; headers come in pairs.
func ask(t *testing.T, h http.Handler, method, path, body string, headers ...string) *http.Response {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), method, path, strings.NewReader(body))
	for pair := range slices.Chunk(headers, 2) {
		r.Header.Add(pair[0], pair[1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

// problemIn checks that the answer is a problem of the status and returns it.
func problemIn(t *testing.T, res *http.Response, status int) Problem {
	t.Helper()
	raw, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	if res.StatusCode != status || res.Header.Get("Content-Type") != problemType {
		t.Fatalf("got %d %s, want %d %s\n%s", res.StatusCode, res.Header.Get("Content-Type"), status, problemType, raw)
	}
	var p Problem
	if err := json.Unmarshal(raw, &p); err != nil {
		t.Fatal(err)
	}
	if p.Status != status || p.Title != http.StatusText(status) || p.Detail == "" || p.RequestID != res.Header.Get("X-Request-Id") {
		t.Errorf("problem is incomplete: %s", raw)
	}
	return p
}

// locations are where a problem's faults are.
func (p Problem) locations() []string {
	all := make([]string, len(p.Errors))
	for i, f := range p.Errors {
		all[i] = f.Location
	}
	return all
}

func TestEveryAnswerIsGuarded(t *testing.T) {
	cfg := plainConfig()
	cfg.Pages = http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "page") })
	h := mustNew(t, cfg)
	for _, path := range []string{"/", "/healthz", "/api/v1/", "/api/v1/molds", "/api/nowhere", "/feeds/x/plan.ics"} {
		got := ask(t, h, http.MethodGet, path, "").Header
		want := map[string]string{
			"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
			"Cross-Origin-Opener-Policy": "same-origin", "Strict-Transport-Security": "max-age=31536000",
		}
		for name, value := range want {
			if got.Get(name) != value {
				t.Errorf("%s: %s is %q, want %q", path, name, got.Get(name), value)
			}
		}
		csp := got.Get("Content-Security-Policy")
		if !strings.HasPrefix(csp, "default-src 'none'; ") || strings.Contains(csp, "unsafe") || strings.Contains(csp, "http") {
			t.Errorf("%s: policy is %q", path, csp)
		}
		if got.Get("X-Request-Id") == "" {
			t.Errorf("%s: no request id", path)
		}
	}
}

func TestPlainHTTPIsNotPromisedHTTPS(t *testing.T) {
	cfg := plainConfig()
	cfg.BaseURL = "http://127.0.0.1:8080"
	if got := ask(t, mustNew(t, cfg), http.MethodGet, "/healthz", "").Header.Get("Strict-Transport-Security"); got != "" {
		t.Errorf("Strict-Transport-Security is %q over http", got)
	}
}

func TestUnknownAddressesAndMethods(t *testing.T) {
	h := mustNew(t, plainConfig())
	for _, path := range []string{"/nowhere", "/api/v2/molds", "/api/v1/nowhere", "/feeds", "/feeds/x", "/feeds/x/other.ics"} {
		problemIn(t, ask(t, h, http.MethodGet, path, ""), http.StatusNotFound)
	}
	for path, allow := range map[string]string{
		"/api/v1/molds":        "GET, HEAD, POST",
		"/api/v1/molds/7":      "GET, HEAD, PUT, DELETE",
		"/api/v1/workshop":     "GET, HEAD, PUT",
		"/api/v1/sign-in":      "POST",
		"/feeds/x/plan.ics":    "GET, HEAD",
		"/healthz":             "GET, HEAD",
		"/api/v1/openapi.json": "GET, HEAD",
	} {
		res := ask(t, h, http.MethodPatch, path, "")
		problemIn(t, res, http.StatusMethodNotAllowed)
		if got := res.Header.Get("Allow"); got != allow {
			t.Errorf("%s: Allow is %q, want %q", path, got, allow)
		}
	}
}

func TestPagesRouteForThemselves(t *testing.T) {
	pages := chi.NewRouter()
	pages.Use(middleware.GetHead)
	pages.Get("/today", func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "today") })
	cfg := plainConfig()
	cfg.Pages = pages
	h := mustNew(t, cfg)
	for _, method := range []string{http.MethodGet, http.MethodHead} {
		if res := ask(t, h, method, "/today", ""); res.StatusCode != http.StatusOK {
			t.Errorf("%s: %d", method, res.StatusCode)
		}
	}
}

func TestLogHidesSecrets(t *testing.T) {
	for path, want := range map[string]string{
		"/feeds/abc/plan.ics": "/feeds/***/plan.ics",
		"/feeds/abc":          "/feeds/***",
		"/setup/abc":          "/setup/***",
		"/unsubscribe/abc/x":  "/unsubscribe/***/x",
		"/setup":              "/setup",
		"/feeds/":             "/feeds/",
		"/api/v1/feeds/7":     "/api/v1/feeds/7",
		"/":                   "/",
	} {
		if got := maskPath(path); got != want {
			t.Errorf("maskPath(%q) = %q, want %q", path, got, want)
		}
	}
	var out bytes.Buffer
	cfg := plainConfig()
	cfg.Log = slog.New(slog.NewJSONHandler(&out, nil))
	ask(t, mustNew(t, cfg), http.MethodGet, "/feeds/very-secret/plan.ics?also=very-secret", "")
	if !strings.Contains(out.String(), "/feeds/***/plan.ics") || strings.Contains(out.String(), "very-secret") {
		t.Errorf("log says %s", out.String())
	}
}

func TestPanicIsAProblem(t *testing.T) {
	var out bytes.Buffer
	cfg := plainConfig()
	cfg.Log = slog.New(slog.NewJSONHandler(&out, nil))
	cfg.Pages = http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("the kettle boiled over") })
	h := mustNew(t, cfg)
	p := problemIn(t, ask(t, h, http.MethodGet, "/", ""), http.StatusInternalServerError)
	if strings.Contains(p.Detail, "kettle") || !strings.Contains(out.String(), "kettle") || !strings.Contains(out.String(), p.RequestID) {
		t.Errorf("told %q, logged %s", p.Detail, out.String())
	}
	res := ask(t, h, http.MethodGet, "/", "", "Accept", "text/html")
	if ct := res.Header.Get("Content-Type"); res.StatusCode != http.StatusInternalServerError || !strings.HasPrefix(ct, "text/plain") {
		t.Errorf("a browser gets %d %s", res.StatusCode, ct)
	}
}

func TestFaultOfTheServiceIsNotTold(t *testing.T) {
	var out bytes.Buffer
	cfg := plainConfig()
	cfg.Log = slog.New(slog.NewJSONHandler(&out, nil))
	p := problemIn(t, ask(t, mustNew(t, cfg), http.MethodPost, "/api/v1/sign-in", `{"email":"a@b.example","password":"x"}`), http.StatusInternalServerError)
	if strings.Contains(p.Detail, "dial") || p.Errors != nil || !strings.Contains(out.String(), "dial 10.1.2.3") {
		t.Errorf("told %+v, logged %s", p, out.String())
	}
}

func TestLargeBodies(t *testing.T) {
	h := mustNew(t, plainConfig())
	large := `{"email":"` + strings.Repeat("a", 10<<20) + `"}`
	problemIn(t, ask(t, h, http.MethodPost, "/api/v1/sign-in", large), http.StatusRequestEntityTooLarge)

	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/api/v1/sign-in", io.MultiReader(strings.NewReader(large)))
	r.ContentLength = -1 // sent in chunks
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	problemIn(t, w.Result(), http.StatusRequestEntityTooLarge)
}

// TestLargeBodyIsAnswered sends 10 MB as most clients do, without a look at
// the answer before the end.
func TestLargeBodyIsAnswered(t *testing.T) {
	srv := httptest.NewServer(mustNew(t, plainConfig()))
	defer srv.Close()
	conn, err := (&net.Dialer{Timeout: time.Minute}).DialContext(t.Context(), "tcp", srv.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	const size = 10 << 20
	if _, err := fmt.Fprintf(conn, "POST /api/v1/sign-in HTTP/1.1\r\nHost: here\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n", size); err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Write(bytes.Repeat([]byte("a"), size)); err != nil {
		t.Fatalf("the body is cut off: %v", err)
	}
	res, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		t.Fatalf("no answer: %v", err)
	}
	t.Cleanup(func() { _ = res.Body.Close() })
	problemIn(t, res, http.StatusRequestEntityTooLarge)
}

func TestOtherSitesCanNotSend(t *testing.T) {
	cfg := plainConfig()
	cfg.TrustedOrigins = []string{"https://trusted.example"}
	cfg.OpenPosts = []string{"/stop"}
	cfg.Pages = http.HandlerFunc(func(http.ResponseWriter, *http.Request) {})
	h := mustNew(t, cfg)
	for _, path := range []string{"/orders", "/stop/orders", "/api/v1/sign-in"} {
		problemIn(t, ask(t, h, http.MethodPost, path, `{}`, "Sec-Fetch-Site", "cross-site", "Origin", "https://evil.example"), http.StatusForbidden)
	}
	for _, origin := range []string{"https://trusted.example", "https://soap.example"} {
		if res := ask(t, h, http.MethodPost, "/orders", "", "Sec-Fetch-Site", "cross-site", "Origin", origin); res.StatusCode != http.StatusOK {
			t.Errorf("%s: got %d", origin, res.StatusCode)
		}
	}
	if res := ask(t, h, http.MethodPost, "/stop?sig=x", "", "Sec-Fetch-Site", "cross-site", "Origin", "https://mail.example"); res.StatusCode != http.StatusOK {
		t.Errorf("an open path: got %d", res.StatusCode)
	}
}

func TestHealth(t *testing.T) {
	cfg := plainConfig()
	broken := errors.New("no route to 10.1.2.3")
	cfg.Ready = func(context.Context) error { return broken }
	h := mustNew(t, cfg)
	if res := ask(t, h, http.MethodGet, "/healthz", ""); res.StatusCode != http.StatusOK {
		t.Errorf("/healthz: %d", res.StatusCode)
	}
	if p := problemIn(t, ask(t, h, http.MethodGet, "/readyz", ""), http.StatusServiceUnavailable); strings.Contains(p.Detail, "10.1") {
		t.Errorf("/readyz tells %q", p.Detail)
	}
	broken = nil
	if res := ask(t, h, http.MethodGet, "/readyz", ""); res.StatusCode != http.StatusOK {
		t.Errorf("/readyz: %d", res.StatusCode)
	}
}
