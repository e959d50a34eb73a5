package calc

import (
	"errors"
	"fmt"
	"strings"
)

// FieldError says what is wrong with one input and what to do about it.
// Field is a path in snake case such as "cut_plan.thickness" or "oils[2].sv";
// Message is a plain sentence for the person who typed the value.
type FieldError struct {
	Field   string
	Message string
}

// Error gives "field: message".
func (e FieldError) Error() string { return e.Field + ": " + e.Message }

// FieldErrors is every complaint about one input, in the order of its fields.
// The zero value is an empty list, ready to use.
type FieldErrors []FieldError

// Error joins the complaints by semicolons.
func (e FieldErrors) Error() string {
	texts := make([]string, len(e))
	for i, fe := range e {
		texts[i] = fe.Error()
	}
	return strings.Join(texts, "; ")
}

// Err is nil when there is nothing to complain of, else e itself. It keeps an
// empty list from becoming a non-nil error.
func (e FieldErrors) Err() error {
	if len(e) == 0 {
		return nil
	}
	return e
}

// Under returns a copy with every field put under prefix: "width" under "mold"
// becomes "mold.width".
func (e FieldErrors) Under(prefix string) FieldErrors {
	out := make(FieldErrors, len(e))
	for i, fe := range e {
		out[i] = FieldError{Field: prefix + "." + fe.Field, Message: fe.Message}
	}
	return out
}

// fieldErrorsOf is the list inside an error of this package; nil for nil.
func fieldErrorsOf(err error) FieldErrors {
	var list FieldErrors
	if err != nil && !errors.As(err, &list) {
		panic("calc: a check gave an error without a field: " + err.Error())
	}
	return list
}

func (e *FieldErrors) add(field, format string, args ...any) {
	*e = append(*e, FieldError{Field: field, Message: fmt.Sprintf(format, args...)})
}

func fieldErr(field, format string, args ...any) error {
	return FieldErrors{{Field: field, Message: fmt.Sprintf(format, args...)}}
}
