package api

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"

	"ripeline/orders"
)

const password = "salt and lavender"

func TestFirstRun(t *testing.T) {
	t.Parallel()
	book := newBook(t, plainConfig().Now)
	cfg := plainConfig()
	cfg.Book = book
	s := &shop{t: t, h: mustNew(t, cfg), book: book}
	token, err := book.NewSetupToken(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	body := map[string]any{"token": token, "workshop": "Tidepool", "name": "Mara", "email": "mara@pools.example", "password": password, "zone": "Europe/Lisbon"}
	bad := map[string]any{"token": "guessed", "workshop": "Tidepool", "name": "Mara", "email": "mara@pools.example", "password": password, "zone": "Europe/Lisbon"}
	refused(t, s.sendAs("", http.MethodPost, "/setup", bad), http.StatusNotFound)
	made := want[setupAnswer](t, s.sendAs("", http.MethodPost, "/setup", body), http.StatusCreated)
	if made.Workshop.Name != "Tidepool" || made.Token.Scope != orders.ScopeWrite {
		t.Errorf("made %+v", made)
	}
	s.token = made.Token.Secret
	me := want[whoami](t, s.send(http.MethodGet, "/me", nil), http.StatusOK)
	if me.Role != orders.Owner || me.ReadOnly || me.WorkshopID != made.Workshop.ID || me.Name != "Mara" {
		t.Errorf("the token is %+v", me)
	}
	refused(t, s.sendAs("", http.MethodPost, "/setup", body), http.StatusNotFound) // it works once
}

func TestSignInAndOut(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	made := want[orders.NewToken](t, s.sendAs("", http.MethodPost, "/sign-in", map[string]any{"email": "tide@pools.example", "password": password}), http.StatusCreated)
	want[whoami](t, s.sendAs(made.Secret, http.MethodGet, "/me", nil), http.StatusOK)
	if got := s.sendAs(made.Secret, http.MethodDelete, "/tokens/"+made.ID, nil); got.StatusCode != http.StatusNoContent {
		t.Fatalf("revoking gives %d %s", got.StatusCode, got.body)
	}
	res := s.sendAs(made.Secret, http.MethodGet, "/me", nil)
	refused(t, res, http.StatusUnauthorized)
	if !strings.HasPrefix(res.Header.Get("WWW-Authenticate"), "Bearer") {
		t.Errorf("WWW-Authenticate is %q", res.Header.Get("WWW-Authenticate"))
	}
}

func TestGuessingIsSlowedDown(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	for range 5 {
		refused(t, s.sendAs("", http.MethodPost, "/sign-in", map[string]any{"email": "tide@pools.example", "password": "guess"}), http.StatusUnauthorized)
	}
	res := s.sendAs("", http.MethodPost, "/sign-in", map[string]any{"email": "tide@pools.example", "password": password})
	refused(t, res, http.StatusTooManyRequests)
	if res.Header.Get("Retry-After") != "900" {
		t.Errorf("Retry-After is %q", res.Header.Get("Retry-After"))
	}
}

func TestRolesBind(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	s.make("/people", map[string]any{"name": "Ilo", "email": "ilo@pools.example", "role": "viewer", "password": password})
	ilo := want[orders.NewToken](t, s.sendAs("", http.MethodPost, "/sign-in", map[string]any{"email": "ilo@pools.example", "password": password}), http.StatusCreated)
	want[orders.Page[orders.Mold]](t, s.sendAs(ilo.Secret, http.MethodGet, "/molds", nil), http.StatusOK)
	if p := refused(t, s.sendAs(ilo.Secret, http.MethodPost, "/molds", loaf("x")), http.StatusForbidden); !strings.Contains(p.Detail, "owner") {
		t.Errorf("says %q", p.Detail)
	}
}

// withSession is a request's answer when a person's web session comes along.
func withSession(t *testing.T, sessions *scs.SessionManager, h http.Handler, person orders.Person, method, path, body string, headers ...string) *http.Response {
	t.Helper()
	ctx, err := sessions.Load(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	sessions.Put(ctx, SessionKey, person.ID)
	sessions.Put(ctx, SessionMark, person.SignInMark())
	token, _, err := sessions.Commit(ctx)
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequestWithContext(t.Context(), method, path, strings.NewReader(body))
	r.AddCookie(&http.Cookie{Name: sessions.Cookie.Name, Value: token})
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func TestWebSession(t *testing.T) {
	t.Parallel()
	sessions := scs.New()
	var seen Visitor
	s := openShop(t, func(c *Config) {
		c.Sessions = sessions
		c.Pages = http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { seen, _ = VisitorFrom(r.Context()) })
	})
	withSession(t, sessions, s.h, s.person(), http.MethodGet, "/today", "")
	if seen.Person.Name != "Mara" || seen.Actor.WorkshopID != s.owner.WorkshopID {
		t.Errorf("a page sees %+v", seen)
	}
	withSession(t, sessions, s.h, orders.Person{Meta: orders.Meta{ID: "019392aa-0000-7000-8000-000000000000"}}, http.MethodGet, "/today", "")
	if seen != (Visitor{}) {
		t.Errorf("a page sees %+v of a person who is gone", seen)
	}
	old := s.person()
	old.PasswordHash = "of the password before"
	withSession(t, sessions, s.h, old, http.MethodGet, "/today", "")
	if seen != (Visitor{}) {
		t.Errorf("a page sees %+v of a session begun with another password", seen)
	}
	if res := withSession(t, sessions, s.h, s.person(), http.MethodGet, "/api/v1/me", ""); res.StatusCode != http.StatusOK {
		t.Errorf("/me answers %d to a session", res.StatusCode)
	}
	forged := withSession(t, sessions, s.h, s.person(), http.MethodPost, "/api/v1/racks", `{}`, "Sec-Fetch-Site", "cross-site")
	problemIn(t, forged, http.StatusForbidden)
	both := withSession(t, sessions, s.h, s.person(), http.MethodGet, "/api/v1/me", "", "Authorization", "Bearer wrong")
	problemIn(t, both, http.StatusUnauthorized) // a bad token is not made good by a session
}

// TestTokensEndByThemselves makes tokens that work for a time, up to as many as a
// workshop may have.
func TestTokensEndByThemselves(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	made := want[orders.NewToken](t, s.send(http.MethodPost, "/tokens", map[string]any{"name": "till", "scope": "read", "days": 2}), http.StatusCreated)
	if !made.ExpiresAt.Equal(s.now.Add(48 * time.Hour).Truncate(time.Second)) {
		t.Errorf("it works until %s, made %s", made.ExpiresAt, s.now)
	}
	refused(t, s.send(http.MethodPost, "/tokens", map[string]any{"name": "till", "scope": "read", "days": -1}), http.StatusUnprocessableEntity)
	entry := want[orders.NewToken](t, s.sendAs("", http.MethodPost, "/sign-in", map[string]any{"email": "tide@pools.example", "password": password}), http.StatusCreated)
	if entry.ExpiresAt.IsZero() {
		t.Error("a token got by signing in works for ever")
	}
	working := 4 // two of the shop's, and these
	for ; working < 100; working++ {
		if _, err := s.book.AddToken(t.Context(), s.owner, orders.TokenInput{Name: "more", Scope: "read", Days: 1}); err != nil {
			t.Fatalf("token %d: %v", working+1, err)
		}
	}
	refused(t, s.send(http.MethodPost, "/tokens", map[string]any{"name": "one more", "scope": "read"}), http.StatusConflict)
	want[whoami](t, s.sendAs(made.Secret, http.MethodGet, "/me", nil), http.StatusOK)
	*s.now = s.now.Add(48 * time.Hour)
	refused(t, s.sendAs(made.Secret, http.MethodGet, "/me", nil), http.StatusUnauthorized)
	want[orders.NewToken](t, s.send(http.MethodPost, "/tokens", map[string]any{"name": "one more", "scope": "read"}), http.StatusCreated)
	left := want[orders.Page[orders.APIToken]](t, s.send(http.MethodGet, "/tokens", nil), http.StatusOK)
	if len(left.Items) != 4 {
		t.Errorf("%d tokens are left, want those that work", len(left.Items))
	}
}

func TestFeedsKnowNoSession(t *testing.T) {
	t.Parallel()
	sessions := scs.New()
	s := openShop(t, func(c *Config) { c.Sessions = sessions })
	res := withSession(t, sessions, s.h, s.person(), http.MethodGet, "/feeds/unknown/plan.ics", "")
	problemIn(t, res, http.StatusNotFound)
	if res.Header.Get("Set-Cookie") != "" || strings.Contains(strings.Join(res.Header.Values("Vary"), ","), "Cookie") {
		t.Errorf("headers are %v", res.Header)
	}
}

// lostStore is a session store whose database can not be reached.
type lostStore struct{}

func (lostStore) Delete(string) error                    { return errDown }
func (lostStore) Find(string) ([]byte, bool, error)      { return nil, false, errDown }
func (lostStore) Commit(string, []byte, time.Time) error { return errDown }

func TestSessionWithoutDatabase(t *testing.T) {
	cfg := plainConfig()
	cfg.Sessions = scs.New()
	cfg.Sessions.Store = lostStore{}
	cfg.Pages = http.HandlerFunc(func(http.ResponseWriter, *http.Request) { t.Error("a page was shown") })
	res := ask(t, mustNew(t, cfg), http.MethodGet, "/today", "", "Cookie", "session=abc")
	if p := problemIn(t, res, http.StatusServiceUnavailable); strings.Contains(p.Detail, "dial") {
		t.Errorf("tells %q", p.Detail)
	}
}
