package api

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/ical"
)

var (
	calendarText = []byte("BEGIN:VCALENDAR\r\n" + strings.Repeat("X-LINE:the same again\r\n", 40) + "END:VCALENDAR\r\n")
	changedAt    = time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)
)

// calendar asks for calendarText with the headers, given in pairs.
func calendar(t *testing.T, method string, headers ...string) *http.Response {
	t.Helper()
	h := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { sendCalendar(w, r, calendarText, changedAt) })
	return ask(t, h, method, "/feeds/x/plan.ics", "", headers...)
}

func TestCalendarHeaders(t *testing.T) {
	for _, method := range []string{http.MethodGet, http.MethodHead} {
		res := calendar(t, method)
		for name, want := range map[string]string{
			"Content-Type":        "text/calendar; charset=utf-8",
			"Content-Disposition": `inline; filename="plan.ics"`,
			"Cache-Control":       "private, no-cache",
			"Vary":                "Accept-Encoding",
			"Last-Modified":       "Tue, 01 Dec 2026 18:00:00 GMT",
			"Accept-Ranges":       "",
			"Content-Encoding":    "",
		} {
			if got := res.Header.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", method, name, got, want)
			}
		}
		if tag := res.Header.Get("ETag"); len(tag) < 20 || tag[0] != '"' {
			t.Errorf("%s: ETag %q is not strong", method, tag)
		}
	}
}

// The matrix of RFC 9110 sections 13.1.2, 13.1.3 and 13.2.2.
func TestConditionalRequests(t *testing.T) {
	tag := calendar(t, http.MethodGet).Header.Get("ETag")
	before, at, after := "Mon, 30 Nov 2026 00:00:00 GMT", "Tue, 01 Dec 2026 18:00:00 GMT", "Wed, 02 Dec 2026 00:00:00 GMT"
	for name, c := range map[string]struct {
		headers []string
		status  int
	}{
		"none":                       {nil, 200},
		"its tag":                    {[]string{"If-None-Match", tag}, 304},
		"its tag, weakened":          {[]string{"If-None-Match", "W/" + tag}, 304},
		"another tag":                {[]string{"If-None-Match", `"other"`}, 200},
		"a list with it":             {[]string{"If-None-Match", `"a", W/"b", ` + tag}, 304},
		"a list without it":          {[]string{"If-None-Match", `"a", "b"`}, 200},
		"a list over two lines":      {[]string{"If-None-Match", `"a"`, "If-None-Match", tag}, 304},
		"any":                        {[]string{"If-None-Match", "*"}, 304},
		"not a tag":                  {[]string{"If-None-Match", "nonsense"}, 200},
		"modified since before":      {[]string{"If-Modified-Since", before}, 200},
		"modified since then":        {[]string{"If-Modified-Since", at}, 304},
		"modified since after":       {[]string{"If-Modified-Since", after}, 304},
		"modified since nonsense":    {[]string{"If-Modified-Since", "yesterday"}, 200},
		"tag differs, date says 304": {[]string{"If-None-Match", `"other"`, "If-Modified-Since", after}, 200},
		"tag fits, date says 200":    {[]string{"If-None-Match", tag, "If-Modified-Since", before}, 304},
		"part of it":                 {[]string{"Range", "bytes=0-10"}, 200},
	} {
		for _, method := range []string{http.MethodGet, http.MethodHead} {
			res := calendar(t, method, c.headers...)
			if res.StatusCode != c.status {
				t.Errorf("%s %s: got %d, want %d", method, name, res.StatusCode, c.status)
			}
			for _, header := range []string{"ETag", "Cache-Control", "Vary"} {
				if res.Header.Get(header) == "" {
					t.Errorf("%s %s: no %s", method, name, header)
				}
			}
			body, err := io.ReadAll(res.Body)
			if err != nil {
				t.Fatal(err)
			}
			if wantBody := method == http.MethodGet && c.status == 200; wantBody != bytes.Equal(body, calendarText) || (!wantBody && len(body) > 0) {
				t.Errorf("%s %s: body of %d bytes", method, name, len(body))
			}
		}
	}
}

func TestCompression(t *testing.T) {
	plain := calendar(t, http.MethodGet).Header.Get("ETag")
	for accept, want := range map[string]bool{
		"gzip": true, "GZIP": true, "x-gzip": true, "deflate, gzip;q=0.5, br": true, "*": true, "gzip; q=1": true,
		"": false, "identity": false, "br": false, "gzip;q=0": false, "gzip;q=0.0, *": false, "*;q=0": false, "gzip;q=soon": false,
	} {
		res := calendar(t, http.MethodGet, "Accept-Encoding", accept)
		if got := res.Header.Get("Content-Encoding") == "gzip"; got != want {
			t.Errorf("%q: compressed is %t", accept, got)
			continue
		}
		if res.Header.Get("Vary") != "Accept-Encoding" || (res.Header.Get("ETag") == plain) == want {
			t.Errorf("%q: Vary %q, ETag %q", accept, res.Header.Get("Vary"), res.Header.Get("ETag"))
		}
		if want {
			checkCompressed(t, res)
		}
	}
}

func checkCompressed(t *testing.T, res *http.Response) {
	t.Helper()
	z, err := gzip.NewReader(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(z); err != nil || !bytes.Equal(text, calendarText) {
		t.Errorf("unpacked to %d bytes, %v", len(text), err)
	}
	tag := res.Header.Get("ETag")
	if again := calendar(t, http.MethodGet, "Accept-Encoding", "gzip", "If-None-Match", tag); again.StatusCode != http.StatusNotModified || again.Header.Get("ETag") != tag {
		t.Errorf("asked again: %d, ETag %s", again.StatusCode, again.Header.Get("ETag"))
	}
}

func TestTagFollowsTheBytes(t *testing.T) {
	tag := func(text string) string {
		w := httptest.NewRecorder()
		sendCalendar(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil), []byte(text), changedAt)
		return w.Header().Get("ETag")
	}
	first, again, other := tag("a"), tag("a"), tag("b")
	if first != again || first == other {
		t.Errorf("tags %s and %s of the same bytes, %s of others", first, again, other)
	}
}

func TestLastModifiedNeverGoesBack(t *testing.T) {
	lisbon, err := civil.LoadZone("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	feed := ical.Feed{Zone: lisbon, Modified: changedAt}
	var last time.Time
	for day := civil.Of(changedAt); day.Before(civil.Of(changedAt).AddDays(200)); day = day.AddDays(1) {
		now := lastModified(feed, day)
		if now.Before(last) || now.Before(feed.Modified) {
			t.Fatalf("%s: %s after %s", day, now, last)
		}
		last = now
	}
	feed.Modified = last.Add(time.Hour)
	if got := lastModified(feed, civil.Of(last)); !got.Equal(feed.Modified) {
		t.Errorf("a change today gives %s", got)
	}
}

func TestFeedWithoutDatabaseIsNotEmpty(t *testing.T) {
	res := ask(t, mustNew(t, plainConfig()), http.MethodGet, "/feeds/some-secret/plan.ics", "")
	p := problemIn(t, res, http.StatusServiceUnavailable)
	if res.Header.Get("Retry-After") == "" || res.Header.Get("X-Robots-Tag") != "noindex" || strings.Contains(p.Detail, "dial") {
		t.Errorf("headers %v, detail %q", res.Header, p.Detail)
	}
}

func TestUnwritableFeedSaysWhatItsReaderCanDo(t *testing.T) {
	large := fmt.Errorf("publish: %w", &ical.TooLargeError{Size: 2_000_000, Events: 9000})
	if got := unpublished(large); !strings.Contains(got, "subscribe to one kind of work") {
		t.Errorf("too large: %q", got)
	}
	if got := unpublished(errors.New("event 7: no zone")); strings.Contains(got, "zone") {
		t.Errorf("a fault of ours: %q", got)
	}
}
