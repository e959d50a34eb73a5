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
	if len(cuts) != 1 || cuts[0].MoldID != g.mold || cuts[0].Pieces != sheet.Cuts[0].Pieces || cuts[0].Pieces == 0 {
		t.Errorf("cuts %+v", cuts)
	}
}
