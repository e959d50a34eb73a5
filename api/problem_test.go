package api

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"ripeline/orders"
)

func TestKindsOfError(t *testing.T) {
	cfg, base, err := plainConfig().checked()
	if err != nil {
		t.Fatal(err)
	}
	s := &server{cfg: cfg, base: base}
	for name, c := range map[string]struct {
		err    error
		status int
		detail string
		header string
	}{
		"not found":      {fmt.Errorf("get mold 7: %w", orders.ErrNotFound), 404, "There is nothing here", ""},
		"conflict":       {fmt.Errorf("change mold: %w", orders.ErrConflict), 409, "Read it again", ""},
		"told conflict":  {fmt.Errorf("pour: %w", &orders.Conflict{Message: "The batch was poured yesterday."}), 409, "The batch was poured yesterday.", ""},
		"forbidden":      {fmt.Errorf("%w: this needs the role owner", orders.ErrForbidden), 403, "This needs the role owner.", ""},
		"bare forbidden": {orders.ErrForbidden, 403, "You may not do this.", ""},
		"sign in":        {fmt.Errorf("%w: the password is wrong", orders.ErrSignIn), 401, "The password is wrong.", "WWW-Authenticate"},
		"throttled":      {fmt.Errorf("%w: wait 15 minutes", orders.ErrThrottled), 429, "Wait 15 minutes.", "Retry-After"},
		"too slow":       {fmt.Errorf("plan: %w", context.DeadlineExceeded), 503, "took too long", "Retry-After"},
		"fault":          {errors.New("relation \"orders\" does not exist"), 500, "Something broke", ""},
	} {
		p := s.problemOf(t.Context(), c.err, "body", false)
		if p.Status != c.status || StatusOf(c.err) != c.status || !strings.Contains(p.Detail, c.detail) {
			t.Errorf("%s: got %d %q, want %d %q", name, p.Status, p.Detail, c.status, c.detail)
		}
		if strings.Contains(p.Detail, "relation") || strings.Contains(p.Detail, "mold 7") {
			t.Errorf("%s: tells %q", name, p.Detail)
		}
		if c.header != "" && p.headers.Get(c.header) == "" {
			t.Errorf("%s: no %s", name, c.header)
		}
	}
}

func TestFieldsOfInvalid(t *testing.T) {
	s := &server{cfg: plainConfig()}
	err := fmt.Errorf("take order: %w", &orders.Invalid{Fields: []orders.FieldError{{Field: "lines[0].pieces", Message: "is zero"}, {Field: "title", Message: "is empty"}}})
	p := s.problemOf(t.Context(), err, "body", false)
	if p.Status != http.StatusUnprocessableEntity || !slices.Equal(p.locations(), []string{"body.lines[0].pieces", "body.title"}) || p.Errors[0].Message != "is zero" {
		t.Errorf("got %+v", p)
	}
}

// TestWhatAsksDoesNotSayThatNothingWasChanged sends the same fault to a route
// that changes something and to ones that do not.
func TestWhatAsksDoesNotSayThatNothingWasChanged(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	for _, c := range []struct {
		method, path string
		body         any
		asks         bool
	}{
		{http.MethodPost, "/molds", map[string]any{"colour": 1}, false},
		{http.MethodPost, "/molds", map[string]any{"name": ""}, false},
		{http.MethodPost, "/promise", map[string]any{"colour": 1}, true},
		{http.MethodPost, "/promise", map[string]any{}, true},
		{http.MethodGet, "/molds?limit=many", nil, true},
		{http.MethodGet, "/molds?cursor=none", nil, true},
	} {
		p := refused(t, s.send(c.method, c.path, c.body), http.StatusUnprocessableEntity)
		if strings.Contains(p.Detail, "Nothing was changed") == c.asks || !strings.HasSuffix(p.Detail, badFields) {
			t.Errorf("%s %s: %q", c.method, c.path, p.Detail)
		}
	}
	for _, asks := range []bool{true, false} {
		s := &server{cfg: plainConfig()}
		if p := s.problemOf(t.Context(), errors.New("down"), "body", asks); strings.Contains(p.Detail, "Nothing was changed") == asks {
			t.Errorf("a fault of a route that asks is %t: %q", asks, p.Detail)
		}
	}
}

func TestSeenVersion(t *testing.T) {
	for header, want := range map[string]int{`"3"`: 3, `W/"12"`: 12, ` "1" `: 1} {
		if got, err := seenVersion(t.Context(), header); err != nil || got != want {
			t.Errorf("%s: got %d, %v", header, got, err)
		}
	}
	for header, status := range map[string]int{``: 428, `*`: 422, `3`: 422, `"3`: 422, `"0"`: 422, `"-1"`: 422, `"abc"`: 422, `"3", "4"`: 422} {
		_, err := seenVersion(t.Context(), header)
		var p *Problem
		if !errors.As(err, &p) || p.Status != status || !slices.Equal(p.locations(), []string{"header.If-Match"}) {
			t.Errorf("%q: got %v", header, err)
		}
	}
	if got, err := seenVersion(t.Context(), etag(41)); err != nil || got != 41 {
		t.Errorf("what etag writes is read as %d, %v", got, err)
	}
}

func TestOnceKeys(t *testing.T) {
	for key, want := range map[string]bool{
		"12345678": true, strings.Repeat("k", 200): true, "3f0c6f5e-9f6f-4d5e-a1a4-5d1f8d6f0f11": true,
		"1234567": false, strings.Repeat("k", 201): false, "with a blank": false, "with\ttab00": false, "größer-als": false,
	} {
		if fitsOnce(key) != want {
			t.Errorf("%q: fits is %t", key, !want)
		}
	}
}

func TestKeyedBodyIsBoundToo(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, prefix+"/molds", strings.NewReader(`{"name":"`+strings.Repeat("a", maxBody)+`"}`))
	r.ContentLength = -1 // sent in chunks
	r.Header.Set("Authorization", "Bearer "+s.token)
	r.Header.Set(onceHeader, "a-key-of-its-own")
	w := httptest.NewRecorder()
	s.h.ServeHTTP(w, r)
	problemIn(t, w.Result(), http.StatusRequestEntityTooLarge)
	if p := unread(t.Context(), io.ErrUnexpectedEOF); p.Status != http.StatusBadRequest {
		t.Errorf("a body cut short is %d", p.Status)
	}
}
