package api

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"runtime/debug"
	"strings"

	"github.com/go-chi/chi/v5/middleware"
)

type requestIDKey struct{}

// RequestID names the request of ctx in the log; "" outside a request.
func RequestID(ctx context.Context) string {
	id, _ := ctx.Value(requestIDKey{}).(string)
	return id
}

// ClientAddr is the address a request came from, "" when it is unknown.
func ClientAddr(ctx context.Context) string { return middleware.GetClientIP(ctx) }

// numbered gives each request an id of its own; one sent along is not
// believed, so that log lines can not be forged.
func numbered(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id := rand.Text()
		w.Header().Set("X-Request-Id", id)
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), requestIDKey{}, id)))
	})
}

// logged writes one line for each request: never a query, and never a secret
// that stands in a path.
func (s *server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		begun := s.cfg.Now()
		sent := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		defer func() {
			s.cfg.Log.LogAttrs(r.Context(), levelOf(sent.Status(), r.URL.Path), "request",
				slog.String("request", RequestID(r.Context())),
				slog.String("method", r.Method),
				slog.String("path", maskPath(r.URL.Path)),
				slog.Int("status", sent.Status()),
				slog.Int("bytes", sent.BytesWritten()),
				slog.Duration("took", s.cfg.Now().Sub(begun)),
				slog.String("from", ClientAddr(r.Context())))
		}()
		next.ServeHTTP(sent, r)
	})
}

func levelOf(status int, path string) slog.Level {
	switch {
	case status >= http.StatusInternalServerError:
		return slog.LevelError
	case path == "/healthz" || path == "/readyz":
		return slog.LevelDebug
	}
	return slog.LevelInfo
}

// secretPaths are the first segments after which a secret stands.
var secretPaths = [...]string{"feeds", "setup", "unsubscribe"}

// maskPath hides the secret in a path, if it has one.
func maskPath(path string) string {
	parts := strings.SplitN(path, "/", 4) // "", first, secret, rest
	if len(parts) < 3 || parts[2] == "" {
		return path
	}
	for _, first := range secretPaths {
		if parts[1] == first {
			parts[2] = "***"
			return strings.Join(parts, "/")
		}
	}
	return path
}

// recovered turns a panic into a 500 and a log line with its stack.
func (s *server) recovered(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		sent := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		defer func() {
			fault := recover()
			if fault == nil {
				return
			}
			if fault == http.ErrAbortHandler { //nolint:errorlint // the documented sentinel, compared as net/http does
				panic(fault)
			}
			s.cfg.Log.LogAttrs(r.Context(), slog.LevelError, "panic", slog.String("request", RequestID(r.Context())),
				slog.String("panic", fmt.Sprint(fault)), slog.String("stack", string(debug.Stack())))
			if sent.Status() == 0 {
				refuse(sent, r, newProblem(r.Context(), http.StatusInternalServerError,
					"Something broke on our side. Try again; if it happens again, report the request id."))
			}
		}()
		next.ServeHTTP(sent, r)
	})
}

// policy is what pages may load and where they may be shown: nothing from
// elsewhere, no inline script or style, in no frame.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; " +
	"connect-src 'self'; manifest-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// guarded sets the headers that keep browsers strict.
func (s *server) guarded(next http.Handler) http.Handler {
	fixed := map[string]string{
		"Content-Security-Policy":      policy,
		"X-Content-Type-Options":       "nosniff",
		"Referrer-Policy":              "no-referrer",
		"Cross-Origin-Opener-Policy":   "same-origin",
		"Cross-Origin-Resource-Policy": "same-origin",
		"Permissions-Policy":           "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
	}
	if s.base.Scheme == "https" {
		fixed["Strict-Transport-Security"] = "max-age=31536000"
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for name, value := range fixed {
			w.Header().Set(name, value)
		}
		next.ServeHTTP(w, r)
	})
}

// Sizes of a request's body, in bytes: what is read of one, and what is thrown
// away of one that is too large so that its sender gets to read the answer.
const (
	maxBody  = 1 << 20
	maxWaste = 32 << 20
)

// sized refuses a body that says it is too large, and stops reading one that
// turns out to be.
func sized(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.ContentLength > maxBody {
			w.Header().Set("Connection", "close")
			refuse(w, r, tooLarge(r.Context()))
			discard(w, r)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		next.ServeHTTP(w, r)
	})
}

// discard sends the answer and throws away the body that is still coming. Many
// clients look at no answer before they have sent everything: they would only
// see the connection end. One that asked first (Expect) sends nothing more.
func discard(w http.ResponseWriter, r *http.Request) {
	if r.Header.Get("Expect") != "" || http.NewResponseController(w).Flush() != nil {
		return
	}
	_, _ = io.CopyN(io.Discard, r.Body, maxWaste) // the answer has been given, whatever becomes of the rest
}

func tooLarge(ctx context.Context) *Problem {
	return newProblem(ctx, http.StatusRequestEntityTooLarge, fmt.Sprintf("The body is larger than %d bytes. Send less at a time.", maxBody))
}

// timed ends the request's context after the time limit.
func (s *server) timed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), s.cfg.Timeout)
		defer cancel()
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}
