package pages

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"ripeline/api"
	"ripeline/orders"
)

// errTooLarge is a form far larger than any page's.
var errTooLarge = errors.New("the form is too large")

// fault is how a kind of error is shown. kept says what became of what was sent
// to be written; it is left out where a page was only asked for.
type fault struct {
	kind   error
	status int
	title  string
	kept   string
	text   string
}

// textFor is what the page says to somebody who sent r.
func (f fault) textFor(r *http.Request) string {
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		return f.text
	}
	return strings.TrimSpace(f.kept + " " + f.text)
}

// faults is the table of error kinds; what is not in it is our own fault.
func faults() []fault {
	return []fault{
		{
			orders.ErrNotFound, api.StatusOf(orders.ErrNotFound), "This page is not here",
			"", "Nothing in this workshop has this address. It may have been removed, or the address was mistyped. Go to Today and look for it from there.",
		},
		{
			orders.ErrForbidden, api.StatusOf(orders.ErrForbidden), "Your role does not allow this",
			"Nothing was changed.", "Ask the owner of the workshop to do it, or to give you another role.",
		},
		{
			orders.ErrConflict, api.StatusOf(orders.ErrConflict), "Someone changed this since you opened it",
			"Your change was not written, so nobody's work is lost.", "Go back, look at what is there now, and decide again.",
		},
		{
			orders.ErrInvalid, api.StatusOf(orders.ErrInvalid), "This could not be accepted",
			"Nothing was written.", "Go back and correct it.",
		},
		{
			orders.ErrThrottled, api.StatusOf(orders.ErrThrottled), "Too many attempts",
			"", "Wait a quarter of an hour, then try again.",
		},
		{
			errTooLarge, http.StatusRequestEntityTooLarge, "This is too large",
			"Nothing was written.", "Go back and shorten what you typed.",
		},
	}
}

func ownFault() fault {
	return fault{
		nil, http.StatusInternalServerError, "Something broke on our side",
		"What you sent may not have been written: look before you send it again.", "The log of the service says what happened.",
	}
}

func faultOf(err error) fault {
	for _, f := range faults() {
		if errors.Is(err, f.kind) {
			return f
		}
	}
	return ownFault()
}

// conflictText is the sentence of a conflict, or the usual one.
func conflictText(err error) string {
	var c *orders.Conflict
	if errors.As(err, &c) && c.Message != "" {
		return capital(c.Message)
	}
	return "Someone changed this since you opened it. Your input is still here and was not written. Look at what is stored now; send it again to write yours over it."
}

// detail is what the error itself says to a person, "" for none.
func detail(err error) string {
	var conflict *orders.Conflict
	var invalid *orders.Invalid
	switch {
	case errors.As(err, &conflict):
		return capital(conflict.Message)
	case errors.As(err, &invalid):
		lines := make([]string, len(invalid.Fields))
		for i, f := range invalid.Fields {
			lines[i] = messageOf(fieldWords(f.Field), f.Message)
		}
		return strings.Join(lines, " ")
	}
	return ""
}

type faultView struct {
	Title, Text, Detail string
	Back, Way           string // where the one link leads, and what it says
}

// fault renders an error as a page.
func (v *visit) fault(err error) {
	f := faultOf(err)
	if f.kind == nil {
		v.Log.ErrorContext(v.ctx(), "page failed", "path", v.r.URL.Path, "error", err)
	}
	view := faultView{Title: f.title, Text: f.textFor(v.r), Detail: detail(err), Back: v.back(), Way: "Go back"}
	if view.Back == "/today" {
		view.Way = "Go to Today"
	}
	if err := v.show(f.status, "fault", f.title, view); err != nil {
		v.Log.ErrorContext(v.ctx(), "error page failed", "error", err)
		http.Error(v.w, f.title+". "+f.textFor(v.r), f.status)
	}
}

// back is the page the form was on, so that one link leads out of an error.
func (v *visit) back() string { return localPath(v.r.PostForm.Get("back"), "/today") }

// notFound and notAllowed answer what no route matches.
func (s *site) notFound(w http.ResponseWriter, r *http.Request) { s.outside(w, r, orders.ErrNotFound) }

func (s *site) notAllowed(w http.ResponseWriter, r *http.Request) {
	s.outside(w, r, orders.ErrNotFound)
}

// outside shows an error with the workshop's frame to those signed in, and
// without it to strangers.
func (s *site) outside(w http.ResponseWriter, r *http.Request, err error) {
	if visitor, ok := api.VisitorFrom(r.Context()); ok && visitor.Person.ID != "" {
		s.signedIn(func(*visit) error { return err })(w, r)
		return
	}
	s.strangerFault(w, r, err)
}

func (s *site) strangerFault(w http.ResponseWriter, r *http.Request, err error) {
	f := faultOf(err)
	if f.kind == nil {
		s.Log.ErrorContext(r.Context(), "page failed", "path", r.URL.Path, "error", err)
	}
	view := faultView{Title: f.title, Text: f.textFor(r), Detail: detail(err), Back: "/sign-in", Way: "Sign in"}
	s.showStranger(w, r.Context(), f.status, "fault", f.title, view)
}

func (s *site) showStranger(w http.ResponseWriter, ctx context.Context, status int, name, title string, view any) {
	err := s.templates.write(w, status, name, frame{Title: title, View: view, Version: s.Version})
	if err != nil {
		s.Log.ErrorContext(ctx, "page failed", "page", name, "error", err)
		f := ownFault()
		http.Error(w, f.title+". "+f.kept+" "+f.text, http.StatusInternalServerError)
	}
}
