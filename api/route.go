package api

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"ripeline/orders"
)

// prefix is where the API lives. A change that breaks callers gets a new one.
const prefix = "/api/v1"

// access is who may call an operation.
type access int

const (
	reads  access = iota // any token or session of the workshop
	writes               // not a token of scope read
	public               // anyone
)

// route says what an operation is; its input and output are said by the types
// of its handler.
type route struct {
	method, path string
	id           string // unique among operations
	tag          string
	summary      string
	doc          string
	access       access
	status       int  // of success; 0: 200, or 204 without a body
	keyed        bool // honours an idempotency key
}

// add registers the operation with its handler.
func add[I, O any](s *server, r route, handle func(context.Context, orders.Actor, *I) (*O, error)) {
	op := r.operation(s)
	where := "body"
	if r.method == http.MethodGet {
		where = "query"
	}
	huma.Register(s.json, op, func(ctx context.Context, in *I) (*O, error) {
		v, _ := VisitorFrom(ctx) // signedIn has seen to it, unless the route is public
		out, err := handle(ctx, v.Actor, in)
		if err != nil {
			return nil, s.problemOf(ctx, err, where, r.asks())
		}
		return out, nil
	})
}

// asking is the operation's metadatum that holds route.asks.
const asking = "asks"

// asks reports whether the operation changes nothing, whatever its method.
func (r route) asks() bool { return r.access == reads }

// operation describes the route for the JSON layer and for the OpenAPI
// document.
func (r route) operation(s *server) huma.Operation {
	op := huma.Operation{
		Method: r.method, Path: r.path, OperationID: r.id, Tags: []string{r.tag},
		Summary: r.summary, Description: r.doc, DefaultStatus: r.status,
		MaxBodyBytes: maxBody, Responses: map[string]*huma.Response{}, Metadata: map[string]any{asking: r.asks()},
	}
	for _, status := range r.refusals() {
		op.Responses[strconv.Itoa(status)] = s.refusal(status)
	}
	if r.access != public {
		op.Security = []map[string][]string{{"token": {}}, {"session": {}}}
		op.Middlewares = append(op.Middlewares, s.signedIn)
	}
	if r.access == writes {
		op.Middlewares = append(op.Middlewares, s.mayWrite)
	}
	if r.keyed {
		op.Middlewares = append(op.Middlewares, s.once)
		op.Parameters = append(op.Parameters, onceParam())
	}
	return op
}

// refusals are the statuses an operation can answer with besides success.
func (r route) refusals() []int {
	all := []int{http.StatusUnprocessableEntity, http.StatusTooManyRequests, http.StatusInternalServerError, http.StatusServiceUnavailable}
	if r.access != public || r.id == "sign-in" {
		all = append(all, http.StatusUnauthorized)
	}
	if r.access == writes {
		all = append(all, http.StatusForbidden, http.StatusConflict)
	}
	if strings.Contains(r.path, "{") {
		all = append(all, http.StatusNotFound)
	}
	if r.method == http.MethodPost || r.method == http.MethodPut {
		all = append(all, http.StatusBadRequest, http.StatusRequestEntityTooLarge, http.StatusUnsupportedMediaType)
	}
	return all
}

func (s *server) refusal(status int) *huma.Response {
	return &huma.Response{
		Description: http.StatusText(status),
		Content:     map[string]*huma.MediaType{problemType: {Schema: s.problemSchema}},
	}
}

func onceParam() *huma.Param {
	low, high := minOnceKey, maxOnceKey
	return &huma.Param{
		Name: onceHeader, In: "header",
		Description: "Makes the request happen once however often it is sent: a repeat with the same key, path and body gets the first answer, without any secret in it; the same key for another request is a conflict.",
		Schema:      &huma.Schema{Type: huma.TypeString, MinLength: &low, MaxLength: &high},
	}
}

// Inputs that many routes share.
type (
	nothing struct{}

	byID struct {
		ID string `path:"id" doc:"The record's id"`
	}
	// making has a new record in its body.
	making[T any] struct {
		Body body[T]
	}
	// changing has a record's new content or what happened to it in its body.
	changing[T any] struct {
		ID      string `path:"id" doc:"The record's id"`
		IfMatch string `header:"If-Match" doc:"The ETag of the record as it was read; an older one is a conflict (409), none is 428"`
		Body    body[T]
	}
	// noting has something about a record in its body that needs no version.
	noting[T any] struct {
		ID   string `path:"id" doc:"The record's id"`
		Body body[T]
	}
	// moving needs no more than which record and which version of it.
	moving struct {
		ID      string `path:"id" doc:"The record's id"`
		IfMatch string `header:"If-Match" doc:"The ETag of the record as it was read; an older one is a conflict (409), none is 428"`
	}
	// handing says that an order left; without a body it left today.
	handing struct {
		ID      string                     `path:"id" doc:"The record's id"`
		IfMatch string                     `header:"If-Match" doc:"The ETag of the record as it was read; an older one is a conflict (409), none is 428"`
		Body    *body[orders.HandOverFact] `required:"false"`
	}
)

// Outputs that many routes share.
type (
	done struct{}

	found[T any] struct {
		ETag string `header:"ETag" doc:"The record's version, for If-Match"`
		Body T
	}
	made[T any] struct {
		ETag     string `header:"ETag" doc:"The record's version, for If-Match"`
		Location string `header:"Location" doc:"Where the new record is"`
		Body     T
	}
	told[T any] struct {
		Body T
	}
)

// have is what a route with nothing to say but a value returns.
func have[T any](value T, err error) (*told[T], error) {
	if err != nil {
		return nil, err
	}
	return &told[T]{value}, nil
}

// versioned is a value that has a version.
func versioned[T any](value T, version int, err error) (*found[T], error) {
	if err != nil {
		return nil, err
	}
	return &found[T]{etag(version), value}, nil
}

// created is a new value at path/id.
func created[T any](value T, version int, path, id string, err error) (*made[T], error) {
	if err != nil {
		return nil, err
	}
	return &made[T]{etag(version), prefix + path + "/" + id, value}, nil
}
