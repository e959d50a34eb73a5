package remind

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"ripeline/orders"
)

// ask sends a request to the unsubscribe address.
func ask(s *Service, method, address, body string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, strings.TrimPrefix(address, baseURL), strings.NewReader(body))
	if body != "" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	w := httptest.NewRecorder()
	s.Unsubscriber().ServeHTTP(w, r)
	return w
}

// stopAddress is the address in a mail of this kind to the owner.
func (s *stage) stopAddress(r *Service, kind string) string {
	s.t.Helper()
	address, err := r.unsubscribeURL(s.t.Context(), s.owner.ID, kind)
	must(s.t, err)
	return address
}

func TestOneClick(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	s.setOwner(func(p *orders.Person) { p.DigestToday = minute("07:00") })
	r := s.service(&outbox{})
	address := s.stopAddress(r, kindDigest)

	w := ask(r, http.MethodGet, address, "")
	page, err := goquery.NewDocumentFromReader(w.Body)
	must(t, err)
	if action := page.Find("form[method=post]").AttrOr("action", ""); w.Code != http.StatusOK || baseURL+action != address {
		t.Fatalf("%d, form to %q, want %q", w.Code, action, address)
	}
	if p := s.person(); p.DigestAt == nil {
		t.Fatal("only looking at the page ended it")
	}
	for range 2 { // a provider may repeat it
		w = ask(r, http.MethodPost, address, "List-Unsubscribe=One-Click")
		if w.Code != http.StatusOK || w.Header().Get("Location") != "" || len(w.Result().Cookies()) != 0 {
			t.Fatalf("%d %v", w.Code, w.Header())
		}
	}
	if p := s.person(); p.DigestAt != nil || p.DigestToday == nil {
		t.Errorf("left with %v and %v", p.DigestAt, p.DigestToday)
	}
	if entries := s.journal(); len(entries) != 1 || entries[0].Text != "Unsubscribed from the daily digest of tomorrow" {
		t.Errorf("journal %+v", entries)
	}
}

func TestUnsubscribeByKind(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	rule := orders.ReminderRule{PersonID: s.owner.ID, Name: "Before a cut", Cron: "0 18 * * *", Kind: orders.TaskCut, LeadDays: 1}
	s.change(func(ctx context.Context, tx orders.Tx) error { return tx.Rules().Insert(ctx, &rule) })
	r := s.service(&outbox{})
	for kind, left := range map[string][2]bool{ // evening, morning
		kindToday: {true, false}, kindChange: {false, false}, kindRule + rule.ID: {true, true},
	} {
		s.setOwner(func(p *orders.Person) { p.DigestAt, p.DigestToday = minute("18:00"), minute("07:00") })
		if w := ask(r, http.MethodPost, s.stopAddress(r, kind), ""); w.Code != http.StatusOK {
			t.Errorf("%s: %d", kind, w.Code)
		}
		if p := s.person(); (p.DigestAt != nil) != left[0] || (p.DigestToday != nil) != left[1] {
			t.Errorf("%s: left with %v and %v", kind, p.DigestAt, p.DigestToday)
		}
	}
	s.change(func(ctx context.Context, tx orders.Tx) error {
		got, err := tx.Rules().Get(ctx, rule.ID)
		if !got.Off {
			t.Errorf("the rule is still on: %+v", got)
		}
		return err
	})
}

func TestForgedUnsubscribe(t *testing.T) {
	t.Parallel()
	s := newStage(t, "Europe/Lisbon")
	r := s.service(&outbox{})
	u, err := url.Parse(s.stopAddress(r, kindDigest))
	must(t, err)
	good := u.Query()
	for name, forge := range map[string]func(url.Values){
		"no signature":     func(q url.Values) { q.Del("sig") },
		"other signature":  func(q url.Values) { q.Set("sig", strings.Repeat("A", len(q.Get("sig")))) },
		"other kind":       func(q url.Values) { q.Set("kind", kindToday) },
		"other person":     func(q url.Values) { q.Set("person", "01a21239-0000-7000-8000-000000000000") },
		"shifted boundary": func(q url.Values) { q.Set("person", q.Get("person")+"\n"+q.Get("kind")); q.Set("kind", "") },
	} {
		q, err := url.ParseQuery(good.Encode())
		must(t, err)
		forge(q)
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			if w := ask(r, method, UnsubscribePath+"?"+q.Encode(), ""); w.Code != http.StatusNotFound {
				t.Errorf("%s: %s gave %d", name, method, w.Code)
			}
		}
	}
	if p := s.person(); p.DigestAt == nil {
		t.Error("a forged address ended the digest")
	}
	if w := ask(r, http.MethodPut, u.String(), ""); w.Code != http.StatusMethodNotAllowed || w.Header().Get("Allow") == "" {
		t.Errorf("PUT: %d", w.Code)
	}
	// Another replica, started later, knows the addresses.
	if _, err := s.service(&outbox{}).VerifyUnsubscribe(t.Context(), good); err != nil {
		t.Error(err)
	}
}

func (s *stage) person() orders.Person {
	s.t.Helper()
	var p orders.Person
	s.change(func(ctx context.Context, tx orders.Tx) error {
		var err error
		p, err = tx.People().Get(ctx, s.owner.ID)
		return err
	})
	return p
}

func (s *stage) journal() []orders.JournalEntry {
	s.t.Helper()
	var page orders.Page[orders.JournalEntry]
	s.change(func(ctx context.Context, tx orders.Tx) error {
		var err error
		page, err = tx.Journal(ctx, orders.ListQuery{})
		return err
	})
	return page.Items
}
