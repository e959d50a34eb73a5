// Package api is the HTTP surface: the JSON API, the calendar feeds, and the
// middleware that the pages share. It decides nothing about a plan.
package api

import (
	"context"

	"ripeline/orders"
)

type actorKey struct{}

// Visitor is who a request is from.
type Visitor struct {
	Person orders.Person // zero for an API token
	Actor  orders.Actor
}

// WithVisitor returns ctx carrying who the request is from.
func WithVisitor(ctx context.Context, v Visitor) context.Context {
	return context.WithValue(ctx, actorKey{}, v)
}

// VisitorFrom returns who the request is from; false when nobody signed in.
func VisitorFrom(ctx context.Context) (Visitor, bool) {
	v, ok := ctx.Value(actorKey{}).(Visitor)
	return v, ok
}
