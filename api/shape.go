package api

import (
	"net/http"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
)

// filled is a transformer that sends an empty list, never null, for a list
// with nothing in it, and every instant in UTC: the planner reckons in the
// workshop's zone. It changes what it is given: results are made for one
// request.
func filled(_ huma.Context, _ string, v any) (any, error) {
	if v == nil {
		return v, nil
	}
	out := reflect.New(reflect.TypeOf(v)).Elem()
	out.Set(reflect.ValueOf(v))
	fill(out)
	return out.Interface(), nil
}

func fill(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			fill(v.Elem())
		}
	case reflect.Struct:
		if at, ok := v.Interface().(time.Time); ok {
			v.Set(reflect.ValueOf(at.UTC()))
			return
		}
		for i := range v.NumField() {
			if v.Field(i).CanSet() {
				fill(v.Field(i))
			}
		}
	case reflect.Slice:
		if v.IsNil() && v.Type().Elem().Kind() != reflect.Uint8 {
			v.Set(reflect.MakeSlice(v.Type(), 0, 0))
		}
		for i := range v.Len() {
			fill(v.Index(i))
		}
	default: // nothing else holds lists
	}
}

// plainWords says better what the JSON layer's messages begin with.
var plainWords = [...]struct{ theirs, ours string }{
	{"unexpected property", "is not a field here; remove it or check how it is spelt"},
	{"unknown query parameter", "is not a parameter here; remove it or check how it is spelt"},
	{"expected string to be RFC 3339 date-time", "must be an instant such as 2026-12-03T18:30:00Z"},
	{"expected value to be one of ", "must be one of "},
	{"expected string", "must be a text in quotes"},
	{"expected integer", "must be a whole number"},
	{"invalid integer", "must be a whole number"},
	{"expected number ", "must be a number "},
	{"expected number", "must be a number"},
	{"expected boolean", "must be true or false"},
	{"invalid boolean", "must be true or false"},
	{"expected array", "must be a list"},
	{"expected object", "must be an object"},
	{"expected length ", "must have a length "},
	{"invalid value: ", ""},
}

func plainly(message string) string {
	for _, w := range plainWords {
		if rest, ok := strings.CutPrefix(message, w.theirs); ok {
			return w.ours + rest
		}
	}
	return message
}

// ownProblem is a transformer that turns the JSON layer's errors into ours:
// plain words, one for each place, and no echo of values.
func ownProblem(ctx huma.Context, _ string, v any) (any, error) {
	theirs, ok := v.(*huma.ErrorModel)
	if !ok {
		return v, nil
	}
	p := newProblem(ctx.Context(), theirs.Status, detailOf(ctx.Operation(), theirs))
	seen := map[string]bool{}
	for _, e := range theirs.Errors {
		if seen[e.Location] {
			continue
		}
		seen[e.Location] = true
		p.Errors = append(p.Errors, Fault{e.Location, plainly(e.Message)})
	}
	slices.SortFunc(p.Errors, func(a, b Fault) int { return strings.Compare(a.Location, b.Location) })
	return p.hinted(), nil
}

// detailOf says what is wrong with a request that the JSON layer refused, and
// that nothing was changed where it would have changed something.
func detailOf(op *huma.Operation, theirs *huma.ErrorModel) string {
	kept := unchanged
	if op != nil && op.Metadata[asking] == true {
		kept = ""
	}
	switch theirs.Status {
	case http.StatusBadRequest:
		if len(theirs.Errors) == 0 {
			return kept + "This needs a JSON body. Send one."
		}
		return kept + "The body is not JSON. See errors."
	case http.StatusRequestTimeout:
		return "The body did not arrive in time. Send the request again."
	case http.StatusRequestEntityTooLarge:
		return "The body is too large. Send less at a time."
	case http.StatusUnsupportedMediaType:
		return kept + "The body must be JSON. Send it with Content-Type: application/json."
	case http.StatusUnprocessableEntity:
		return kept + badFields
	}
	return theirs.Detail
}
