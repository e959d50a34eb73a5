package api

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"ripeline/orders"
)

// problemType is the media type of RFC 9457.
const problemType = "application/problem+json"

// Fault is one thing in a request that can not be accepted.
type Fault struct {
	Location string `json:"location" doc:"Where it is, such as body.lines[0].pieces, query.limit or header.If-Match"`
	Message  string `json:"message" doc:"What is wrong and what to do"`
}

// Error is both parts.
func (f *Fault) Error() string { return f.Location + " " + f.Message }

// ErrorDetail hands the fault to the JSON layer, without the value that is at
// fault: it may be a password.
func (f *Fault) ErrorDetail() *huma.ErrorDetail {
	return &huma.ErrorDetail{Location: f.Location, Message: f.Message}
}

// Problem is an error as RFC 9457 sends it. It is also what handlers return.
type Problem struct {
	Title     string  `json:"title" doc:"The kind of problem, in a few words"`
	Status    int     `json:"status" doc:"The HTTP status"`
	Detail    string  `json:"detail" doc:"What happened, what it means and what to do"`
	Errors    []Fault `json:"errors,omitempty" doc:"The fields that can not be accepted"`
	RequestID string  `json:"request_id,omitempty" doc:"Names this request in the service's log"`

	headers http.Header
}

// Error is the detail.
func (p *Problem) Error() string { return p.Detail }

// GetStatus, GetHeaders and ContentType tell the JSON layer how to send it.
func (p *Problem) GetStatus() int { return p.Status }

// GetHeaders returns headers that go with the problem.
func (p *Problem) GetHeaders() http.Header { return p.headers }

// ContentType replaces the plain JSON type.
func (p *Problem) ContentType(string) string { return problemType }

// with returns p with a header set.
func (p *Problem) with(name, value string) *Problem {
	if p.headers == nil {
		p.headers = http.Header{}
	}
	p.headers.Set(name, value)
	return p
}

func newProblem(ctx context.Context, status int, detail string, faults ...Fault) *Problem {
	return &Problem{
		Title: http.StatusText(status), Status: status, Detail: detail,
		Errors: faults, RequestID: RequestID(ctx),
	}
}

// unchanged begins the detail of a problem that kept a request from changing
// something; one that only asks has nothing to say so of.
const unchanged = "Nothing was changed. "

// badFields is the detail of a request whose fields are at fault.
const badFields = "Some fields can not be accepted. See errors."

// kinds is the one table of error kinds and their HTTP status. An error of no
// kind is a fault of the service. The detail stands for errors that bring no
// sentence of their own; says is set for kinds whose errors go on after their
// name with words meant for a person ("forbidden: this needs the role owner").
var kinds = [...]struct {
	is     error
	status int
	says   bool
	detail string
}{
	{orders.ErrNotFound, http.StatusNotFound, false, "There is nothing here by that name, or it is not in your workshop."},
	{orders.ErrInvalid, http.StatusUnprocessableEntity, false, badFields},
	{orders.ErrConflict, http.StatusConflict, false, "Someone changed it since you read it, so nothing was changed. Read it again and repeat your change."},
	{orders.ErrForbidden, http.StatusForbidden, true, "You may not do this."},
	{orders.ErrSignIn, http.StatusUnauthorized, true, "Sign in, or send an API token that has not been revoked."},
	{orders.ErrThrottled, http.StatusTooManyRequests, true, "Too many attempts. Wait a while, then try again."},
	{context.DeadlineExceeded, http.StatusServiceUnavailable, false, "This took too long, so it was given up. Try again in a moment."},
	{context.Canceled, http.StatusServiceUnavailable, false, "The request was cut short."},
}

// signInPause is what a throttled visitor is told to wait: the longest it can
// take until the oldest failure no longer counts.
const signInPause = 15 * time.Minute

// StatusOf is the HTTP status of a use case's error: 500 for one of no kind.
func StatusOf(err error) int {
	for _, k := range kinds {
		if errors.Is(err, k.is) {
			return k.status
		}
	}
	return http.StatusInternalServerError
}

// problemOf turns a use case's error into what is sent. where is the part of
// the request that field errors are in: "body", "query" or "path"; asks is true
// for a request that would change nothing. The text of an error of no kind goes
// to the log, never to the visitor.
func (s *server) problemOf(ctx context.Context, err error, where string, asks bool) *Problem {
	var ready *Problem
	if errors.As(err, &ready) {
		return ready
	}
	for _, k := range kinds {
		if !errors.Is(err, k.is) {
			continue
		}
		detail := k.detail
		if said := sentence(err, k.is); said != "" && k.says {
			detail = said
		}
		var conflict *orders.Conflict
		if errors.As(err, &conflict) {
			detail = conflict.Message
		}
		if errors.Is(k.is, orders.ErrInvalid) && !asks {
			detail = unchanged + detail
		}
		return newProblem(ctx, k.status, detail, faultsOf(err, where)...).hinted()
	}
	s.cfg.Log.LogAttrs(ctx, slog.LevelError, "request failed", slog.String("request", RequestID(ctx)), slog.Any("error", err))
	detail := "Something broke on our side. Try again; if it happens again, report the request id."
	if !asks {
		detail = unchanged + detail
	}
	return newProblem(ctx, http.StatusInternalServerError, detail)
}

// hinted adds the headers a status calls for.
func (p *Problem) hinted() *Problem {
	switch p.Status {
	case http.StatusUnauthorized:
		return p.with("WWW-Authenticate", `Bearer realm="ripeline"`)
	case http.StatusTooManyRequests:
		return p.with("Retry-After", seconds(signInPause))
	case http.StatusServiceUnavailable:
		return p.with("Retry-After", "5")
	}
	return p
}

// sentence is what follows the kind's name in the error's text, "" if nothing.
func sentence(err, kind error) string {
	_, said, _ := strings.Cut(err.Error(), kind.Error()+": ")
	if said == "" {
		return ""
	}
	return strings.ToUpper(said[:1]) + said[1:] + "."
}

func faultsOf(err error, where string) []Fault {
	var invalid *orders.Invalid
	if !errors.As(err, &invalid) {
		return nil
	}
	faults := make([]Fault, len(invalid.Fields))
	for i, f := range invalid.Fields {
		faults[i] = Fault{Location: where + "." + f.Field, Message: f.Message}
	}
	return faults
}

func seconds(d time.Duration) string { return strconv.Itoa(int(d.Seconds())) }

// refuse sends p to whoever asked: as plain text to a browser that asked for a
// page, else as a problem.
func refuse(w http.ResponseWriter, r *http.Request, p *Problem) {
	program := strings.HasPrefix(r.URL.Path, "/api/") || strings.HasPrefix(r.URL.Path, "/feeds/")
	if program || !strings.Contains(r.Header.Get("Accept"), "text/html") {
		writeProblem(w, p)
		return
	}
	for name, values := range p.headers {
		w.Header()[name] = values
	}
	w.Header().Set("Cache-Control", "no-store")
	http.Error(w, p.Detail+"\n\nRequest "+p.RequestID, p.Status)
}

// writeProblem sends p outside the JSON layer.
func writeProblem(w http.ResponseWriter, p *Problem) {
	for name, values := range p.headers {
		w.Header()[name] = values
	}
	body, err := json.Marshal(p)
	if err != nil { // strings and numbers always marshal
		panic(err)
	}
	w.Header().Set("Content-Type", problemType)
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(p.Status)
	_, _ = w.Write(append(body, '\n')) // the visitor may be gone; there is nobody left to tell
}
