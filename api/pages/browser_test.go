package pages_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

// browser keeps cookies, follows redirects, and fills in the forms that the
// pages really have, hidden inputs and all.
type browser struct {
	t       testing.TB
	w       *world
	cookies map[string]string
	status  int
	path    string
	body    string
	page    *goquery.Document
}

func newBrowser(w *world) *browser { return &browser{t: w.t, w: w, cookies: map[string]string{}} }

func (b *browser) signIn(email string) {
	b.t.Helper()
	b.get("/sign-in")
	b.submit("form", url.Values{"email": {email}, "password": {password}})
	if b.path != "/today" {
		b.t.Fatalf("signing in led to %s: %s", b.path, b.text("main"))
	}
}

func (b *browser) get(path string) {
	b.t.Helper()
	b.request(http.MethodGet, path, nil)
}

func (b *browser) post(path string, values url.Values) {
	b.t.Helper()
	b.request(http.MethodPost, path, values)
}

// request follows up to five redirects.
func (b *browser) request(method, path string, values url.Values) {
	b.t.Helper()
	for range 5 {
		path, _, _ = strings.Cut(path, "#") // a place on the page is not sent
		var body io.Reader
		if method == http.MethodPost {
			body = strings.NewReader(values.Encode())
		}
		r := httptest.NewRequestWithContext(b.t.Context(), method, base+path, body)
		if method == http.MethodPost {
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("Origin", base)
		}
		for name, value := range b.cookies {
			r.AddCookie(&http.Cookie{Name: name, Value: value})
		}
		rec := httptest.NewRecorder()
		b.w.handler.ServeHTTP(rec, r)
		for _, c := range rec.Result().Cookies() {
			b.cookies[c.Name] = c.Value
		}
		b.status, b.body = rec.Code, rec.Body.String()
		b.path, _, _ = strings.Cut(path, "?")
		if rec.Code != http.StatusSeeOther {
			break
		}
		method = http.MethodGet
		path, _, _ = strings.Cut(rec.Header().Get("Location"), "#") // a browser keeps the fragment to itself
	}
	page, err := goquery.NewDocumentFromReader(strings.NewReader(b.body))
	if err != nil {
		b.t.Fatal(err)
	}
	b.page = page
}

// submit sends the form at selector with its own inputs, changed by values.
func (b *browser) submit(selector string, values url.Values) {
	b.t.Helper()
	form := b.page.Find(selector).First()
	if form.Length() == 0 {
		b.t.Fatalf("%s has no form %s: %s", b.path, selector, b.text("main"))
	}
	sent := formValues(form)
	for name, v := range values {
		if form.Find(`[name="`+name+`"]`).Length() == 0 {
			b.t.Fatalf("the form %s on %s has no input %q", selector, b.path, name)
		}
		sent[name] = v
	}
	action := form.AttrOr("action", b.path)
	if strings.EqualFold(form.AttrOr("method", "get"), "get") {
		b.get(action + "?" + sent.Encode())
		return
	}
	b.post(action, sent)
}

// formValues is what a browser would send of an untouched form.
func formValues(form *goquery.Selection) url.Values {
	sent := url.Values{}
	form.Find("input, textarea, select").Each(func(_ int, in *goquery.Selection) {
		name, named := in.Attr("name")
		_, checked := in.Attr("checked")
		switch {
		case !named:
		case goquery.NodeName(in) == "select":
			option := in.Find("option[selected]")
			if option.Length() == 0 {
				option = in.Find("option").First()
			}
			sent.Set(name, option.AttrOr("value", ""))
		case goquery.NodeName(in) == "textarea":
			sent.Set(name, in.Text())
		case in.AttrOr("type", "") == "checkbox":
			if checked {
				sent.Set(name, in.AttrOr("value", "on"))
			}
		default:
			sent.Set(name, in.AttrOr("value", ""))
		}
	})
	return sent
}

// text is the words at a selector, with single blanks.
func (b *browser) text(selector string) string {
	return strings.Join(strings.Fields(b.page.Find(selector).Text()), " ")
}

func (b *browser) wants(status int, selector, contains string) {
	b.t.Helper()
	if b.status != status {
		b.t.Fatalf("%s answered %d, want %d: %s", b.path, b.status, status, b.text("main"))
	}
	if b.page.Find(selector).Length() == 0 {
		b.t.Fatalf("%s has nothing at %s: %s", b.path, selector, b.text("main"))
	}
	if got := b.text(selector); !strings.Contains(got, contains) {
		b.t.Fatalf("%s at %s says %q, want %q in it", b.path, selector, got, contains)
	}
}

// rejects checks that a form came back with a message at an input, linked by
// aria-describedby and listed on top.
func (b *browser) rejects(name, contains string) {
	b.t.Helper()
	if b.status != http.StatusUnprocessableEntity {
		b.t.Fatalf("%s answered %d, want 422: %s", b.path, b.status, b.text("main"))
	}
	in := b.page.Find(`[name="` + name + `"]`).First()
	id := in.AttrOr("id", "")
	message := b.page.Find("#" + id + "-error").Text()
	if !strings.Contains(message, contains) {
		b.t.Fatalf("input %q has the message %q, want %q in it; the page: %s", name, message, contains, b.text(".problems"))
	}
	if !strings.Contains(in.AttrOr("aria-describedby", ""), id+"-error") || in.AttrOr("aria-invalid", "") != "true" {
		b.t.Errorf("input %q is not tied to its message", name)
	}
	if b.page.Find(`.problems a[href="#`+id+`"]`).Length() == 0 {
		b.t.Errorf("the list on top does not lead to %q", name)
	}
}
