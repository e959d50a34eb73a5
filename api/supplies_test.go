package api

import (
	"net/http"
	"strings"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

// TestLotsByTheAPI buys oil, receives it, pours from it, corrects the lot and
// traces it both ways.
func TestLotsByTheAPI(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	want[orderAnswer](t, s.send(http.MethodPost, "/orders", g.accepted(g.orderBody(10, "2027-02-20"))), http.StatusCreated)
	b := s.firstBatch()
	recipe := want[orders.Recipe](t, s.send(http.MethodGet, "/recipes/"+g.recipe, nil), http.StatusOK)
	oil := recipe.Parts[0].IngredientID

	p := s.make("/purchases", map[string]any{"ingredient_id": oil, "quantity_mg": 5_000_000, "arrives_on": "2026-12-20", "price_minor": 2900})
	view := want[orders.SuppliesView](t, s.send(http.MethodGet, "/supplies", nil), http.StatusOK)
	if x := supplyOf(t, view, oil); x.OnOrder != 5*calc.Kilogram || x.OnHand != 50*calc.Kilogram || len(x.Needs) != 1 || x.Needs[0].BatchID != b.ID || x.Lacking != 0 {
		t.Errorf("supplies %+v", x)
	}
	lot := want[orders.Lot](t, s.send(http.MethodPost, "/purchases/"+p+"/receive",
		map[string]any{"code": "NEW", "expires_on": "2027-01-31"}, "If-Match", etag(1)), http.StatusOK)

	*s.now = b.Make.To
	poured := want[batchAnswer](t, s.send(http.MethodPost, "/batches/"+b.ID+"/pour", map[string]any{}, "If-Match", etag(b.Version)), http.StatusOK).Batch
	if len(poured.Uses) != 2 || poured.Uses[0].LotID != lot.ID {
		t.Fatalf("lots used %+v; want the oil that expires, and the lye", poured.Uses)
	}
	for _, c := range []struct{ field, body string }{
		{"body.lots_used[0].used_mg", `{"lots_used":[{"lot_id":"` + lot.ID + `","used_mg":5000001}]}`},
		{"body.lots_used[0].used_mg", `{"lots_used":[{"lot_id":"` + lot.ID + `","used_mg":-5}]}`},
		{"body.lots_used[0].lot_id", `{"lots_used":[{"lot_id":"` + p + `","used_mg":5}]}`},
	} {
		got := refused(t, s.send(http.MethodPost, "/batches/"+b.ID+"/lots", c.body, "If-Match", etag(poured.Version)), http.StatusUnprocessableEntity)
		if len(got.Errors) != 1 || got.Errors[0].Location != c.field {
			t.Errorf("%s is refused at %+v", c.body, got.Errors)
		}
	}
	less := orders.LotsUsed{Uses: []orders.LotUse{{LotID: lot.ID, Mass: calc.Gram}, poured.Uses[1]}}
	fixed := want[batchAnswer](t, s.send(http.MethodPost, "/batches/"+b.ID+"/lots", less, "If-Match", etag(poured.Version)), http.StatusOK).Batch
	if now := want[orders.Lot](t, s.send(http.MethodGet, "/lots/"+lot.ID, nil), http.StatusOK); fixed.Uses[0].Mass != calc.Gram || now.Left != 5*calc.Kilogram-calc.Gram {
		t.Errorf("corrected to %+v, left %+v", fixed.Uses, now)
	}

	for _, query := range []string{"lot_id=" + lot.ID, "code=new", "lot_id=" + lot.ID + "&lot_id=" + poured.Uses[1].LotID} {
		trace := want[orders.Trace](t, s.send(http.MethodGet, "/trace/lots?"+query, nil), http.StatusOK)
		if len(trace.Batches) != 1 || trace.Batches[0].Lot != b.Lot || len(trace.Batches[0].Lines) != 1 || trace.Batches[0].Lines[0].Customer != "Guesthouse on the dune" {
			t.Errorf("%s finds %+v", query, trace)
		}
	}
	for _, query := range []string{"batch_id=" + b.ID, "lot=" + strings.ToLower(b.Lot), "order_id=" + fixedOrder(t, s)} {
		trace := want[orders.Trace](t, s.send(http.MethodGet, "/trace/soap?"+query, nil), http.StatusOK)
		if len(trace.Batches) != 1 || len(trace.Batches[0].Uses) != 2 || trace.Batches[0].Uses[0].Code != "NEW" {
			t.Errorf("%s finds %+v", query, trace)
		}
	}
	for path, field := range map[string]string{
		"/trace/lots": "query.code", "/trace/lots?code=nothing": "query.code", "/trace/soap?lot=OAT-1": "query.lot",
		"/trace/soap?batch_id=" + b.ID + "&lot=" + b.Lot: "query.lot", "/trace/soap?order_id=" + b.ID + "&batch_id=" + b.ID: "query.batch_id",
	} {
		if got := refused(t, s.send(http.MethodGet, path, nil), http.StatusUnprocessableEntity); got.Errors[0].Location != field {
			t.Errorf("%s is refused at %+v", path, got.Errors)
		}
	}
}

func supplyOf(t *testing.T, view orders.SuppliesView, ingredient string) orders.Supply {
	t.Helper()
	for _, x := range view.Items {
		if x.IngredientID == ingredient {
			return x
		}
	}
	t.Fatalf("%s is not among %+v", ingredient, view.Items)
	return orders.Supply{}
}

// fixedOrder is the only order.
func fixedOrder(t *testing.T, s *shop) string {
	t.Helper()
	return want[orders.Page[orders.Order]](t, s.send(http.MethodGet, "/orders", nil), http.StatusOK).Items[0].ID
}

func TestLotsAreRefusedAtTheirFields(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	oil := s.ingredient("Olive oil")
	for _, c := range []struct{ path, field, body string }{
		{"/lots", "body.received_mg", `{"ingredient_id":"` + oil + `","received_mg":-1}`},
		{"/lots", "body.received_mg", `{"ingredient_id":"` + oil + `","received_mg":"NaN"}`},
		{"/lots", "body.expires_on", `{"ingredient_id":"` + oil + `","received_mg":1,"received_on":"2026-01-02","expires_on":"2026-01-01"}`},
		{"/lots", "body.expires_on", `{"ingredient_id":"` + oil + `","received_mg":1,"expires_on":"2027-02-29"}`},
		{"/lots", "body.ingredient_id", `{"ingredient_id":"0190a0a0-0000-7000-8000-000000000000","received_mg":1}`},
		{"/purchases", "body.quantity_mg", `{"ingredient_id":"` + oil + `","quantity_mg":-1}`},
	} {
		got := refused(t, s.send(http.MethodPost, c.path, c.body), http.StatusUnprocessableEntity)
		if len(got.Errors) != 1 || got.Errors[0].Location != c.field || got.Errors[0].Message == "" {
			t.Errorf("%s %s is refused at %+v", c.path, c.body, got.Errors)
		}
	}
}

// TestKnownOilsCanBePostedAsTheyAre adds a row of the known oils as it is read.
func TestKnownOilsCanBePostedAsTheyAre(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	known := want[orders.Page[map[string]any]](t, s.send(http.MethodGet, "/known-oils", nil), http.StatusOK).Items
	row := known[len(known)-1]
	row["name"] = "As it is read"
	got := want[orders.Ingredient](t, s.send(http.MethodPost, "/ingredients", row), http.StatusCreated)
	if got.SVUsed == 0 || got.SVSource != row["sv_source"] {
		t.Errorf("%v was added as %+v", row, got)
	}
}
