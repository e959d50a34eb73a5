package pages

import "reflect"

// filled returns a value of v's type in which nothing is empty: strings, lists
// with one element, pointers to filled values, true. Executing a template with it
// walks the branches that an empty view skips.
func filled(v any) any {
	out := reflect.New(reflect.TypeOf(v)).Elem()
	fill(out, 0)
	return out.Interface()
}

// fill stops at a depth that no view reaches, so that a type which holds
// itself does not hang the start.
func fill(v reflect.Value, depth int) {
	const deepest = 8
	if depth > deepest {
		return
	}
	if v.Kind() == reflect.Struct { // an embedded struct can not be set, its fields can
		for i := range v.NumField() {
			fill(v.Field(i), depth+1)
		}
		return
	}
	if !v.CanSet() {
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString("x")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64:
		v.SetInt(1)
	case reflect.Float64:
		v.SetFloat(1)
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), depth+1)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		fill(v.Index(0), depth+1)
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), depth+1)
		}
	default: // views hold no maps, channels or functions
	}
}
