package api

import (
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ripeline/orders"
)

func loaf(name string) map[string]any {
	return map[string]any{
		"name": name, "kind": "loaf", "length_um": 250_000, "width_um": 90_000, "depth_um": 70_000, "count": 2, "min_fill_ppm": 500_000, "clean_minutes": 30,
	}
}

func TestRecordFromCreateToRemove(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	made := s.send(http.MethodPost, "/molds", loaf("Long loaf"))
	mold := want[orders.Mold](t, made, http.StatusCreated)
	if got := made.Header.Get("Location"); got != prefix+"/molds/"+mold.ID {
		t.Errorf("Location is %q", got)
	}
	if made.Header.Get("ETag") != `"1"` || made.Header.Get("Cache-Control") != "no-store" || made.Header.Get("Set-Cookie") != "" {
		t.Errorf("headers are %v", made.Header)
	}
	path := "/molds/" + mold.ID
	read := s.send(http.MethodGet, path, nil)
	if got := want[orders.Mold](t, read, http.StatusOK); got != mold || read.Header.Get("ETag") != `"1"` {
		t.Errorf("read %+v with ETag %s", got, read.Header.Get("ETag"))
	}
	mold.Count = 3
	changed := s.send(http.MethodPut, path, mold, "If-Match", `"1"`) // as read: the service's own fields are ignored
	if got := want[orders.Mold](t, changed, http.StatusOK); got.Count != 3 || got.Version != 2 || changed.Header.Get("ETag") != `"2"` {
		t.Errorf("changed to %+v with ETag %s", got, changed.Header.Get("ETag"))
	}
	if gone := s.send(http.MethodDelete, path, nil, "If-Match", `"2"`); gone.StatusCode != http.StatusNoContent || len(gone.body) > 0 {
		t.Errorf("removing gives %d %s", gone.StatusCode, gone.body)
	}
	refused(t, s.send(http.MethodGet, path, nil), http.StatusNotFound)
	refused(t, s.send(http.MethodGet, "/molds/not-an-id", nil), http.StatusNotFound)
}

func TestNobodysChangeIsLost(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	path := "/molds/" + s.make("/molds", loaf("Long loaf"))
	first, second := loaf("first"), loaf("second")
	refused(t, s.send(http.MethodPut, path, first), http.StatusPreconditionRequired)
	refused(t, s.send(http.MethodDelete, path, nil), http.StatusPreconditionRequired)
	want[orders.Mold](t, s.send(http.MethodPut, path, first, "If-Match", `"1"`), http.StatusOK)
	refused(t, s.send(http.MethodPut, path, second, "If-Match", `"1"`), http.StatusConflict)
	refused(t, s.send(http.MethodDelete, path, nil, "If-Match", `"1"`), http.StatusConflict)
	if got := want[orders.Mold](t, s.send(http.MethodGet, path, nil), http.StatusOK); got.Name != "first" {
		t.Errorf("the first change is lost: %+v", got)
	}
}

func TestBadRecordsNameTheirFields(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	for name, c := range map[string]struct {
		path  string
		body  any
		field string
	}{
		"impossible mold":      {"/molds", map[string]any{"name": "Flat", "kind": "loaf", "length_um": 1, "width_um": 90_000, "depth_um": 70_000, "count": 1}, "body.length_um"},
		"line break in a name": {"/racks", map[string]any{"name": "North\nwall", "width_um": 900_000, "depth_um": 400_000, "shelves": 5}, "body.name"},
		"no name":              {"/customers", map[string]any{}, "body.name"},
		"cron never fires":     {"/reminder-rules", map[string]any{"person_id": s.owner.PersonID, "name": "Never", "cron": "0 0 31 2 *", "kind": "cut"}, "body.cron"},
		"part of nothing":      {"/recipes", map[string]any{"name": "Air", "parts": []any{map[string]any{"ingredient_id": "x", "share_ppm": 1_000_000}}, "cut_min": 18, "cut_max": 72}, "body.parts[0].ingredient_id"},
		"feed of no kind":      {"/feeds", map[string]any{"name": "x", "kind": "everything"}, "body.kind"},
		"token of no scope":    {"/tokens", map[string]any{"name": "x", "scope": "admin"}, "body.scope"},
		"short password":       {"/people", map[string]any{"name": "Ilo", "email": "ilo@pools.example", "role": "helper", "password": "short"}, "body.password"},
		"unknown field":        {"/molds", map[string]any{"title": "x"}, "body.title"},
	} {
		before := s.send(http.MethodGet, c.path, nil).body
		p := refused(t, s.send(http.MethodPost, c.path, c.body), http.StatusUnprocessableEntity)
		if !slices.Contains(p.locations(), c.field) {
			t.Errorf("%s: faults are %+v, want one at %s", name, p.Errors, c.field)
		}
		if after := s.send(http.MethodGet, c.path, nil).body; string(after) != string(before) {
			t.Errorf("%s: something was written: %s", name, after)
		}
	}
}

func TestBadSettingsNameTheirFields(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	w := want[map[string]any](t, s.send(http.MethodGet, "/workshop", nil), http.StatusOK)
	for field, value := range map[string]any{"zone": "Europe/Atlantis", "currency": "shells", "hands": 0, "name": ""} {
		old := w[field]
		w[field] = value
		p := refused(t, s.send(http.MethodPut, "/workshop", w, "If-Match", `"1"`), http.StatusUnprocessableEntity)
		if !slices.Equal(p.locations(), []string{"body." + field}) {
			t.Errorf("%s: faults are %+v", field, p.Errors)
		}
		w[field] = old
	}
}

func TestListsComeInPages(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	for i := range 7 {
		s.make("/customers", map[string]any{"name": fmt.Sprintf("Customer %d", i)})
	}
	next := regexp.MustCompile(`^<` + prefix + `(/customers\?.*)>; rel="next"$`)
	var names []string
	for path := "/customers?limit=3&text=customer"; path != ""; {
		got := s.send(http.MethodGet, path, nil)
		page := want[orders.Page[orders.Customer]](t, got, http.StatusOK)
		for _, c := range page.Items {
			names = append(names, c.Name)
		}
		link := next.FindStringSubmatch(got.Header.Get("Link"))
		if (page.Next == "") != (link == nil) {
			t.Fatalf("next is %q, Link is %q", page.Next, got.Header.Get("Link"))
		}
		if path = ""; link != nil {
			path = link[1]
		}
	}
	if len(names) != 7 || !slices.IsSorted(names) {
		t.Errorf("pages hold %v", names)
	}
}

func TestListParametersAreChecked(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	for query, location := range map[string]string{
		"limit=0": "query.limit", "limit=201": "query.limit", "limit=many": "query.limit",
		"cursor=made-up": "query.cursor", "colour=red": "query.colour", "retired=maybe": "query.retired",
		"text=" + strings.Repeat("x", 201): "query.text",
	} {
		p := refused(t, s.send(http.MethodGet, "/molds?"+query, nil), http.StatusUnprocessableEntity)
		if !slices.Equal(p.locations(), []string{location}) {
			t.Errorf("%.20s: faults are %+v", query, p.Errors)
		}
	}
	p := refused(t, s.send(http.MethodGet, "/orders?status=lost", nil), http.StatusUnprocessableEntity)
	if !slices.Equal(p.locations(), []string{"query.status"}) {
		t.Errorf("faults are %+v", p.Errors)
	}
	if got := want[orders.Page[orders.Mold]](t, s.send(http.MethodGet, "/molds", nil), http.StatusOK); got.Items == nil || got.Next != "" {
		t.Errorf("an empty list is %+v", got)
	}
}

func TestSameKeyHappensOnce(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	const key = "a-key-of-its-own"
	first := want[orders.Mold](t, s.send(http.MethodPost, "/molds", loaf("Long loaf"), onceHeader, key), http.StatusCreated)
	again := s.send(http.MethodPost, "/molds", loaf("Long loaf"), onceHeader, key)
	if got := want[orders.Mold](t, again, http.StatusCreated); got != first || again.Header.Get("Location") != prefix+"/molds/"+first.ID {
		t.Errorf("repeated: %+v, first %+v", got, first)
	}
	refused(t, s.send(http.MethodPost, "/molds", loaf("Other loaf"), onceHeader, key), http.StatusConflict)
	refused(t, s.send(http.MethodPost, "/racks", loaf("Long loaf"), onceHeader, key), http.StatusUnprocessableEntity)
	page := want[orders.Page[orders.Mold]](t, s.send(http.MethodGet, "/molds", nil), http.StatusOK)
	if len(page.Items) != 1 {
		t.Errorf("there are %d molds", len(page.Items))
	}
	p := refused(t, s.send(http.MethodPost, "/molds", loaf("Long loaf"), onceHeader, "short"), http.StatusUnprocessableEntity)
	if !slices.Equal(p.locations(), []string{"header." + onceHeader}) {
		t.Errorf("faults are %+v", p.Errors)
	}
}

func TestRepeatedSecretIsNotShownAgain(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	body := map[string]any{"name": "script", "scope": "read"}
	first := want[orders.NewToken](t, s.send(http.MethodPost, "/tokens", body, onceHeader, "a-key-of-its-own"), http.StatusCreated)
	again := want[orders.NewToken](t, s.send(http.MethodPost, "/tokens", body, onceHeader, "a-key-of-its-own"), http.StatusCreated)
	if first.Secret == "" || again.Secret != "" || again.ID != first.ID {
		t.Errorf("first %+v, again %+v", first, again)
	}
	feed := map[string]any{"name": "All", "kind": "all"}
	want[feedAnswer](t, s.send(http.MethodPost, "/feeds", feed, onceHeader, "another-key"), http.StatusCreated)
	if got := want[feedAnswer](t, s.send(http.MethodPost, "/feeds", feed, onceHeader, "another-key"), http.StatusCreated); got.URL != "" || got.Webcal != "" {
		t.Errorf("again: %+v", got)
	}
}
