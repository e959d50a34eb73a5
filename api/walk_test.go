package api

import (
	"net/http"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

// openRoutes are those that answer without a token.
var openRoutes = map[string]bool{
	"GET /healthz":                 true,
	"GET /readyz":                  true,
	"GET /feeds/{secret}/plan.ics": true, // the secret is the key
	"GET /api/v1/":                 true,
	"GET /api/v1/openapi.json":     true,
	"GET /api/v1/docs.css":         true,
	"POST /api/v1/setup":           true, // the one-time token is the key
	"POST /api/v1/sign-in":         true,
}

// askingRoutes are those with a changing method that change nothing.
var askingRoutes = map[string]bool{
	"POST /api/v1/promise": true, "POST /api/v1/recipes/{id}/fill": true, "POST /api/v1/batches/{id}/weight-check": true,
}

// eachRoute calls fn with every route but the ones that catch unknown paths.
func eachRoute(t *testing.T, h http.Handler, fn func(name, method, path string)) {
	t.Helper()
	n := 0
	err := chi.Walk(h.(chi.Routes), func(method, path string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if strings.HasSuffix(path, "*") {
			return nil
		}
		n++
		fn(method+" "+path, method, path)
		return nil
	})
	if err != nil || n < 90 {
		t.Fatalf("walked %d routes, %v", n, err)
	}
}

// firstIDs fills a workshop with one record of every kind, and returns their
// ids by the path they are under.
func (s *shop) firstIDs() map[string]string {
	s.t.Helper()
	g := s.furnish()
	ids := map[string]string{"molds": g.mold, "racks": g.rack, "recipes": g.recipe, "designs": g.design, "customers": g.customer}
	ids["ingredients"] = s.make("/ingredients", map[string]any{"name": "Dried calendula", "kind": "botanical"})
	ids["trials"] = s.make("/trials", map[string]any{"recipe_id": g.recipe, "verdict": "fit"})
	ids["lots"] = s.make("/lots", map[string]any{"ingredient_id": ids["ingredients"], "code": "CAL-9", "received_mg": 500_000})
	ids["purchases"] = s.make("/purchases", map[string]any{"ingredient_id": ids["ingredients"], "quantity_mg": 500_000, "arrives_on": "2026-12-20"})
	ids["closed-days"] = s.make("/closed-days", map[string]any{"from": "2026-12-24", "to": "2026-12-26", "reason": "Midwinter"})
	ids["extra-windows"] = s.make("/extra-windows", map[string]any{"date": "2026-12-13", "from": "10:00", "to": "12:00"})
	ids["mold-outs"] = s.make("/mold-outs", map[string]any{"mold_id": g.mold, "from": "2027-03-01", "to": "2027-03-02", "units": 1})
	ids["stock"] = s.make("/stock", map[string]any{"design_id": g.design, "pieces": 3})
	ids["reminder-rules"] = s.make("/reminder-rules", map[string]any{
		"person_id": s.owner.PersonID, "name": "Cuts", "cron": "0 18 * * *", "kind": "cut", "lead_days": 1,
	})
	ids["people"] = s.make("/people", map[string]any{"name": "Ilo", "email": "ilo@pools.example", "role": "helper", "password": "driftwood and rope"})
	ids["tokens"] = s.make("/tokens", map[string]any{"name": "script", "scope": "read"})
	taken := want[orderAnswer](s.t, s.send(http.MethodPost, "/orders", g.accepted(g.orderBody(30, "2027-02-20"))), http.StatusCreated)
	ids["orders"] = taken.Order.ID
	ids["feeds"] = s.make("/feeds", map[string]any{"name": "For the dune", "kind": "order", "order_id": taken.Order.ID})
	ids["batches"] = s.firstBatch().ID
	ids["proposals"] = s.failOne(g)
	return ids
}

func (goods) accepted(order map[string]any) map[string]any {
	order["accept"] = true
	return order
}

func (s *shop) firstBatch() orders.Batch {
	s.t.Helper()
	page := want[orders.Page[orders.Batch]](s.t, s.send(http.MethodGet, "/batches", nil), http.StatusOK)
	if len(page.Items) == 0 {
		s.t.Fatal("nothing was planned")
	}
	return page.Items[0]
}

// failOne pours a batch and loses it; the id of a proposal comes back.
func (s *shop) failOne(goods) string {
	s.t.Helper()
	b := s.firstBatch()
	*s.now = b.Make.To
	poured := want[batchAnswer](s.t, s.send(http.MethodPost, "/batches/"+b.ID+"/pour", map[string]any{}, "If-Match", etag(b.Version)), http.StatusOK)
	failed := want[batchAnswer](s.t, s.send(http.MethodPost, "/batches/"+b.ID+"/fail", map[string]any{"reason": "It seized"},
		"If-Match", etag(poured.Batch.Version)), http.StatusOK)
	if len(failed.PlanChange.Proposals) == 0 {
		s.t.Fatal("a failed batch brought no proposals")
	}
	return failed.PlanChange.Proposals[0].ID
}

func TestEveryRouteAsksWhoCalls(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	eachRoute(t, s.h, func(name, method, path string) {
		path = strings.NewReplacer("{id}", "019392aa-0000-7000-8000-000000000000", prefix, "").Replace(path)
		if !openRoutes[name] {
			refused(t, s.sendAs("", method, path, nil), http.StatusUnauthorized)
			refused(t, s.sendAs("no-such-token", method, path, nil), http.StatusUnauthorized)
		}
		changes := method != http.MethodGet && !openRoutes[name] && !askingRoutes[name]
		if got := s.sendAs(s.reader, method, path, "{}"); changes != (got.StatusCode == http.StatusForbidden) {
			t.Errorf("%s: a read token gets %d %s", name, got.StatusCode, got.body)
		}
	})
	if n := len(want[orders.Page[orders.Mold]](t, s.send(http.MethodGet, "/molds", nil), http.StatusOK).Items); n > 0 {
		t.Errorf("%d molds were made without a right to", n)
	}
}

func TestAnotherWorkshopSeesNothing(t *testing.T) {
	t.Parallel()
	first := openShop(t)
	ids := first.firstIDs()
	second := first.neighbour("reef@pools.example")
	eachRoute(t, first.h, func(name, method, path string) {
		if openRoutes[name] {
			return
		}
		path = strings.TrimPrefix(path, prefix)
		kind, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
		switch {
		case strings.Contains(path, "{id}"):
			if ids[kind] == "" {
				t.Fatalf("%s: the first workshop has no %s to be hidden", name, kind)
			}
			path = strings.Replace(path, "{id}", ids[kind], 1)
			refused(t, second.send(method, path, "{}", "If-Match", `"1"`), http.StatusNotFound)
			if method == http.MethodGet {
				want[any](t, first.send(method, path, nil), http.StatusOK)
			}
		case kind == "trace": // an unknown lot is an error, and so is another workshop's
			path += map[string]string{"/trace/lots": "?lot_id=" + ids["lots"], "/trace/soap": "?batch_id=" + ids["batches"]}[path]
			refused(t, second.send(method, path, nil), http.StatusNotFound)
			want[orders.Trace](t, first.send(method, path, nil), http.StatusOK)
		case method == http.MethodGet:
			if path == "/reminder-times" {
				path += "?cron=0+18+*+*+*"
			}
			second.seesNone(path, ids)
		}
	})
	for _, path := range []string{
		"/mold-outs?mold_id=" + ids["molds"], "/orders?customer_id=" + ids["customers"], "/batches?design_id=" + ids["designs"],
		"/feeds?order_id=" + ids["orders"], "/journal?subject=" + ids["orders"], "/deliveries?person_id=" + ids["people"],
		"/designs?recipe_id=" + ids["recipes"], "/lots?ingredient_id=" + ids["ingredients"], "/purchases?ingredient_id=" + ids["ingredients"], "/tokens?person_id=" + first.owner.PersonID,
	} {
		if page := second.seesNone(path, ids); len(page.Items) > 0 {
			t.Errorf("%s: %d items", path, len(page.Items))
		}
	}
}

// seesNone checks that none of the ids is in the answer.
func (s *shop) seesNone(path string, ids map[string]string) orders.Page[any] {
	s.t.Helper()
	got := s.send(http.MethodGet, path, nil)
	page := want[orders.Page[any]](s.t, got, http.StatusOK)
	for kind, id := range ids {
		if strings.Contains(string(got.body), id) {
			s.t.Errorf("%s shows an id of %s", path, kind)
		}
	}
	return page
}

func TestAnotherWorkshopsRecordsCanNotBeUsed(t *testing.T) {
	t.Parallel()
	first := openShop(t)
	theirs := first.furnish()
	second := first.neighbour("reef@pools.example")
	ours := second.furnish()
	mixed := ours
	mixed.customer = theirs.customer
	refused(t, second.send(http.MethodPost, "/orders", mixed.orderBody(10, "2027-02-20")), http.StatusUnprocessableEntity)
	mixed = ours
	mixed.design = theirs.design
	refused(t, second.send(http.MethodPost, "/orders", mixed.orderBody(10, "2027-02-20")), http.StatusUnprocessableEntity)
	refused(t, second.send(http.MethodPost, "/stock", map[string]any{"design_id": theirs.design, "pieces": 3}), http.StatusUnprocessableEntity)
	oil := first.ingredient("Olive oil")
	for _, path := range []string{"/lots", "/purchases"} {
		refused(t, second.send(http.MethodPost, path, map[string]any{"ingredient_id": oil, "received_mg": 1000}), http.StatusUnprocessableEntity)
	}
	refused(t, second.send(http.MethodPost, "/mold-outs", map[string]any{"mold_id": theirs.mold, "from": "2027-03-01", "to": "2027-03-02", "units": 1}), http.StatusUnprocessableEntity)
}
