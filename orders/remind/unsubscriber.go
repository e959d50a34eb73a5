package remind

import (
	"bytes"
	_ "embed" // the page
	"errors"
	"html/template"
	"net/http"

	"ripeline/orders"
)

//go:embed templates/unsubscribe.html
var unsubscribeHTML string

var unsubscribePage = template.Must(template.New("unsubscribe.html").Parse(unsubscribeHTML))

// unsubscribeView is what the page shows. Action is the address a button posts
// to, empty when there is nothing to press.
type unsubscribeView struct{ Title, Text, Action string }

// Unsubscriber serves UnsubscribePath. GET asks, since mail scanners follow
// links; POST does it, as RFC 8058 wants without cookies or redirects.
func (s *Service) Unsubscriber() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead && r.Method != http.MethodPost {
			w.Header().Set("Allow", "GET, HEAD, POST")
			http.Error(w, "Open this address in a browser, or post to it.", http.StatusMethodNotAllowed)
			return
		}
		code, view := s.unsubscribe(r)
		s.showUnsubscribe(w, r, code, view)
	})
}

func (s *Service) unsubscribe(r *http.Request) (int, unsubscribeView) {
	u, err := s.VerifyUnsubscribe(r.Context(), r.URL.Query())
	if err == nil && r.Method == http.MethodPost {
		err = s.Unsubscribe(r.Context(), u)
	}
	switch {
	case errors.Is(err, orders.ErrNotFound):
		return http.StatusNotFound, unsubscribeView{
			Title: "This address does not work",
			Text:  "It may have been cut short, or what it was for is gone. Reminders can be turned off on the workshop's page too.",
		}
	case err != nil:
		s.cfg.Log.ErrorContext(r.Context(), "unsubscribe", "error", err)
		return http.StatusInternalServerError, unsubscribeView{Title: "That did not work", Text: "Please try again in a minute."}
	case r.Method == http.MethodPost:
		return http.StatusOK, unsubscribeView{
			Title: "Done", Text: "You will get no more of these: " + kindName(u.Kind) + ". They can be turned on again on the workshop's page.",
		}
	}
	return http.StatusOK, unsubscribeView{Title: "Reminders", Text: "This stops " + kindName(u.Kind) + ".", Action: UnsubscribePath + "?" + r.URL.RawQuery}
}

func (s *Service) showUnsubscribe(w http.ResponseWriter, r *http.Request, code int, view unsubscribeView) {
	var page bytes.Buffer
	if err := unsubscribePage.Execute(&page, view); err != nil {
		s.cfg.Log.ErrorContext(r.Context(), "unsubscribe: page", "error", err)
		http.Error(w, "That did not work. Please try again in a minute.", http.StatusInternalServerError)
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Robots-Tag", "noindex")
	h.Set("Content-Security-Policy", "default-src 'none'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	w.WriteHeader(code)
	if r.Method == http.MethodHead {
		return
	}
	if _, err := w.Write(page.Bytes()); err != nil {
		s.cfg.Log.DebugContext(r.Context(), "unsubscribe: the reader left", "error", err)
	}
}
