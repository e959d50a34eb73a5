package orders

import (
	"errors"
	"strings"
)

// The kinds of error a use case returns; test with errors.Is. Anything else
// is a fault of the service.
var (
	ErrNotFound  = errors.New("not found")
	ErrInvalid   = errors.New("invalid")   // see Invalid for the fields
	ErrConflict  = errors.New("conflict")  // someone else changed it first, or its state does not allow this
	ErrForbidden = errors.New("forbidden") // the role or token scope does not allow this
	ErrSignIn    = errors.New("sign-in failed")
	ErrThrottled = errors.New("too many attempts")
)

// FieldError is one field that can not be accepted. Field is a JSON path such
// as "lines[0].pieces"; Message says what to do.
type FieldError struct {
	Field   string `json:"field"`
	Message string `json:"message"`
}

// Invalid carries every field that can not be accepted. It is ErrInvalid.
type Invalid struct{ Fields []FieldError }

// Error joins the fields' messages.
func (e *Invalid) Error() string {
	parts := make([]string, len(e.Fields))
	for i, f := range e.Fields {
		parts[i] = f.Field + ": " + f.Message
	}
	return strings.Join(parts, "; ")
}

// Is makes errors.Is(err, ErrInvalid) hold.
func (e *Invalid) Is(target error) bool { return target == ErrInvalid }

// Check collects field errors; the zero value is ready.
type Check struct{ fields []FieldError }

// Add records that a field can not be accepted.
func (c *Check) Add(field, message string) {
	c.fields = append(c.fields, FieldError{field, message})
}

// Want records the message unless ok.
func (c *Check) Want(ok bool, field, message string) {
	if !ok {
		c.Add(field, message)
	}
}

// Err is nil when nothing was recorded, else an *Invalid.
func (c *Check) Err() error {
	if len(c.fields) == 0 {
		return nil
	}
	return &Invalid{Fields: c.fields}
}

// Conflict is ErrConflict with a sentence that says what happened, what it
// means and what to do.
type Conflict struct{ Message string }

// Error is the sentence.
func (e *Conflict) Error() string { return e.Message }

// Is makes errors.Is(err, ErrConflict) hold.
func (e *Conflict) Is(target error) bool { return target == ErrConflict }
