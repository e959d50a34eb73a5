package schedule

import (
	"encoding"
	"encoding/json"
	"reflect"
	"strings"
)

// misfit says in plain words what stands in a problem file and what belongs there.
func misfit(wrong *json.UnmarshalTypeError) string {
	return "is " + foundWords(wrong.Value) + "; it must be " + wantedWords(wrong.Type)
}

// foundWords names what the decoder found: "array", "number 1.5" and the like.
func foundWords(value string) string {
	kind, digits, _ := strings.Cut(value, " ")
	switch kind {
	case "array":
		return "a list"
	case "object":
		return "an object"
	case "string":
		return "a text in quotes"
	case "bool":
		return "true or false"
	case "number":
		if digits != "" { // a number that is not whole, where one must be
			return digits
		}
		return "a number"
	}
	return "something else"
}

func wantedWords(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return "a whole number in digits, and not too large a one"
	case reflect.Float32, reflect.Float64:
		return "a number"
	case reflect.Slice, reflect.Array:
		return "a list"
	case reflect.Map:
		return "an object"
	case reflect.Pointer:
		return wantedWords(t.Elem())
	case reflect.Struct:
		if reflect.PointerTo(t).Implements(reflect.TypeFor[encoding.TextUnmarshaler]()) {
			return "a text in quotes"
		}
		return "an object"
	}
	return "a text in quotes"
}
