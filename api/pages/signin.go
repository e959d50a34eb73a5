package pages

import (
	"errors"
	"net/http"

	"ripeline/api"
	"ripeline/orders"
)

type signInView struct {
	formState
	Email, Password field
	Next            string
	Failed          string
}

// strangerForm is a form on a page that nobody signed in for.
func (s *site) strangerForm(w http.ResponseWriter, r *http.Request) *visit {
	return &visit{site: s, w: w, r: r, now: s.Now()}
}

func (s *site) showSignIn(w http.ResponseWriter, r *http.Request) {
	if v, ok := api.VisitorFrom(r.Context()); ok && v.Person.ID != "" {
		http.Redirect(w, r, "/today", http.StatusSeeOther)
		return
	}
	v := s.strangerForm(w, r)
	v.drawSignIn(http.StatusOK, v.blankForm(), localPath(r.URL.Query().Get("next"), "/today"), "")
}

func (v *visit) drawSignIn(status int, f *form, next, failed string) {
	view := signInView{
		Email:    f.input("email", "email", "E-mail", "").must().auto("username"),
		Password: f.input("password", "password", "Password", "").must().auto("current-password").valued(""),
		Next:     next, Failed: failed,
	}
	view.formState = f.state(0)
	v.showStranger(v.w, v.ctx(), status, "sign-in", "Sign in", view)
}

func (s *site) signIn(w http.ResponseWriter, r *http.Request) {
	v := s.strangerForm(w, r)
	f, err := v.sentForm()
	if err != nil {
		s.strangerFault(w, r, err)
		return
	}
	next := localPath(f.text("next"), "/today")
	person, _, err := s.Book.SignIn(v.ctx(), f.text("email"), f.values.Get("password"), api.ClientAddr(v.ctx()))
	switch {
	case errors.Is(err, orders.ErrSignIn):
		v.drawSignIn(http.StatusUnprocessableEntity, f, next,
			"The e-mail address or the password is wrong. Check both and try again. After five wrong passwords from one place you have to wait a quarter of an hour there.")
	case errors.Is(err, orders.ErrThrottled):
		v.drawSignIn(http.StatusTooManyRequests, f, next,
			"There were too many wrong passwords. Nobody was signed in. Wait a quarter of an hour, then try again.")
	case err != nil:
		s.strangerFault(w, r, err)
	default:
		v.enterAs(person, next)
	}
}

// enterAs begins the session of a person and goes on to a page.
func (v *visit) enterAs(p orders.Person, next string) {
	if err := v.beginSession(p); err != nil {
		v.strangerFault(v.w, v.r, err)
		return
	}
	http.Redirect(v.w, v.r, next, http.StatusSeeOther)
}

// beginSession makes the session that of a person with the password they have now.
// A new session token is taken, so that one planted before is worth nothing.
func (v *visit) beginSession(p orders.Person) error {
	if err := v.Sessions.RenewToken(v.ctx()); err != nil {
		return err
	}
	v.Sessions.Put(v.ctx(), api.SessionKey, p.ID)
	v.Sessions.Put(v.ctx(), api.SessionMark, p.SignInMark())
	return nil
}

func (s *site) signOut(w http.ResponseWriter, r *http.Request) {
	if err := s.Sessions.Destroy(r.Context()); err != nil {
		s.strangerFault(w, r, err)
		return
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
}
