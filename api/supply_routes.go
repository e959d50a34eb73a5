package api

import (
	"context"
	"net/http"

	"ripeline/orders"
)

type (
	lotList struct {
		Search
		IngredientID string `query:"ingredient_id" doc:"Only those of this ingredient"`
		Used         bool   `query:"used" doc:"Used-up ones too"`
	}
	purchaseList struct {
		Search
		IngredientID string `query:"ingredient_id" doc:"Only those of this ingredient"`
		Received     bool   `query:"received" doc:"Received ones too"`
	}
	lotsAsked struct {
		LotIDs []string `query:"lot_id,explode" maxItems:"100" doc:"Lots, by their ids; may be repeated"`
		Code   string   `query:"code" maxLength:"60" doc:"Every lot with this code of a supplier"`
	}
	soapAsked struct {
		BatchID string `query:"batch_id" doc:"A batch"`
		Lot     string `query:"lot" maxLength:"60" doc:"The lot code that stands on a piece, or the number of an order where no batch has that code"`
		OrderID string `query:"order_id" doc:"An order, with the batches whose pieces it holds"`
	}
)

func (l lotList) query() orders.ListQuery      { return l.narrowed("", l.IngredientID, l.Used) }
func (l purchaseList) query() orders.ListQuery { return l.narrowed("", l.IngredientID, l.Received) }

// supplies adds lots, what is on order, what is needed by when, and the traces.
func (s *server) supplies() {
	b := s.cfg.Book
	crud[orders.Lot, lotList](s, recordKind[orders.Lot]{
		"/lots", "lot", "lots", tagSupplies,
		"What was received of an ingredient under one code of its supplier, in milligrams; its price in the smallest unit of the currency. An ingredient's stock is what is left of its lots.",
		b.Lots, func(r *orders.Lot) *orders.Meta { return &r.Meta },
	})
	crud[orders.Purchase, purchaseList](s, recordKind[orders.Purchase]{
		"/purchases", "purchase", "purchases", tagSupplies,
		"Something on order. A quantity of 0 is not known, and taken to be enough.",
		b.Purchases, func(r *orders.Purchase) *orders.Meta { return &r.Meta },
	})
	add(s, route{
		method: http.MethodPost, path: "/purchases/{id}/receive", id: "receive-purchase", tag: tagSupplies,
		summary: "Say that a purchase came", doc: "It becomes a lot, which is the answer. What is left out is as it was ordered.", access: writes, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *changing[orders.Receipt]) (*found[orders.Lot], error) {
			version, err := seenVersion(ctx, in.IfMatch)
			if err != nil {
				return nil, err
			}
			lot, err := b.Receive(ctx, a, in.ID, version, in.Body.Value)
			return versioned(lot, lot.Version, err)
		})
	add(s, route{
		method: http.MethodGet, path: "/supplies", id: "get-supplies", tag: tagSupplies,
		summary: "Say what the published plan needs of each ingredient by when", doc: "Against what is on the shelf and on order, with the day it runs short and the day to order by.",
	},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.SuppliesView], error) {
			return have(b.Supplies(ctx, a))
		})
	happen(s, "lots", "Correct which lots a poured batch took", "The list takes the place of what was written; stock follows. A lot gives no more than it holds.", b.CorrectLots)
	s.traces()
}

func (s *server) traces() {
	b := s.cfg.Book
	add(s, route{
		method: http.MethodGet, path: "/trace/lots", id: "trace-lots", tag: tagSupplies,
		summary: "Trace lots to the soap made with them, and to whom it went",
		doc:     "Batches with the pieces that order lines hold, and what is on the shelf. An unknown lot or code is an error, never an empty answer.",
	},
		func(ctx context.Context, a orders.Actor, in *lotsAsked) (*told[orders.Trace], error) {
			return have(b.TraceLots(ctx, a, orders.LotsAsk{IDs: in.LotIDs, Code: in.Code}))
		})
	add(s, route{
		method: http.MethodGet, path: "/trace/soap", id: "trace-soap", tag: tagSupplies,
		summary: "Trace a batch, a piece or an order to the lots that went into it", doc: "By one of the three.",
	},
		func(ctx context.Context, a orders.Actor, in *soapAsked) (*told[orders.Trace], error) {
			return have(b.TraceSoap(ctx, a, orders.SoapAsk(*in)))
		})
}
