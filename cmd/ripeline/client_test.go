package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"testing"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

const (
	ownerEmail    = "mara@tidepool.example"
	ownerPassword = "salt and lavender"
	zoneName      = "America/St_Johns" // half an hour off every full hour of UTC
)

// caller talks to the JSON API as one person.
type caller struct {
	t     testing.TB
	base  string
	token string
}

// reply is an answer with its body read.
type reply struct {
	status int
	header http.Header
	body   []byte
}

// ask sends body, marshalled, and reads the answer. Headers come in pairs.
func (c caller) ask(ctx context.Context, method, path string, body any, headers ...string) (reply, error) {
	var sent io.Reader
	if body != nil {
		raw, err := json.Marshal(body)
		if err != nil {
			return reply{}, err
		}
		sent = bytes.NewReader(raw)
	}
	r, err := http.NewRequestWithContext(ctx, method, c.base+"/api/v1"+path, sent)
	if err != nil {
		return reply{}, err
	}
	if body != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	for pair := range slices.Chunk(headers, 2) {
		r.Header.Set(pair[0], pair[1])
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		return reply{}, err
	}
	defer func() { _ = res.Body.Close() }() // read to its end
	got, err := io.ReadAll(res.Body)
	return reply{res.StatusCode, res.Header, got}, err
}

// send is ask for a step that must be answered.
func (c caller) send(method, path string, body any, headers ...string) reply {
	c.t.Helper()
	ctx, cancel := context.WithTimeout(c.t.Context(), patience)
	defer cancel()
	r, err := c.ask(ctx, method, path, body, headers...)
	if err != nil {
		c.t.Fatalf("%s %s: %v", method, path, err)
	}
	return r
}

// change sends body against the version of the record that was seen.
func (c caller) change(method, path string, version int, body any) reply {
	c.t.Helper()
	return c.send(method, path, body, "If-Match", strconv.Quote(strconv.Itoa(version)))
}

// answered checks the status and returns the body as a T.
func answered[T any](t testing.TB, r reply, status int) T {
	t.Helper()
	var out T
	if r.status != status {
		t.Fatalf("answered %d, want %d: %s", r.status, status, r.body)
	}
	if len(r.body) > 0 {
		if err := json.Unmarshal(r.body, &out); err != nil {
			t.Fatalf("%v in %s", err, r.body)
		}
	}
	return out
}

// got reads a record.
func got[T any](c caller, path string) T {
	c.t.Helper()
	return answered[T](c.t, c.send(http.MethodGet, path, nil), http.StatusOK)
}

// listed reads every page of a list.
func listed[T any](c caller, path string) []T {
	c.t.Helper()
	var all []T
	for cursor := ""; ; {
		page := got[orders.Page[T]](c, path+cursor)
		all = append(all, page.Items...)
		if page.Next == "" {
			return all
		}
		cursor = "&cursor=" + page.Next
	}
}

// create makes a record and returns its id.
func (c caller) create(path string, body any) string {
	c.t.Helper()
	return answered[orders.Meta](c.t, c.send(http.MethodPost, path, body), http.StatusCreated).ID
}

// What the API answers beside records of the order book.
type (
	setupAnswer struct {
		Workshop orders.Workshop
		Token    struct{ Secret string }
	}
	orderAnswer struct {
		Order  orders.Order
		Change orders.PlanChange `json:"plan_change"`
	}
	batchAnswer struct {
		Batch  orders.Batch
		Change orders.PlanChange `json:"plan_change"`
	}
	feedAnswer struct {
		ID, URL string
		Webcal  string `json:"webcal_url"`
	}
)

// setUp goes through first run by the link's token.
func setUp(t testing.TB, s *serving) caller {
	t.Helper()
	made := answered[setupAnswer](t, firstRun(t, s), http.StatusCreated)
	if made.Workshop.Name != "Tidepool" || made.Workshop.Zone != zoneName || made.Token.Secret == "" {
		t.Fatalf("set up: %+v", made)
	}
	return caller{t: t, base: s.base, token: made.Token.Secret}
}

func firstRun(t testing.TB, s *serving) reply {
	t.Helper()
	return caller{t: t, base: s.base}.send(http.MethodPost, "/setup", map[string]any{
		"token": s.setupToken(), "workshop": "Tidepool", "name": "Mara", "email": ownerEmail, "password": ownerPassword, "zone": zoneName,
	})
}

// goods is what furnish made.
type goods struct{ mold, recipe, design, customer string }

// furnish gives an empty workshop two evenings and a Saturday, two loaf molds
// of 24 pieces, a rack and one design: cut 18 to 48 hours after the pour, cured
// for 28 to 42 days. A pour on Saturday could not be cut in time.
func furnish(c caller) goods {
	c.t.Helper()
	w := got[orders.Workshop](c, "/workshop")
	w.Hours = []orders.Window{
		{Weekday: time.Tuesday, From: 18 * 60, To: 21 * 60},
		{Weekday: time.Thursday, From: 18 * 60, To: 21 * 60},
		{Weekday: time.Saturday, From: 9 * 60, To: 15 * 60},
	}
	answered[orders.Workshop](c.t, c.change(http.MethodPut, "/workshop", w.Version, w), http.StatusOK)
	var g goods
	g.mold = c.create("/molds", map[string]any{
		"name": "Loaf", "kind": "loaf", "length_um": 600_000, "width_um": 90_000, "depth_um": 70_000, "count": 2, "min_fill_ppm": 500_000, "clean_minutes": 15,
	})
	c.create("/racks", map[string]any{"name": "North wall", "width_um": 1_200_000, "depth_um": 400_000, "shelves": 5})
	g.recipe = c.create("/recipes", map[string]any{
		"name": "Plain olive", "parts": []map[string]any{{"ingredient_id": onShelf(c, "Olive oil"), "share_ppm": 1_000_000}},
		"superfat_ppm": 50_000, "lye_purity_ppm": 1_000_000, "lye_concentration_ppm": 330_000,
		"cut_min": 18, "cut_max": 48, "cure_min_days": 28, "cure_target_days": 42,
		"make_minutes": 60, "cut_minutes": 20, "wrap_minutes": 15, "wrap_seconds_per_piece": 30,
	})
	g.design = c.create("/designs", map[string]any{
		"name": "Pebble", "lot_code": "PEB", "recipe_id": g.recipe, "mold_ids": []string{g.mold}, "spoil_ppm": 20_000,
		"cut":     map[string]any{"thickness_um": 25_000, "pieces_per_slice": 1, "spacing_um": 10_000},
		"colours": []map[string]any{{"name": "cream", "share_ppm": 1_000_000}},
	})
	g.customer = c.create("/customers", map[string]any{"name": "Guesthouse on the dune"})
	return g
}

// onShelf is the id of an ingredient that every workshop starts with, of which
// there is enough now. So is there of lye and water.
func onShelf(c caller, name string) string {
	c.t.Helper()
	found := ""
	for _, i := range listed[orders.Ingredient](c, "/ingredients?limit=200") {
		if i.Name != name && i.Name != "Sodium hydroxide" && i.Name != "Water" {
			continue
		}
		c.create("/lots", map[string]any{"ingredient_id": i.ID, "code": "A-17", "received_mg": 50_000_000})
		if i.Name == name {
			found = i.ID
		}
	}
	if found == "" {
		c.t.Fatalf("a new workshop knows no %q", name)
	}
	return found
}

// question asks for pieces of the design by a day.
func (g goods) question(pieces int, by civil.Date) map[string]any {
	return map[string]any{"needed_by": by, "lines": []map[string]any{{"design_id": g.design, "pieces": pieces}}}
}

// order takes pieces of the design by a day, promised at once when accept.
func (g goods) order(title string, pieces int, by civil.Date, accept bool) map[string]any {
	o := g.question(pieces, by)
	o["customer_id"], o["title"], o["accept"] = g.customer, title, accept
	return o
}

// shopZone is the zone of the workshops in these tests.
func shopZone(t testing.TB) *time.Location {
	t.Helper()
	zone, err := civil.LoadZone(zoneName)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// today is the local day there.
func today(t testing.TB) civil.Date { return civil.Of(time.Now().In(shopZone(t))) }

func (r reply) String() string { return fmt.Sprintf("%d %s", r.status, r.body) }

// fetch gets an address without a token.
func fetch(t testing.TB, address string) reply {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = res.Body.Close() }() // read to its end
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return reply{res.StatusCode, res.Header, body}
}
