package pages

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

type tokensView struct {
	rights
	formState
	Rows        []tokenRow
	Name, Scope field
	Days        field
	Docs        string
}

type tokenRow struct{ ID, Name, Scope, Who, Used, Ends string }

type tokenSecretView struct {
	rights
	Name, Secret string
}

func (v *visit) tokensPage() error {
	if !v.may(orders.Owner) {
		return orders.ErrForbidden
	}
	return v.drawTokens(v.blankForm())
}

func (v *visit) drawTokens(f *form) error {
	names, err := v.shelf()
	if err != nil {
		return err
	}
	tokens, err := all(func(q orders.ListQuery) (orders.Page[orders.APIToken], error) {
		return v.Book.Tokens(v.ctx(), v.actor, q)
	}, orders.ListQuery{})
	if err != nil {
		return err
	}
	view := tokensView{rights: v.rights(), Docs: v.BaseURL + "/api/v1/openapi.json"}
	for _, t := range tokens {
		row := tokenRow{ID: t.ID, Name: t.Name, Scope: "may read", Who: names.personName(t.PersonID), Used: "never used"}
		if t.Scope == "write" {
			row.Scope = "may read and change"
		}
		if !t.UsedAt.IsZero() {
			row.Used = "last used " + v.words.at(t.UsedAt)
		}
		switch {
		case t.Expired(v.now):
			row.Ends = "Ended on " + v.words.at(t.ExpiresAt) + "."
		case !t.ExpiresAt.IsZero():
			row.Ends = "Works until " + v.words.at(t.ExpiresAt) + "."
		}
		view.Rows = append(view.Rows, row)
	}
	view.Name = f.textInput("name", "Name", "").must().hint("Which program it is for.")
	view.Scope = f.selectInput("scope", "It may", "read", []option{{Value: "read", Label: "Read"}, {Value: "write", Label: "Read and change"}})
	view.Days = f.selectInput("days", "It works", "365", []option{
		{Value: "30", Label: "For 30 days"}, {Value: "365", Label: "For a year"}, {Value: "0", Label: "Until you end it"},
	})
	view.formState = f.state(0)
	return v.show(f.status(), "tokens", "Access for programs", view)
}

func (v *visit) addToken() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	in := orders.TokenInput{Name: f.text("name"), Scope: f.text("scope"), Days: f.whole("days", 0)}
	if !f.ok() {
		return v.drawTokens(f)
	}
	token, err := v.Book.AddToken(v.once(f), v.actor, in)
	if err != nil {
		if !f.takes(err) {
			return err
		}
		return v.drawTokens(f)
	}
	return v.show(http.StatusOK, "token-secret", "The token", tokenSecretView{rights: v.rights(), Name: token.Name, Secret: token.Secret})
}

func (v *visit) revokeToken() error {
	if _, err := v.sentForm(); err != nil {
		return err
	}
	if err := v.Book.RevokeToken(v.ctx(), v.actor, chi.URLParam(v.r, "id")); err != nil {
		return err
	}
	return v.seeOther("/tokens", "The token no longer works.")
}

type journalView struct {
	rights
	Events []eventView
	More   string
}

func (v *visit) journalPage() error {
	page, err := v.Book.Journal(v.ctx(), v.actor, orders.ListQuery{Limit: 100, Cursor: v.r.URL.Query().Get("after")})
	if err != nil {
		return err
	}
	view := journalView{rights: v.rights(), Events: v.eventViews(page.Items)}
	if page.Next != "" {
		view.More = "/journal?" + query("after", page.Next)
	}
	return v.show(http.StatusOK, "journal", "Journal", view)
}
