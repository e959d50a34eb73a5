package api

import (
	"context"
	"net/http"

	"ripeline/orders"
)

// settingsRequest is what can be changed about the workshop.
type settingsRequest struct {
	IfMatch string `header:"If-Match" doc:"The ETag of the workshop as it was read; an older one is a conflict (409), none is 428"`
	Body    body[orders.Workshop]
}

// workshop adds the workshop's own settings and its people.
func (s *server) workshop() {
	add(s, route{method: http.MethodGet, path: "/workshop", id: "get-workshop", tag: tagWorkshop, summary: "Read the workshop's settings"},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*found[orders.Workshop], error) {
			w, err := s.cfg.Book.Workshop(ctx, a)
			return versioned(w, w.Version, err)
		})
	add(s, route{
		method: http.MethodPut, path: "/workshop", id: "replace-workshop", tag: tagWorkshop, summary: "Change the workshop's settings",
		doc: "Name, zone, units, currency, hands and weekly hours among them. The plan is made anew.", access: writes,
	},
		func(ctx context.Context, a orders.Actor, in *settingsRequest) (*found[orders.Workshop], error) {
			version, err := seenVersion(ctx, in.IfMatch)
			if err != nil {
				return nil, err
			}
			w := in.Body.Value
			w.Version = version
			w, err = s.cfg.Book.ChangeWorkshop(ctx, a, w)
			return versioned(w, w.Version, err)
		})
	add(s, route{
		method: http.MethodDelete, path: "/workshop/demo", id: "remove-demo", tag: tagWorkshop, summary: "Empty the demo workshop",
		doc: "Deletes the demo's orders, batches, designs and molds; people and hours stay.", access: writes,
	},
		func(ctx context.Context, a orders.Actor, _ *nothing) (*done, error) {
			return &done{}, s.cfg.Book.RemoveDemo(ctx, a)
		})
}

// people adds those who can sign in.
func (s *server) people() {
	add(s, route{method: http.MethodGet, path: "/people", id: "list-people", tag: tagWorkshop, summary: "List people"},
		func(ctx context.Context, a orders.Actor, in *named) (*listed[orders.Person], error) {
			page, err := s.cfg.Book.People(ctx, a, in.query())
			return listing(in, page, err)
		})
	add(s, route{
		method: http.MethodPost, path: "/people", id: "create-person", tag: tagWorkshop, summary: "Add a person",
		access: writes, status: http.StatusCreated, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *making[orders.PersonInput]) (*made[orders.Person], error) {
			p, err := s.cfg.Book.AddPerson(ctx, a, in.Body.Value)
			return created(p, p.Version, "/people", p.ID, err)
		})
	add(s, route{method: http.MethodGet, path: "/people/{id}", id: "get-person", tag: tagWorkshop, summary: "Read a person"},
		func(ctx context.Context, a orders.Actor, in *byID) (*found[orders.Person], error) {
			p, err := s.cfg.Book.Person(ctx, a, in.ID)
			return versioned(p, p.Version, err)
		})
	add(s, route{
		method: http.MethodPut, path: "/people/{id}", id: "replace-person", tag: tagWorkshop, summary: "Change a person",
		doc: "An empty password keeps the old one. The last owner can be neither retired nor lowered.", access: writes,
	},
		func(ctx context.Context, a orders.Actor, in *changing[orders.PersonInput]) (*found[orders.Person], error) {
			version, err := seenVersion(ctx, in.IfMatch)
			if err != nil {
				return nil, err
			}
			p, err := s.cfg.Book.ChangePerson(ctx, a, in.ID, version, in.Body.Value)
			return versioned(p, p.Version, err)
		})
}
