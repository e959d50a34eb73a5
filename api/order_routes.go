package api

import (
	"context"
	"net/http"

	"ripeline/orders"
	"ripeline/schedule"
)

// orderRequest takes an order, as an enquiry or promised at once.
type orderRequest struct {
	orders.OrderInput
	Accept bool `json:"accept,omitempty"`
}

// orderAnswer is an order and what it did to the plan.
type orderAnswer struct {
	Order      orders.Order      `json:"order"`
	PlanChange orders.PlanChange `json:"plan_change"`
}

// orders adds asking for a date, and orders.
func (s *server) orders() {
	add(s, route{
		method: http.MethodPost, path: "/promise", id: "promise", tag: tagOrders, summary: "Ask whether a date can be promised",
		doc: "Yes, yes if, or no, with the dates or the reasons. Nothing is written.",
	},
		func(ctx context.Context, a orders.Actor, in *making[orders.Question]) (*told[*schedule.Answer], error) {
			return have(s.cfg.Book.Promise(ctx, a, in.Body.Value))
		})
	add(s, route{method: http.MethodGet, path: "/orders", id: "list-orders", tag: tagOrders, summary: "List orders by the date they are needed"},
		func(ctx context.Context, a orders.Actor, in *orderList) (*listed[orders.Order], error) {
			page, err := s.cfg.Book.Orders(ctx, a, in.query())
			return listing(in, page, err)
		})
	add(s, route{
		method: http.MethodPost, path: "/orders", id: "take-order", tag: tagOrders, summary: "Take an order",
		doc: "As an enquiry, or with accept promised at once.", access: writes, status: http.StatusCreated, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *making[orderRequest]) (*made[orderAnswer], error) {
			o, change, err := s.cfg.Book.TakeOrder(ctx, a, in.Body.Value.OrderInput, in.Body.Value.Accept)
			return created(orderAnswer{o, change}, o.Version, "/orders", o.ID, err)
		})
	add(s, route{method: http.MethodGet, path: "/orders/{id}", id: "get-order", tag: tagOrders, summary: "Read an order"},
		func(ctx context.Context, a orders.Actor, in *byID) (*found[orders.Order], error) {
			o, err := s.cfg.Book.Order(ctx, a, in.ID)
			return versioned(o, o.Version, err)
		})
	add(s, route{method: http.MethodPut, path: "/orders/{id}", id: "replace-order", tag: tagOrders, summary: "Change what an order says", access: writes},
		func(ctx context.Context, a orders.Actor, in *changing[orders.OrderInput]) (*found[orderAnswer], error) {
			version, err := seenVersion(ctx, in.IfMatch)
			if err != nil {
				return nil, err
			}
			o, change, err := s.cfg.Book.ChangeOrder(ctx, a, in.ID, version, in.Body.Value)
			return versioned(orderAnswer{o, change}, o.Version, err)
		})
	s.moveOrder("accept", "Promise an enquiry", "The ready date of the plan is what the customer is told.", s.cfg.Book.AcceptOrder)
	s.moveOrder("end", "Decline an enquiry or cancel an order", "Its pieces are free again.", s.cfg.Book.EndOrder)
	s.handOver()
	add(s, route{method: http.MethodGet, path: "/allocations", id: "list-allocations", tag: tagOrders, summary: "List who gets what from where"},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*told[orders.Page[orders.Allocation]], error) {
			return all(s.cfg.Book.Allocations(ctx, a))
		})
}

// handOver adds the last step in an order's life.
func (s *server) handOver() {
	add(s, route{
		method: http.MethodPost, path: "/orders/{id}/hand-over", id: "hand-over-order", tag: tagOrders,
		summary: "Say that an order's pieces have left", access: writes, keyed: true,
		doc: "All of them must be wrapped and allocated. left_on is the day on which they did, today when left out; it lies neither ahead nor before the last of them was wrapped. When some are not for sale, the answer says why among plan_change.warnings, and the journal keeps it.",
	},
		func(ctx context.Context, a orders.Actor, in *handing) (*found[orderAnswer], error) {
			version, err := seenVersion(ctx, in.IfMatch)
			if err != nil {
				return nil, err
			}
			var fact orders.HandOverFact
			if in.Body != nil {
				fact = in.Body.Value
			}
			o, change, err := s.cfg.Book.HandOver(ctx, a, in.ID, version, fact)
			return versioned(orderAnswer{o, change}, o.Version, err)
		})
}

// moveOrder adds a step in an order's life.
func (s *server) moveOrder(step, summary, doc string,
	move func(context.Context, orders.Actor, string, int) (orders.Order, orders.PlanChange, error),
) {
	add(s, route{
		method: http.MethodPost, path: "/orders/{id}/" + step, id: step + "-order", tag: tagOrders, summary: summary, doc: doc,
		access: writes, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *moving) (*found[orderAnswer], error) {
			version, err := seenVersion(ctx, in.IfMatch)
			if err != nil {
				return nil, err
			}
			o, change, err := move(ctx, a, in.ID, version)
			return versioned(orderAnswer{o, change}, o.Version, err)
		})
}

// all is a list that comes whole, in the shape of one that comes in pages.
func all[T any](items []T, err error) (*told[orders.Page[T]], error) {
	return have(orders.Page[T]{Items: items}, err)
}
