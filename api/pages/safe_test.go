package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ripeline/orders"
)

func TestWhatPeopleTypeStaysText(t *testing.T) {
	t.Parallel()
	w, b, a, addresses := busyWorld(t)
	const attack = `"><script>alert(1)</script><img src=x onerror=alert(2)>`
	person, err := w.book.Person(t.Context(), a, a.PersonID)
	w.must(err)
	_, err = w.book.ChangePerson(t.Context(), a, a.PersonID, person.Version, orders.PersonInput{Name: attack, Email: person.Email, Role: orders.Owner})
	w.must(err)
	rename(t, b, addresses, attack)
	for _, path := range addresses {
		b.get(path)
		if n := b.page.Find(`script:not([src]), img`).Length(); n > 0 {
			t.Errorf("%s lets typed text become %d tags", path, n)
		}
		checkMarkup(t, path, b.page)
	}
	b.get("/promise?needed_by=" + url.QueryEscape(attack) + "&lines%5B0%5D.pieces=" + url.QueryEscape(attack))
	checkMarkup(t, "/promise", b.page)
	b.get("/designs")
	b.wants(http.StatusOK, ".list", "<script>alert(1)</script>")
}

// rename gives every named thing a name that tries to break out of the page.
func rename(t *testing.T, b *browser, addresses []string, name string) {
	t.Helper()
	renamed := 0
	for _, path := range addresses {
		if strings.HasSuffix(path, "/new") || strings.HasPrefix(path, "/people") || strings.HasPrefix(path, "/promise") {
			continue
		}
		b.get(path)
		for _, input := range []string{"name", "title"} {
			if b.page.Find(`form.sheet [name="version"]`).Length() > 0 && b.page.Find(`form.sheet input[name="`+input+`"]`).Length() > 0 &&
				b.page.Find(`form.sheet button`).Text() != "Make it" {
				b.submit("form.sheet", url.Values{input: {name}})
				renamed++
				break
			}
		}
	}
	if renamed < 6 {
		t.Fatalf("only %d things could be renamed", renamed)
	}
}

func TestLateChangeKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	g := w.furnish(a)
	b.get("/customers/" + g.customer.ID)
	other := newBrowser(w)
	other.signIn("ines@example.org")
	other.get("/customers/" + g.customer.ID)
	other.submit("form.sheet", url.Values{"phone": {"555 0101"}})
	b.submit("form.sheet", url.Values{"note": {"Rings twice"}})
	b.wants(http.StatusConflict, ".problems", "Someone changed this")
	if got := b.page.Find("textarea").Text(); got != "Rings twice" {
		t.Errorf("the note came back as %q", got)
	}
	b.submit("form.sheet", nil)
	b.wants(http.StatusOK, ".flash", "Saved")
}

func TestSecondTapDoesNothingMore(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	w.furnish(a)
	b.get("/racks/new")
	first := *b
	first.submit("form.sheet", url.Values{"name": {"Low rack"}, "shelves": {"2"}, "width_um": {"800"}, "depth_um": {"400"}})
	b.submit("form.sheet", url.Values{"name": {"Low rack"}, "shelves": {"2"}, "width_um": {"800"}, "depth_um": {"400"}})
	b.wants(http.StatusOK, "h1", "Racks")
	if n := strings.Count(b.text(".list"), "Low rack"); n != 1 {
		t.Errorf("two taps made %d racks", n)
	}
}

func TestFeedAddressIsShownOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	w.furnish(a)
	b.get("/calendars")
	b.submit("form.sheet", url.Values{"name": {"My phone"}})
	b.wants(http.StatusOK, ".qr path", "")
	address := b.page.Find("#address").AttrOr("value", "")
	path, ok := strings.CutPrefix(address, base)
	if !ok || !strings.HasPrefix(b.page.Find("#webcal").AttrOr("value", ""), "webcal://soap.example/") {
		t.Fatalf("the addresses are %q and %q", address, b.page.Find("#webcal").AttrOr("value", ""))
	}
	reader := newBrowser(w)
	if reader.get(path); reader.status != http.StatusOK || !strings.HasPrefix(reader.body, "BEGIN:VCALENDAR") {
		t.Fatalf("the feed answers %d: %.80s", reader.status, reader.body)
	}
	b.get("/calendars")
	if strings.Contains(b.body, path) {
		t.Error("the address is shown again")
	}
	b.submit(`form[action$="/rotate"]`, nil)
	b.wants(http.StatusOK, ".qr path", "")
	if reader.get(path); reader.status != http.StatusNotFound {
		t.Errorf("the old address answers %d after rotation", reader.status)
	}
}

func TestSignInFailsPlainlyAndLeadsBack(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	_, _ = w.owner()
	b := newBrowser(w)
	b.get("/orders")
	b.wants(http.StatusOK, "h1", "Sign in")
	b.submit("form", url.Values{"email": {"ines@example.org"}, "password": {"not it at all"}})
	b.wants(http.StatusUnprocessableEntity, ".problems", "wrong")
	b.submit("form", url.Values{"password": {password}})
	b.wants(http.StatusOK, "h1", "Orders")
	b.get("/more")
	b.submit(`form[action="/sign-out"]`, nil)
	b.get("/today")
	b.wants(http.StatusOK, "h1", "Sign in")

	for _, next := range []string{"//evil.example", "https://evil.example/", `/\evil.example`} {
		b.get("/sign-in?next=" + url.QueryEscape(next))
		if got := b.page.Find(`[name="next"]`).AttrOr("value", ""); got != "/today" {
			t.Errorf("signing in would lead from %q to %q", next, got)
		}
	}
	for range 6 {
		b.get("/sign-in")
		b.submit("form", url.Values{"email": {"ines@example.org"}, "password": {"not it at all"}})
	}
	b.wants(http.StatusTooManyRequests, ".problems", "quarter of an hour")
}

// TestNewPasswordSignsOutElsewhere changes a password on one device of two.
func TestNewPasswordSignsOutElsewhere(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	here, a := w.owner()
	there := newBrowser(w)
	there.signIn("ines@example.org")
	here.get("/people/" + a.PersonID)
	here.submit("form.sheet", url.Values{"name": {"Inês M."}})
	there.get("/today") // a new name signs nobody out
	there.wants(http.StatusOK, "h1", "Today")
	here.get("/people/" + a.PersonID)
	here.submit("form.sheet", url.Values{"password": {"four other plain words"}})
	here.get("/today")
	here.wants(http.StatusOK, "h1", "Today")
	there.get("/today")
	there.wants(http.StatusOK, "h1", "Sign in")
}

func TestErrorsAreInWords(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	b, a := w.owner()
	b.get("/no-such-page")
	b.wants(http.StatusNotFound, "h1", "This page is not here")
	b.get("/orders/01a21238-0000-7000-8000-000000000000")
	b.wants(http.StatusNotFound, "h1", "This page is not here")
	b.get("/molds/not-an-id")
	b.wants(http.StatusNotFound, "h1", "This page is not here")
	b.post("/molds/new", url.Values{"name": {strings.Repeat("x", 300<<10)}})
	b.wants(http.StatusRequestEntityTooLarge, "h1", "This is too large")
	viewer := w.colleague(a, orders.Viewer)
	viewer.get("/molds/new")
	viewer.wants(http.StatusForbidden, "h1", "Your role does not allow this")
	stranger := newBrowser(w)
	stranger.get("/no-such-page")
	stranger.wants(http.StatusNotFound, "h1", "This page is not here")
}

func TestDemoSaysSoAndCanBeRemoved(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	_, err := w.book.AddWorkshop(t.Context(), orders.Setup{
		Workshop: "Invented", Name: "Inês", Email: "ines@example.org", Password: password, Zone: "Europe/Lisbon", Demo: true,
	})
	w.must(err)
	b := newBrowser(w)
	b.signIn("ines@example.org")
	b.wants(http.StatusOK, ".demo", "This is the demo")
	if b.page.Find(".demo form").Length() > 0 {
		t.Error("one tap on any page removes the demo")
	}
	page, _, _ := strings.Cut(b.page.Find(".demo a").AttrOr("href", ""), "#")
	b.get(page)
	b.submit("#demo form", nil)
	b.wants(http.StatusOK, ".flash", "The demo is gone")
	if b.page.Find(".demo").Length() > 0 {
		t.Error("the page still speaks of the demo")
	}
}
