package api

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"
)

// body is a request's JSON body. The JSON layer checks its shape (unknown
// fields, types) against T's schema; body then decodes it, and says at which
// field a value of the right type can not be read, such as a date that the
// calendar does not have.
type body[T any] struct {
	Value  T
	faults []error
}

// Schema is T's own.
func (*body[T]) Schema(r huma.Registry) *huma.Schema {
	return r.Schema(reflect.TypeFor[T](), true, "")
}

// UnmarshalJSON keeps what does not fit for Resolve, since an error here would
// lose where it is.
func (b *body[T]) UnmarshalJSON(raw []byte) error {
	err := json.Unmarshal(raw, &b.Value)
	if err == nil {
		return nil
	}
	for _, f := range misfits(reflect.TypeFor[T](), raw) {
		b.faults = append(b.faults, &f)
	}
	if b.faults == nil {
		b.faults = []error{&Fault{"body", "can not be read: " + err.Error()}}
	}
	return nil
}

// Resolve hands the faults to the JSON layer.
func (b *body[T]) Resolve(huma.Context) []error { return b.faults }

// jsonFormat is how JSON is read and written: no HTML escaping, and an error
// says at which byte the text stops being JSON.
var jsonFormat = huma.Format{Marshal: huma.DefaultJSONFormat.Marshal, Unmarshal: unmarshal}

func unmarshal(raw []byte, v any) error {
	if !utf8.Valid(raw) {
		return errors.New("is not UTF-8 text; encode it as UTF-8")
	}
	err := json.Unmarshal(raw, v)
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		return fmt.Errorf("is not JSON at byte %d: %s", syntax.Offset, syntax.Error())
	case err != nil:
		return fmt.Errorf("can not be read: %w", err)
	}
	return nil
}

// misfits lists the values in raw that a t can not hold, in the order of t's
// fields.
func misfits(t reflect.Type, raw []byte) []Fault {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var v any
	if err := dec.Decode(&v); err != nil && !errors.Is(err, io.EOF) {
		return []Fault{{"body", "is not JSON: " + err.Error()}}
	}
	return misfitsAt("body", t, v)
}

func misfitsAt(at string, t reflect.Type, v any) []Fault {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch list, isList := v.([]any); {
	case v == nil:
		return nil
	case whole(t):
		return misfitWhole(at, t, v)
	case t.Kind() == reflect.Struct:
		return misfitFields(at, t, v)
	case t.Kind() == reflect.Slice && isList:
		var all []Fault
		for i, item := range list {
			all = append(all, misfitsAt(at+"["+strconv.Itoa(i)+"]", t.Elem(), item)...)
		}
		return all
	}
	return misfitWhole(at, t, v)
}

// whole reports whether a t is read as one value, not part by part.
func whole(t reflect.Type) bool {
	p := reflect.PointerTo(t)
	return p.Implements(reflect.TypeFor[json.Unmarshaler]()) || p.Implements(reflect.TypeFor[encoding.TextUnmarshaler]())
}

// misfitFields looks at each field of t that v has.
func misfitFields(at string, t reflect.Type, v any) []Fault {
	object, ok := v.(map[string]any)
	if !ok {
		return []Fault{{at, "must be an object"}}
	}
	var all []Fault
	for _, f := range reflect.VisibleFields(t) {
		name := jsonName(f)
		if name == "" {
			continue
		}
		for key, value := range object {
			if strings.EqualFold(key, name) {
				all = append(all, misfitsAt(at+"."+name, f.Type, value)...)
			}
		}
	}
	return all
}

// jsonName is the name of a field in JSON, "" for one that is not there or
// stands for the fields it embeds.
func jsonName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	switch {
	case !f.IsExported() || name == "-" || (f.Anonymous && name == ""):
		return ""
	case name == "":
		return f.Name
	}
	return name
}

func misfitWhole(at string, t reflect.Type, v any) []Fault {
	raw, err := json.Marshal(v)
	if err != nil { // it came from JSON
		panic(err)
	}
	err = json.Unmarshal(raw, reflect.New(t).Interface())
	var wrong *json.UnmarshalTypeError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &wrong):
		return []Fault{{at, fmt.Sprintf("has %s, which does not fit here; give %s", wrong.Value, plain(t))}}
	}
	return []Fault{{at, err.Error()}}
}

// plain names a type for a person.
func plain(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Int64:
		return "a whole number in digits, of at most 18 of them"
	case reflect.Float64:
		return "a number"
	case reflect.Slice:
		return "a list"
	default:
		return "a text"
	}
}
