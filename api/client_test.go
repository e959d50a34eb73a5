package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"
	"time"

	"ripeline/orders"
)

// shop is one workshop and a caller who owns it.
type shop struct {
	t      testing.TB
	h      http.Handler
	book   *orders.Book
	owner  orders.Actor
	token  string // of scope write
	reader string // of scope read
	now    *time.Time
}

// openShop is the API over an empty workshop, in a database of its own. Its
// clock stands at noon until the test moves it.
func openShop(t testing.TB, change ...func(*Config)) *shop {
	t.Helper()
	now := noon
	clock := func() time.Time { return now }
	cfg := plainConfig()
	cfg.Book, cfg.Now, cfg.Rate, cfg.Burst = newBook(t, clock), clock, 1000, 10_000
	for _, c := range change {
		c(&cfg)
	}
	h, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	s := &shop{t: t, h: h, book: cfg.Book, now: &now}
	return s.neighbour("tide@pools.example")
}

// neighbour is a further workshop in the same database.
func (s *shop) neighbour(email string) *shop {
	s.t.Helper()
	owner, err := s.book.AddWorkshop(s.t.Context(), orders.Setup{
		Workshop: "Tidepool", Name: "Mara", Email: email, Password: "salt and lavender", Zone: "Europe/Lisbon",
	})
	if err != nil {
		s.t.Fatal(err)
	}
	n := &shop{t: s.t, h: s.h, book: s.book, now: s.now, owner: owner}
	n.token, n.reader = n.newToken("write"), n.newToken("read")
	return n
}

// person is the owner as stored.
func (s *shop) person() orders.Person {
	s.t.Helper()
	p, _, err := s.book.ActorOf(s.t.Context(), s.owner.PersonID)
	if err != nil {
		s.t.Fatal(err)
	}
	return p
}

func (s *shop) newToken(scope string) string {
	s.t.Helper()
	made, err := s.book.AddToken(s.t.Context(), s.owner, orders.TokenInput{Name: scope, Scope: scope})
	if err != nil {
		s.t.Fatal(err)
	}
	return made.Secret
}

// answer is a response with its body read.
type answer struct {
	*http.Response
	body []byte
}

// send asks with the write token; body is marshalled unless it is a string.
// Headers come in pairs.
func (s *shop) send(method, path string, body any, headers ...string) answer {
	s.t.Helper()
	return s.sendAs(s.token, method, path, body, headers...)
}

func (s *shop) sendAs(token, method, path string, body any, headers ...string) answer {
	s.t.Helper()
	var raw []byte
	switch b := body.(type) {
	case nil:
	case string:
		raw = []byte(b)
	default:
		var err error
		if raw, err = json.Marshal(b); err != nil {
			s.t.Fatal(err)
		}
	}
	r := httptest.NewRequestWithContext(s.t.Context(), method, prefix+path, bytes.NewReader(raw))
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	for pair := range slices.Chunk(headers, 2) {
		r.Header.Set(pair[0], pair[1])
	}
	w := httptest.NewRecorder()
	s.h.ServeHTTP(w, r)
	res := w.Result()
	got, err := io.ReadAll(res.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return answer{res, got}
}

// want checks the status and returns the body as a T.
func want[T any](t testing.TB, a answer, status int) T {
	t.Helper()
	var out T
	if a.StatusCode != status {
		t.Fatalf("got %d, want %d: %s", a.StatusCode, status, a.body)
	}
	if len(a.body) > 0 {
		if err := json.Unmarshal(a.body, &out); err != nil {
			t.Fatalf("%v in %s", err, a.body)
		}
	}
	return out
}

// refused checks that the answer is a problem of the status and returns it.
func refused(t testing.TB, a answer, status int) Problem {
	t.Helper()
	if ct := a.Header.Get("Content-Type"); ct != problemType {
		t.Fatalf("got %d %s, want a problem %d: %s", a.StatusCode, ct, status, a.body)
	}
	return want[Problem](t, a, status)
}

// make creates a record and returns its id.
func (s *shop) make(path string, body any) string {
	s.t.Helper()
	rec := want[orders.Meta](s.t, s.send(http.MethodPost, path, body), http.StatusCreated)
	return rec.ID
}

// goods is a workshop with all that planning needs.
type goods struct{ mold, rack, recipe, design, customer string }

// furnish sets hours and makes two loaf molds, a rack, a recipe and a design.
func (s *shop) furnish() goods {
	s.t.Helper()
	w := want[map[string]any](s.t, s.send(http.MethodGet, "/workshop", nil), http.StatusOK)
	w["hours"] = []map[string]any{
		{"weekday": 2, "from": "18:00", "to": "21:00"}, {"weekday": 4, "from": "18:00", "to": "21:00"}, {"weekday": 6, "from": "09:00", "to": "15:00"},
	}
	want[orders.Workshop](s.t, s.send(http.MethodPut, "/workshop", w, "If-Match", etag(int(w["version"].(float64)))), http.StatusOK)
	var g goods
	g.mold = s.make("/molds", map[string]any{
		"name": "Loaf", "kind": "loaf", "length_um": 500_000, "width_um": 90_000, "depth_um": 70_000, "count": 2, "min_fill_ppm": 500_000, "clean_minutes": 30,
	})
	g.rack = s.make("/racks", map[string]any{"name": "North wall", "width_um": 900_000, "depth_um": 400_000, "shelves": 5})
	for _, name := range []string{"Sodium hydroxide", "Water"} {
		s.ingredient(name)
	}
	g.recipe = s.make("/recipes", map[string]any{
		"name": "Plain olive", "parts": []map[string]any{{"ingredient_id": s.ingredient("Olive oil"), "share_ppm": 1_000_000}},
		"superfat_ppm": 50_000, "lye_purity_ppm": 1_000_000, "lye_concentration_ppm": 330_000,
		"cut_min": 18, "cut_max": 72, "cure_min_days": 28, "cure_target_days": 35,
		"make_minutes": 60, "cut_minutes": 20, "wrap_minutes": 15, "wrap_seconds_per_piece": 30,
	})
	g.design = s.make("/designs", map[string]any{
		"name": "Pebble", "lot_code": "PEB", "recipe_id": g.recipe, "mold_ids": []string{g.mold}, "spoil_ppm": 20_000,
		"cut":     map[string]any{"thickness_um": 25_000, "trim_ends_um": 0, "pieces_per_slice": 1, "spacing_um": 10_000},
		"colours": []map[string]any{{"name": "cream", "share_ppm": 1_000_000}},
	})
	g.customer = s.make("/customers", map[string]any{"name": "Guesthouse on the dune", "email": "dune@guest.example"})
	return g
}

// ingredient is the id of one that every workshop starts with, now on hand.
func (s *shop) ingredient(name string) string {
	s.t.Helper()
	page := want[orders.Page[orders.Ingredient]](s.t, s.send(http.MethodGet, "/ingredients?limit=200", nil), http.StatusOK)
	for _, i := range page.Items {
		if i.Name == name {
			s.make("/lots", map[string]any{"ingredient_id": i.ID, "code": fmt.Sprintf("A-%s %d", i.Name, i.Lots), "received_mg": 50_000_000})
			return i.ID
		}
	}
	s.t.Fatalf("no ingredient %q among %d", name, len(page.Items))
	return ""
}

// orderBody asks for pieces of the design by a day of 2027.
func (g goods) orderBody(pieces int, needed string) map[string]any {
	return map[string]any{
		"customer_id": g.customer, "title": fmt.Sprintf("%d for %s", pieces, needed), "needed_by": needed,
		"lines": []map[string]any{{"design_id": g.design, "pieces": pieces}},
	}
}
