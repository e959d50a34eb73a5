package api

import (
	"net/http"
	"testing"

	"ripeline/calc"
	"ripeline/orders"
)

func TestSheetByTheAPI(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	want[orderAnswer](t, s.send(http.MethodPost, "/orders", g.accepted(g.orderBody(30, "2027-02-20"))), http.StatusCreated)
	b := s.firstBatch()
	sheet := want[orders.Sheet](t, s.send(http.MethodGet, "/batches/"+b.ID+"/sheet", nil), http.StatusOK)
	if sheet.Lot != b.Lot || sheet.Trouble != "" || sheet.Weights == nil || len(sheet.Cautions) == 0 || sheet.Notice == "" {
		t.Fatalf("sheet %+v", sheet)
	}
	var pots calc.Mass
	for _, p := range sheet.Pots {
		pots += p.Mass
	}
	if w := sheet.Weights; pots != w.Batter.Mass || w.OilsMass+w.Lye.Solution != w.Batter.Mass {
		t.Errorf("pots of %s, batter %s of oils %s and lye solution %s", pots, w.Batter.Mass, w.OilsMass, w.Lye.Solution)
	}
	kilo := want[orders.RecipeWeights](t, s.send(http.MethodGet, "/recipes/"+g.recipe+"/weights", nil), http.StatusOK)
	if kilo.Weights == nil || kilo.Weights.OilsMass != calc.Kilogram {
		t.Errorf("recipe %+v", kilo)
	}
	cuts := want[orders.Page[orders.MoldCut]](t, s.send(http.MethodGet, "/designs/"+g.design+"/cuts", nil), http.StatusOK).Items
	if len(cuts) != 1 || cuts[0].MoldID != g.mold || cuts[0].Pieces != 20 {
		t.Errorf("cuts %+v", cuts)
	}
	if c := sheet.Cuts; b.Pieces != 31 || len(c) != 2 || c[0].MoldID != g.mold || c[0].Units != 1 || c[0].Pieces != 20 || c[1].Units != 1 || c[1].Pieces != 11 {
		t.Errorf("the sheet of %d pieces in %+v has cuts %+v, want 20 and 11 of 31", b.Pieces, b.Molds, c)
	}
	filled := want[orders.FillAnswer](t, s.send(http.MethodPost, "/recipes/"+g.recipe+"/fill", map[string]any{
		"oils_mg": 1_000_000, "molds": []any{map[string]any{"mold_id": g.mold, "units": 1}},
	}), http.StatusOK)
	if filled.Weights == nil || filled.Weights.OilsMass != calc.Kilogram || filled.Missing.Mass == 0 {
		t.Errorf("filled %+v", filled)
	}
	refused(t, s.send(http.MethodPost, "/recipes/"+g.recipe+"/fill", map[string]any{}), http.StatusUnprocessableEntity)
	tick := map[string]any{"item": "water", "done": true}
	ticked := want[orders.Sheet](t, s.send(http.MethodPost, "/batches/"+b.ID+"/ticks", tick), http.StatusOK)
	if item := ticked.Work[1].Items[0]; item.Item != "water" || item.At.IsZero() || item.By == "" {
		t.Errorf("ticked %+v", item)
	}
	refused(t, s.send(http.MethodPost, "/batches/"+b.ID+"/ticks", map[string]any{"item": "kettle", "done": true}), http.StatusUnprocessableEntity)
	unsaid := refused(t, s.send(http.MethodPost, "/batches/"+b.ID+"/ticks", map[string]any{"item": orders.ReadOilsTemp, "reading": 38_500}), http.StatusUnprocessableEntity)
	if len(unsaid.Errors) != 1 || unsaid.locations()[0] != "body.done" {
		t.Errorf("a reading that is not said to be kept gives %+v", unsaid.Errors)
	}
}

func TestLessWasteByTheAPI(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	g := s.furnish()
	d := want[orders.Design](t, s.send(http.MethodGet, "/designs/"+g.design, nil), http.StatusOK)
	d.Cut.Thickness = 26 * calc.Millimetre
	d = want[orders.Design](t, s.send(http.MethodPut, "/designs/"+g.design, d, "If-Match", etag(d.Version)), http.StatusOK)
	cut := want[orders.Page[orders.MoldCut]](t, s.send(http.MethodGet, "/designs/"+g.design+"/cuts", nil), http.StatusOK).Items[0]
	if cut.Better == nil {
		t.Fatalf("no better cut than %+v", cut)
	}
	got := want[designAnswer](t, s.send(http.MethodPost, "/designs/"+g.design+"/less-waste", map[string]any{"mold_id": g.mold}, "If-Match", etag(d.Version)), http.StatusOK)
	if got.Design.Cut != cut.Better.Cut {
		t.Errorf("cut %+v, want %+v", got.Design.Cut, cut.Better.Cut)
	}
}
