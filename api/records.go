package api

import (
	"context"
	"net/http"

	"ripeline/orders"
)

// recordKind is a plain kind of record and how the API calls it.
type recordKind[T any] struct {
	path string // "/molds"
	one  string // "mold"
	many string // "molds"
	tag  string
	doc  string // what it is, in a sentence
	of   orders.Records[T]
	meta func(*T) *orders.Meta
}

// records adds the five operations of every plain kind.
func (s *server) records() {
	b := s.cfg.Book
	crud[orders.ClosedDays, Search](s, recordKind[orders.ClosedDays]{
		"/closed-days", "closed-days", "closed-days", tagWorkshop,
		"Days, both ends included, on which nothing is done by hand.", b.Closed, func(r *orders.ClosedDays) *orders.Meta { return &r.Meta },
	})
	crud[orders.ExtraWindow, Search](s, recordKind[orders.ExtraWindow]{
		"/extra-windows", "extra-window", "extra-windows", tagWorkshop,
		"Working time on one date, beside the weekly hours.", b.Extras, func(r *orders.ExtraWindow) *orders.Meta { return &r.Meta },
	})
	crud[orders.Mold, named](s, recordKind[orders.Mold]{
		"/molds", "mold", "molds", tagWorkshop,
		"A kind of mold and how many of it there are; inner sizes in micrometres.", b.Molds, func(r *orders.Mold) *orders.Meta { return &r.Meta },
	})
	crud[orders.MoldOut, moldOutList](s, recordKind[orders.MoldOut]{
		"/mold-outs", "mold-out", "mold-outs", tagWorkshop,
		"Molds that are missing for some days: broken, or lent.", b.MoldOuts, func(r *orders.MoldOut) *orders.Meta { return &r.Meta },
	})
	crud[orders.Rack, named](s, recordKind[orders.Rack]{
		"/racks", "rack", "racks", tagWorkshop,
		"A curing rack; sizes in micrometres.", b.Racks, func(r *orders.Rack) *orders.Meta { return &r.Meta },
	})
	crud[orders.Ingredient, ingredientList](s, recordKind[orders.Ingredient]{
		"/ingredients", "ingredient", "ingredients", tagRecipes,
		"Something a recipe uses; saponification values in mg KOH per g. The figures are defaults: the supplier's sheet decides.",
		b.Ingredients, func(r *orders.Ingredient) *orders.Meta { return &r.Meta },
	})
	crud[orders.Recipe, named](s, recordKind[orders.Recipe]{
		"/recipes", "recipe", "recipes", tagRecipes,
		"What is mixed, and how long its steps take.", b.Recipes, func(r *orders.Recipe) *orders.Meta { return &r.Meta },
	})
	crud[orders.Design, designList](s, recordKind[orders.Design]{
		"/designs", "design", "designs", tagRecipes,
		"A recipe with its cut plan and its looks: what a customer orders.", b.Designs, func(r *orders.Design) *orders.Meta { return &r.Meta },
	})
	crud[orders.Customer, named](s, recordKind[orders.Customer]{
		"/customers", "customer", "customers", tagOrders,
		"Who orders.", b.Customers, func(r *orders.Customer) *orders.Meta { return &r.Meta },
	})
	crud[orders.Stock, stockList](s, recordKind[orders.Stock]{
		"/stock", "stock", "stock", tagBatches,
		"Sound, wrapped pieces on the shelf.", b.Stock, func(r *orders.Stock) *orders.Meta { return &r.Meta },
	})
	crud[orders.ReminderRule, ruleList](s, recordKind[orders.ReminderRule]{
		"/reminder-rules", "reminder-rule", "reminder-rules", tagReminders,
		"A person's own reminder: when it fires, and which work it looks ahead to.", b.Rules, func(r *orders.ReminderRule) *orders.Meta { return &r.Meta },
	})
}

// listInput is what a list route is asked with.
type listInput interface {
	lister
	addressed
}

// crud adds list, create, read, replace and remove of one kind of record.
func crud[T any, L listInput](s *server, k recordKind[T]) {
	add(s, route{method: http.MethodGet, path: k.path, id: "list-" + k.many, tag: k.tag, summary: "List " + k.many, doc: k.doc},
		func(ctx context.Context, a orders.Actor, in *L) (*listed[T], error) {
			page, err := k.of.List(ctx, a, (*in).query())
			return listing(*in, page, err)
		})
	add(s, route{
		method: http.MethodPost, path: k.path, id: "create-" + k.one, tag: k.tag, summary: "Create a " + k.one, doc: k.doc,
		access: writes, status: http.StatusCreated, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *making[T]) (*made[T], error) {
			rec, err := k.of.Create(ctx, a, in.Body.Value)
			meta := k.meta(&rec)
			return created(rec, meta.Version, k.path, meta.ID, err)
		})
	add(s, route{method: http.MethodGet, path: k.path + "/{id}", id: "get-" + k.one, tag: k.tag, summary: "Read a " + k.one, doc: k.doc},
		func(ctx context.Context, a orders.Actor, in *byID) (*found[T], error) {
			rec, err := k.of.Get(ctx, a, in.ID)
			return versioned(rec, k.meta(&rec).Version, err)
		})
	add(s, route{
		method: http.MethodPut, path: k.path + "/{id}", id: "replace-" + k.one, tag: k.tag, summary: "Replace a " + k.one,
		doc: "A field left out is emptied: send the whole record as it was read, with the changes.", access: writes,
	}, k.replace)
	add(s, route{
		method: http.MethodDelete, path: k.path + "/{id}", id: "remove-" + k.one, tag: k.tag, summary: "Remove a " + k.one,
		doc: "Refused with 409 while something uses it; a record that can be retired can be retired instead.", access: writes,
	}, k.remove)
}

func (k recordKind[T]) replace(ctx context.Context, a orders.Actor, in *changing[T]) (*found[T], error) {
	version, err := seenVersion(ctx, in.IfMatch)
	if err != nil {
		return nil, err
	}
	rec := in.Body.Value
	meta := k.meta(&rec)
	meta.ID, meta.Version = in.ID, version
	rec, err = k.of.Change(ctx, a, rec)
	return versioned(rec, k.meta(&rec).Version, err)
}

func (k recordKind[T]) remove(ctx context.Context, a orders.Actor, in *moving) (*done, error) {
	version, err := seenVersion(ctx, in.IfMatch)
	if err != nil {
		return nil, err
	}
	return &done{}, k.of.Remove(ctx, a, in.ID, version)
}
