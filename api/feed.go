package api

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"log/slog"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

// feeds adds the calendar feeds. They know no session and set no cookie: the
// secret in the path is all there is.
func (s *server) feeds(r chi.Router) {
	r.Use(unindexed)
	r.Get("/{secret}/plan.ics", s.feed)
}

// unindexed keeps feeds out of search engines, also those that follow a link
// someone published.
func unindexed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("X-Robots-Tag", "noindex")
		next.ServeHTTP(w, r)
	})
}

// feed sends a calendar. Whatever goes wrong, it never sends an empty or a
// partial one with status 200: an app would take the events for gone.
func (s *server) feed(w http.ResponseWriter, r *http.Request) {
	calendar, err := s.cfg.Book.FeedByToken(r.Context(), chi.URLParam(r, "secret"), s.cfg.BaseURL+"/plan")
	switch {
	case errors.Is(err, orders.ErrNotFound):
		writeProblem(w, newProblem(r.Context(), http.StatusNotFound,
			"There is no such calendar. Its address may have been renewed or ended; ask for a new one."))
		return
	case err != nil:
		s.cfg.Log.LogAttrs(r.Context(), slog.LevelError, "feed failed", slog.String("request", RequestID(r.Context())), slog.Any("error", err))
		writeProblem(w, overloaded(r.Context()))
		return
	}
	today := civil.Of(s.cfg.Now().In(calendar.Zone))
	text, err := ical.Publish(calendar, today)
	if err != nil {
		s.cfg.Log.LogAttrs(r.Context(), slog.LevelError, "feed can not be written", slog.String("feed", calendar.ID), slog.Any("error", err))
		writeProblem(w, newProblem(r.Context(), http.StatusServiceUnavailable, unpublished(err)).hinted())
		return
	}
	sendCalendar(w, r, text, lastModified(calendar, today))
}

// unpublished says why a feed can not be written, as far as its reader can do
// anything about it.
func unpublished(err error) string {
	var large *ical.TooLargeError
	if errors.As(err, &large) {
		return large.Error()
	}
	return "This calendar can not be written at the moment. Try again later."
}

// lastModified is when the calendar's text last changed: with the plan, or with
// the day, since days decide what is past. Neither ever goes back.
func lastModified(calendar ical.Feed, today civil.Date) time.Time {
	morning := civil.StartOfDay(today, calendar.Zone)
	if morning.After(calendar.Modified) {
		return morning
	}
	return calendar.Modified
}

// sendCalendar sends the text, compressed if asked for, or 304. Each form has a
// tag of its own, made from the bytes.
func sendCalendar(w http.ResponseWriter, r *http.Request, text []byte, modified time.Time) {
	sum := sha256.Sum256(text)
	tag := base64.RawURLEncoding.EncodeToString(sum[:18])
	h := w.Header()
	h.Set("Content-Type", "text/calendar; charset=utf-8")
	h.Set("Content-Disposition", `inline; filename="plan.ics"`)
	h.Set("Cache-Control", "private, no-cache")
	h.Set("Vary", "Accept-Encoding")
	if acceptsGzip(r.Header.Values("Accept-Encoding")) {
		text, tag = compressed(text), tag+"-gzip"
		h.Set("Content-Encoding", "gzip")
		h.Set("Content-Length", strconv.Itoa(len(text)))
	}
	h.Set("ETag", `"`+tag+`"`)
	asked := r.Clone(r.Context())
	asked.Header.Del("Range") // part of a calendar is never right
	if tags := r.Header.Values("If-None-Match"); len(tags) > 1 {
		asked.Header.Set("If-None-Match", strings.Join(tags, ", ")) // the standard library reads one line only
	}
	http.ServeContent(uncut{w}, asked, "", modified, bytes.NewReader(text))
}

// uncut takes back http.ServeContent's offer of ranges.
type uncut struct{ http.ResponseWriter }

func (u uncut) WriteHeader(status int) {
	u.Header().Del("Accept-Ranges")
	u.ResponseWriter.WriteHeader(status)
}

func compressed(text []byte) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	_, _ = z.Write(text) // a buffer takes everything
	_ = z.Close()
	return out.Bytes()
}

// acceptsGzip reads Accept-Encoding (RFC 9110 section 12.5.3): gzip named, or
// else meant by *, with a weight above zero.
func acceptsGzip(headers []string) bool {
	weights := map[string]float64{}
	for _, part := range strings.Split(strings.Join(headers, ","), ",") {
		name, params, _ := strings.Cut(strings.TrimSpace(part), ";")
		weights[strings.ToLower(strings.TrimSpace(name))] = weightOf(params)
	}
	for _, name := range [...]string{"gzip", "x-gzip", "*"} {
		if weight, named := weights[name]; named {
			return weight > 0
		}
	}
	return false
}

// weightOf reads "q=0.5"; 1 without one, 0 for one that can not be read.
func weightOf(params string) float64 {
	name, value, found := strings.Cut(strings.TrimSpace(params), "=")
	if !found || !strings.EqualFold(strings.TrimSpace(name), "q") {
		return 1
	}
	weight, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
	if err != nil {
		return 0
	}
	return weight
}
