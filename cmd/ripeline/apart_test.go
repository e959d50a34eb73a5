package main

import (
	"maps"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"ripeline/orders"
)

// visitor uses the pages as a browser without scripts does.
type visitor struct {
	t      testing.TB
	base   string
	client *http.Client
}

// signedIn is a visitor of the owner with this e-mail address.
func signedIn(t testing.TB, base, email string) *visitor {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	v := &visitor{t, base, &http.Client{Jar: jar, Timeout: patience}}
	status, page := v.request(http.MethodPost, "/sign-in", url.Values{"email": {email}, "password": {ownerPassword}})
	if status != http.StatusOK || page.Find("h1").First().Text() == "Sign in" {
		t.Fatalf("%s can not sign in: %d %s", email, status, page.Find("main").Text())
	}
	return v
}

// request follows redirects.
func (v *visitor) request(method, path string, values url.Values) (int, *goquery.Document) {
	v.t.Helper()
	r, err := http.NewRequestWithContext(v.t.Context(), method, v.base+path, strings.NewReader(values.Encode()))
	if err != nil {
		v.t.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", v.base)
	}
	res, err := v.client.Do(r)
	if err != nil {
		v.t.Fatal(err)
	}
	defer func() { _ = res.Body.Close() }() // read to its end
	page, err := goquery.NewDocumentFromReader(res.Body)
	if err != nil {
		v.t.Fatal(err)
	}
	return res.StatusCode, page
}

// addresses are what a workshop's pages lead to: pages to read and addresses
// that forms are sent to, each with the id of a record in it.
type addresses struct{ pages, forms map[string]bool }

// explore follows the links of the visitor's pages.
func (v *visitor) explore() addresses {
	v.t.Helper()
	found := addresses{map[string]bool{}, map[string]bool{}}
	seen := map[string]bool{}
	todo := []string{"/today", "/plan", "/orders", "/batches", "/proposals", "/more"}
	for len(todo) > 0 {
		path := todo[0]
		todo = todo[1:]
		if seen[path] {
			continue
		}
		seen[path] = true
		status, page := v.request(http.MethodGet, path, nil)
		if status != http.StatusOK {
			v.t.Errorf("a link leads to %s, which answers %d", path, status)
		}
		if namesRecord(path) {
			found.pages[path] = true
		}
		for _, form := range page.Find("form[method=post]").EachIter() {
			if action := form.AttrOr("action", path); namesRecord(action) {
				found.forms[action] = true
			}
		}
		for _, link := range page.Find(`main a[href^="/"]`).EachIter() {
			href, _, _ := strings.Cut(strings.ReplaceAll(link.AttrOr("href", ""), "#", "?"), "?")
			todo = append(todo, href)
		}
	}
	return found
}

func namesRecord(path string) bool { return kindOfPage(path) != path }

// TestAnotherWorkshopsPagesAreNotThere has the owner of a second workshop try
// every address of the first.
func TestAnotherWorkshopsPagesAreNotThere(t *testing.T) {
	t.Parallel()
	db := newDatabase(t)
	s := start(t, "serve", "--database-url", db.OwnerURL)
	c, _ := busyWorkshop(t, s)
	fillPages(c)
	mustRun(t, ownerPassword+"\n", "workshop", "--database-url", db.OwnerURL,
		"--name", "Lee shore", "--zone", zoneName, "--owner", "Ivo", "--email", "ivo@lee.example")

	first, second := signedIn(t, s.base, ownerEmail), signedIn(t, s.base, "ivo@lee.example")
	theirs := first.explore()
	kinds := map[string]bool{}
	before := c.send(http.MethodGet, "/plan", nil).String() + c.send(http.MethodGet, "/journal?limit=200", nil).String()
	for path := range theirs.pages {
		kinds["GET "+kindOfPage(path)] = true
		if status, page := second.request(http.MethodGet, path, nil); status != http.StatusNotFound {
			t.Errorf("GET %s of the other workshop answers %d: %s", path, status, page.Find("h1").Text())
		}
	}
	for path := range theirs.forms {
		kinds["POST "+kindOfPage(path)] = true
		status, page := second.request(http.MethodPost, path, url.Values{"version": {"1"}, "name": {"Mine"}, "reason": {"Mine"}, "extent": {"all"}})
		if status != http.StatusNotFound {
			t.Errorf("POST %s of the other workshop answers %d: %s", path, status, page.Find("main").Text())
		}
	}
	if len(kinds) < 25 {
		t.Errorf("only %d kinds of address were tried: %v", len(kinds), slices.Sorted(maps.Keys(kinds)))
	}
	if after := c.send(http.MethodGet, "/plan", nil).String() + c.send(http.MethodGet, "/journal?limit=200", nil).String(); after != before {
		t.Errorf("the other owner changed something: before\n%s\nafter\n%s", before, after)
	}
	if status, _ := second.request(http.MethodGet, "/today", nil); status != http.StatusOK {
		t.Errorf("the second owner's own page answers %d", status)
	}
}

// fillPages makes one of everything that has a page of its own, and leaves
// proposals open.
func fillPages(c caller) {
	c.t.Helper()
	mold := listed[orders.Mold](c, "/molds?")[0].ID
	person := listed[orders.Person](c, "/people?")[0].ID
	design := listed[orders.Design](c, "/designs?")[0].ID
	far := today(c.t).AddDays(200)
	c.create("/closed-days", map[string]any{"from": far, "to": far, "reason": "Fair"})
	c.create("/extra-windows", map[string]any{"date": far.AddDays(1), "from": "09:00", "to": "12:00"})
	c.create("/mold-outs", map[string]any{"mold_id": mold, "from": far, "to": far, "units": 1, "reason": "Lent"})
	c.create("/reminder-rules", map[string]any{"person_id": person, "name": "Before a cut", "cron": "0 18 * * *", "kind": "cut", "lead_days": 1})
	c.create("/stock", map[string]any{"design_id": design, "pieces": 3})
	c.create("/tokens", map[string]any{"name": "A program", "scope": "read"})
	takeBest(c)
	b := listed[orders.Batch](c, "/batches?state=planned")[0]
	tell(c, b.ID, "pour", map[string]any{})
	takeBest(c)
	tell(c, b.ID, "fail", map[string]any{"reason": "It seized"})
	if open := got[orders.Page[orders.Proposal]](c, "/proposals").Items; len(open) == 0 {
		c.t.Error("no proposal is open")
	}
}
