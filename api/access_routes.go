package api

import (
	"context"
	"net/http"

	"ripeline/orders"
)

// setupRequest is first run: the one-time token, and the first workshop.
type setupRequest struct {
	Token string `json:"token"` // of the link printed at start
	orders.Setup
}

// setupAnswer is the new workshop and a token to go on with.
type setupAnswer struct {
	Workshop orders.Workshop `json:"workshop"`
	Token    orders.NewToken `json:"token"`
}

// signInRequest asks for a token by password.
type signInRequest struct {
	Email    string `json:"email"`
	Password string `json:"password"`
	Name     string `json:"name,omitempty"` // what to call the token; "sign-in" when empty
}

// whoami is who the caller is.
type whoami struct {
	PersonID   string      `json:"person_id"`
	Name       string      `json:"name"`
	Role       orders.Role `json:"role"`
	ReadOnly   bool        `json:"read_only"`
	WorkshopID string      `json:"workshop_id"`
}

// signInDays is how long a token got by signing in works.
const signInDays = 30

// access adds first run, signing in, and API tokens.
func (s *server) access() {
	add(s, route{
		method: http.MethodPost, path: "/setup", id: "setup", tag: tagAccess, summary: "Make the first workshop and its owner",
		doc: "Uses up the one-time token of the link that is printed at start. The answer holds a write token, shown this once.", access: public, status: http.StatusCreated,
	}, s.setUp)
	add(s, route{
		method: http.MethodPost, path: "/sign-in", id: "sign-in", tag: tagAccess, summary: "Get a token by e-mail address and password",
		doc: "It works for 30 days. To sign out before, revoke the token by its id.", access: public, status: http.StatusCreated,
	}, s.signIn)
	add(s, route{method: http.MethodGet, path: "/me", id: "who-am-i", tag: tagAccess, summary: "Say who the caller is"},
		func(_ context.Context, a orders.Actor, _ *nothing) (*told[whoami], error) {
			return &told[whoami]{whoami{a.PersonID, a.Name, a.Role, a.ReadOnly, a.WorkshopID}}, nil
		})
	add(s, route{method: http.MethodGet, path: "/tokens", id: "list-tokens", tag: tagAccess, summary: "List API tokens"},
		func(ctx context.Context, a orders.Actor, in *tokenList) (*listed[orders.APIToken], error) {
			page, err := s.cfg.Book.Tokens(ctx, a, in.query())
			return listing(in, page, err)
		})
	add(s, route{
		method: http.MethodPost, path: "/tokens", id: "create-token", tag: tagAccess, summary: "Make an API token",
		doc: "It acts as its maker, for as many days as are asked for or until it is revoked. The secret is shown this once.", access: writes, status: http.StatusCreated, keyed: true,
	},
		func(ctx context.Context, a orders.Actor, in *making[orders.TokenInput]) (*made[orders.NewToken], error) {
			t, err := s.cfg.Book.AddToken(ctx, a, in.Body.Value)
			return created(t, t.Version, "/tokens", t.ID, err)
		})
	add(s, route{method: http.MethodDelete, path: "/tokens/{id}", id: "revoke-token", tag: tagAccess, summary: "Revoke an API token", access: writes},
		func(ctx context.Context, a orders.Actor, in *byID) (*done, error) {
			return &done{}, s.cfg.Book.RevokeToken(ctx, a, in.ID)
		})
}

func (s *server) setUp(ctx context.Context, _ orders.Actor, in *making[setupRequest]) (*made[setupAnswer], error) {
	actor, err := s.cfg.Book.FirstRun(ctx, in.Body.Value.Token, in.Body.Value.Setup)
	if err != nil {
		return nil, err
	}
	token, err := s.cfg.Book.AddToken(ctx, actor, orders.TokenInput{Name: "first run", Scope: orders.ScopeWrite})
	if err != nil {
		return nil, err
	}
	w, err := s.cfg.Book.Workshop(ctx, actor)
	if err != nil {
		return nil, err
	}
	return &made[setupAnswer]{ETag: etag(w.Version), Location: prefix + "/workshop", Body: setupAnswer{w, token}}, nil
}

func (s *server) signIn(ctx context.Context, _ orders.Actor, in *making[signInRequest]) (*made[orders.NewToken], error) {
	asked := in.Body.Value
	_, actor, err := s.cfg.Book.SignIn(ctx, asked.Email, asked.Password, ClientAddr(ctx))
	if err != nil {
		return nil, err
	}
	name := asked.Name
	if name == "" {
		name = "sign-in"
	}
	t, err := s.cfg.Book.AddToken(ctx, actor, orders.TokenInput{Name: name, Scope: orders.ScopeWrite, Days: signInDays})
	return created(t, t.Version, "/tokens", t.ID, err)
}
