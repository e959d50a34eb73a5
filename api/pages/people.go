package pages

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

type peopleView struct {
	rights
	Rows []recordRow
}

func (v *visit) peoplePage() error {
	people, err := all(func(q orders.ListQuery) (orders.Page[orders.Person], error) {
		return v.Book.People(v.ctx(), v.actor, q)
	}, orders.ListQuery{All: true})
	if err != nil {
		return err
	}
	view := peopleView{rights: v.rights()}
	for _, p := range people {
		row := recordRow{Title: p.Name, Badge: string(p.Role), Lines: []string{p.Email}, Faint: p.Retired}
		if v.may(orders.Owner) || p.ID == v.person.ID {
			row.Href = "/people/" + p.ID
		}
		if p.Retired {
			row.Badge = "can not sign in any more"
		}
		view.Rows = append(view.Rows, row)
	}
	return v.show(http.StatusOK, "people", "People", view)
}

type personView struct {
	rights
	formState
	Title  string
	Action string
	Fresh  bool
	Groups []fieldGroup
}

func (v *visit) newPersonPage() error {
	if !v.may(orders.Owner) {
		return orders.ErrForbidden
	}
	return v.drawPerson(v.blankForm(), orders.Person{Role: orders.Helper})
}

func (v *visit) personPage() error {
	id := chi.URLParam(v.r, "id")
	if !v.may(orders.Owner) && id != v.person.ID {
		return orders.ErrForbidden
	}
	p, err := v.Book.Person(v.ctx(), v.actor, id)
	if err != nil {
		return err
	}
	return v.drawPerson(v.blankForm(), p)
}

func (v *visit) drawPerson(f *form, p orders.Person) error {
	view := personView{rights: v.rights(), Title: p.Name, Action: "/people/" + p.ID}
	password := f.input("password", "password", "New password", "").auto("new-password").valued("").hint("Empty keeps the one there is. At least 10 characters. A new one signs out every other device.")
	if p.ID == "" {
		view.Title, view.Action, view.Fresh = "New person", "/people/new", true
		password = password.must().hint("At least 10 characters. Tell it to them yourself; they can change it.")
	}
	basics := []field{
		f.textInput("name", "Name", p.Name).must(),
		f.input("email", "email", "E-mail", p.Email).must().hint("They sign in with it, and reminders go there."),
		password,
	}
	if v.may(orders.Owner) {
		basics = append(basics, f.selectInput("role", "Role", string(p.Role), []option{
			{Value: "owner", Label: "Owner: does everything"},
			{Value: "helper", Label: "Helper: records pours, cuts, wraps, losses and hand-overs"},
			{Value: "viewer", Label: "Viewer: looks only"},
		}), f.tickInput("retired", "Can not sign in any more", p.Retired))
	}
	view.Groups = []fieldGroup{
		{Fields: basics},
		{Title: "Reminders", Hint: "One mail a day with what there is to do. Empty for none.", Fields: []field{
			f.minuteInput("digest_at", "In the evening, for tomorrow", p.DigestAt),
			f.minuteInput("digest_today_at", "In the morning, for today", p.DigestToday),
			f.minuteInput("quiet_from", "No mails about changes from", p.QuietFrom),
			f.minuteInput("quiet_to", "until", p.QuietTo),
		}},
	}
	if view.Fresh {
		view.Groups = withoutRetired(view.Groups)
	}
	view.formState = f.state(p.Version)
	return v.show(f.status(), "person", view.Title, view)
}

func (v *visit) readPerson(f *form, before orders.Person) orders.PersonInput {
	in := orders.PersonInput{
		Name: f.text("name"), Email: f.text("email"), Password: f.values.Get("password"), Role: before.Role, Retired: before.Retired,
		DigestAt: f.minuteOrNone("digest_at"), DigestToday: f.minuteOrNone("digest_today_at"),
		QuietFrom: f.minuteOrNone("quiet_from"), QuietTo: f.minuteOrNone("quiet_to"),
	}
	if v.may(orders.Owner) {
		in.Role, in.Retired = orders.Role(f.text("role")), f.ticked("retired")
	}
	return in
}

func (v *visit) addPerson() error {
	return v.savePerson(orders.Person{Role: orders.Helper}, func(_ *form, in orders.PersonInput) (orders.Person, error) {
		return v.Book.AddPerson(v.ctx(), v.actor, in)
	})
}

func (v *visit) changePerson() error {
	p, err := v.Book.Person(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	return v.savePerson(p, func(f *form, in orders.PersonInput) (orders.Person, error) {
		return v.Book.ChangePerson(v.ctx(), v.actor, p.ID, f.version(), in)
	})
}

func (v *visit) savePerson(before orders.Person, write func(*form, orders.PersonInput) (orders.Person, error)) error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	in := v.readPerson(f, before)
	if f.ok() {
		p, err := write(f, in)
		if err == nil && p.ID == v.person.ID && in.Password != "" {
			err = v.beginSession(p) // the others end with the password they were begun with
		}
		if err == nil {
			return v.seeOther("/people", "Saved: "+p.Name+".")
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.drawPerson(f, before)
}
