package pages

import (
	"errors"
	"net/http"

	"ripeline/orders"
)

type setupView struct {
	formState
	Token    string
	Workshop field
	Name     field
	Email    field
	Password field
	Zone     field
	Zones    choices
}

func (s *site) showSetup(w http.ResponseWriter, r *http.Request) {
	v := s.strangerForm(w, r)
	token := r.URL.Query().Get("token")
	if err := s.Book.CheckSetupToken(v.ctx(), token); err != nil {
		v.setupClosed(err)
		return
	}
	v.drawSetup(v.blankForm(), token)
}

// setupClosed tells why the link does not open first run.
func (v *visit) setupClosed(err error) {
	if !errors.Is(err, orders.ErrNotFound) && !errors.Is(err, orders.ErrSignIn) && !errors.Is(err, orders.ErrForbidden) {
		v.strangerFault(v.w, v.r, err)
		return
	}
	v.showStranger(v.w, v.ctx(), http.StatusNotFound, "fault", "This set-up link does not work", faultView{
		Title: "This set-up link does not work",
		Text:  "It was used already, or a newer one was printed. Sign in if the workshop is set up; else start the service again and open the link that it prints.",
		Back:  "/sign-in", Way: "Sign in",
	})
}

func (v *visit) drawSetup(f *form, token string) {
	view := setupView{
		Token:    token,
		Workshop: f.textInput("workshop", "Name of the workshop", "").must().auto("organization"),
		Name:     f.textInput("name", "Your name", "").must().auto("name"),
		Email:    f.input("email", "email", "Your e-mail address", "").must().auto("username").hint("You sign in with it, and reminders go there."),
		Password: f.input("password", "password", "A password", "").must().auto("new-password").valued("").hint("At least 10 characters. Three or four words do well."),
		Zone:     f.textInput("zone", "Time zone", "").must().list("zones").hint("The nearest large city, such as Europe/Lisbon."),
		Zones:    choices{"zones", v.assets.Zones},
	}
	view.formState = f.state(0)
	v.showStranger(v.w, v.ctx(), f.status(), "setup", "Set up your workshop", view)
}

func (s *site) firstRun(w http.ResponseWriter, r *http.Request) {
	v := s.strangerForm(w, r)
	f, err := v.sentForm()
	if err != nil {
		s.strangerFault(w, r, err)
		return
	}
	token := f.text("token")
	actor, err := s.Book.FirstRun(v.ctx(), token, orders.Setup{
		Workshop: f.text("workshop"), Name: f.text("name"), Email: f.text("email"),
		Password: f.values.Get("password"), Zone: f.text("zone"),
	})
	var owner orders.Person
	if err == nil {
		owner, err = s.Book.Person(v.ctx(), actor, actor.PersonID)
	}
	switch {
	case err == nil:
		v.enterAs(owner, "/start")
	case f.takes(err):
		v.drawSetup(f, token)
	default:
		v.setupClosed(err)
	}
}

// startView is the three steps that make a workshop able to plan.
type startView struct {
	rights
	Steps []startStep
	Done  bool
}

type startStep struct {
	Title, Text, Href, Link string
	Done                    bool
}

func (v *visit) start() error {
	steps, err := v.startSteps()
	if err != nil {
		return err
	}
	view := startView{rights: v.rights(), Steps: steps, Done: true}
	for _, s := range steps {
		view.Done = view.Done && s.Done
	}
	return v.show(http.StatusOK, "start", "First steps", view)
}

func (v *visit) startSteps() ([]startStep, error) {
	s, err := v.shelf()
	if err != nil {
		return nil, err
	}
	racks, err := every(v, v.Book.Racks)
	if err != nil {
		return nil, err
	}
	places := startStep{
		Title: "Molds and a rack", Href: "/molds/new", Link: "Add a mold", Done: len(s.molds) > 0 && len(racks) > 0,
		Text: "Measure one mold inside, then the shelf where soap cures. The plan never pours more than fits.",
	}
	if len(s.molds) > 0 && !places.Done {
		places.Href, places.Link = "/racks/new", "Add a rack"
	}
	hours := startStep{
		Title: "Your hours", Href: "/hours", Link: "Look at the hours", Done: len(v.shop.Hours) > 0,
		Text: "The evenings and days on which you work. Soap is only poured when an hour to cut it follows in time.",
	}
	design := startStep{
		Title: "Your first design", Href: "/designs/new", Link: "Add a design", Done: len(s.designs) > 0,
		Text: "What a customer orders: a recipe with its cut, its colours and its looks.",
	}
	if len(s.recipes) == 0 {
		design.Href, design.Link = "/recipes/new", "Write a recipe first"
	}
	return []startStep{places, hours, design}, nil
}

// seeNext is seeOther that, while first steps are missing, leads on to the next
// one, so that nobody has to find the way back to the list of them.
func (v *visit) seeNext(path, said string) error {
	v.named = nil // what was just saved counts
	missing, err := v.missingSteps()
	if err != nil {
		return err
	}
	f := flash{Text: said}
	switch {
	case len(missing) > 0:
		f.Href, f.Link = missing[0].Href, "Next: "+missing[0].Link
	case path == "/designs" && len(v.named.designs) == 1:
		f.Href, f.Link = "/promise", "Next: ask what you can promise"
	}
	v.say(f)
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}
