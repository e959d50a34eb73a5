package pages

import (
	"cmp"
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

// recordKind is the pages of one plain kind of record: a list, a form for a
// new one, a form to change one, a way to remove one. What differs between kinds is
// data and a few functions.
type recordKind[T any] struct {
	path    string // of the list, such as "/molds"
	home    string // page that lists them among other things; "" for path
	one     string // "mold"
	many    string // heading of the list, "Molds"
	intro   string // what it is for, above the list
	empty   string // what to do while the list is empty
	records func(*orders.Book) orders.Records[T]
	meta    func(*T) *orders.Meta
	blank   func(*visit) T
	rows    func(*visit, []T) error // reads what the rows of a list need beside the shelf; nil for nothing
	row     func(*visit, *shelf, T) recordRow
	fields  func(*form, *shelf, T) []fieldGroup
	read    func(*form, *shelf, *T)
	aside   func(*visit, *shelf, T) aside    // nil for none
	start   func(*visit) (*startFrom, error) // what a new one can be started from; nil for nothing
	also    func(*visit, T) (*noteCard, error)
	keep    string // hint on removing, such as how to retire it instead
}

// recordRow is one line of a list.
type recordRow struct {
	Href  string
	Title string
	Lines []string
	Badge string
	Faint bool
}

// fieldGroup is inputs that belong together; a repeated group has one row of
// inputs per element.
type fieldGroup struct {
	ID      string
	Title   string
	Hint    string
	Fields  []field
	Rows    [][]field
	Err     string
	Fold    bool   // folded away until it is wanted
	Summary string // what a folded group holds
}

// Open reports whether a folded group has something to look at.
func (g fieldGroup) Open() bool {
	wrong := func(in field) bool { return in.Err != "" }
	return g.Err != "" || slices.ContainsFunc(g.Fields, wrong) ||
		slices.ContainsFunc(g.Rows, func(row []field) bool { return slices.ContainsFunc(row, wrong) })
}

type recordsView struct {
	rights
	Title, Intro, Empty string
	New                 string // address of the form for a new one, "" when not allowed
	One                 string
	Rows                []recordRow
	More                string // address of the next page
}

type recordView struct {
	rights
	formState
	Title  string
	Intro  string
	Action string
	List   string
	Remove string // address, "" for a new record
	Keep   string
	Fresh  bool
	Start  *startFrom
	Groups []fieldGroup
	Aside  aside
	Also   *noteCard
}

// aside is what follows from a record as it is stored.
type aside struct {
	Title  string
	Lines  []string
	Warn   []string
	Tables []figures
	Cuts   []cutPicture
	Links  []link
}

// figures is a table of what was worked out.
type figures struct {
	Title string
	Rows  []figure
}

// figure is one value with its name and, smaller, where it comes from.
type figure struct{ Name, Note, Value string }

type link struct{ Href, Text string }

// choices is a datalist.
type choices struct {
	ID     string
	Values []string
}

// routes adds the kind's pages to r.
func (k recordKind[T]) routes(s *site, r chi.Router) {
	r.Get(k.path, s.signedIn(k.list))
	r.Get(k.path+"/new", s.signedIn(k.showNew))
	r.Post(k.path+"/new", s.signedIn(k.create))
	r.Get(k.path+"/{id}", s.signedIn(k.show))
	r.Post(k.path+"/{id}", s.signedIn(k.change))
	r.Post(k.path+"/{id}/remove", s.signedIn(k.remove))
}

func (k recordKind[T]) list(v *visit) error {
	q := orders.ListQuery{Cursor: v.r.URL.Query().Get("after"), Limit: 100, All: true}
	page, err := k.records(v.Book).List(v.ctx(), v.actor, q)
	if err != nil {
		return err
	}
	refs, err := v.shelf()
	if err != nil {
		return err
	}
	if k.rows != nil {
		if err := k.rows(v, page.Items); err != nil {
			return err
		}
	}
	view := recordsView{rights: v.rights(), Title: k.many, Intro: k.intro, Empty: k.empty, One: k.one}
	for _, rec := range page.Items {
		row := k.row(v, refs, rec)
		row.Href = k.path + "/" + k.meta(&rec).ID
		view.Rows = append(view.Rows, row)
	}
	if v.may(orders.Owner) {
		view.New = k.path + "/new"
	}
	if page.Next != "" {
		view.More = k.path + "?" + query("after", page.Next)
	}
	return v.show(http.StatusOK, "records", k.many, view)
}

func (k recordKind[T]) showNew(v *visit) error {
	if !v.may(orders.Owner) {
		return orders.ErrForbidden
	}
	return k.draw(v, v.blankForm(), k.blank(v))
}

func (k recordKind[T]) show(v *visit) error {
	rec, err := k.records(v.Book).Get(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	return k.draw(v, v.blankForm(), rec)
}

// draw shows the form with what is stored or, once sent, with what was typed.
func (k recordKind[T]) draw(v *visit, f *form, rec T) error {
	refs, err := v.shelf()
	if err != nil {
		return err
	}
	meta := k.meta(&rec)
	view := recordView{
		rights: v.rights(), Title: "New " + k.one, Action: k.path + "/new", List: cmp.Or(k.home, k.path), Fresh: true, Keep: k.keep,
	}
	if meta.ID != "" {
		view.Title, view.Fresh = k.row(v, refs, rec).Title, false
		view.Action = k.path + "/" + meta.ID
		view.Remove = view.Action + "/remove"
		if k.aside != nil {
			view.Aside = k.aside(v, refs, rec)
		}
		if k.also != nil {
			if view.Also, err = k.also(v, rec); err != nil {
				return err
			}
		}
	}
	if view.Fresh && k.start != nil {
		if view.Start, err = k.start(v); err != nil {
			return err
		}
	}
	view.Groups = k.fields(f, refs, rec)
	if view.Fresh {
		view.Groups = withoutRetired(view.Groups)
	}
	view.formState = f.state(meta.Version)
	return v.show(f.status(), "record", view.Title, view)
}

// withoutRetired leaves out the box that ends a record's use: a new one has
// none to end.
func withoutRetired(groups []fieldGroup) []fieldGroup {
	for i := range groups {
		groups[i].Fields = slices.DeleteFunc(groups[i].Fields, func(in field) bool { return in.Name == "retired" })
	}
	return groups
}

func (k recordKind[T]) create(v *visit) error {
	rec := k.blank(v)
	return k.save(v, rec, func(f *form, rec T) (T, error) {
		return k.records(v.Book).Create(v.once(f), v.actor, rec)
	})
}

func (k recordKind[T]) change(v *visit) error {
	rec, err := k.records(v.Book).Get(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	return k.save(v, rec, func(f *form, rec T) (T, error) {
		k.meta(&rec).Version = f.version()
		return k.records(v.Book).Change(v.once(f), v.actor, rec)
	})
}

// save reads the form into rec and writes it; a rejected form is shown again.
func (k recordKind[T]) save(v *visit, rec T, write func(*form, T) (T, error)) error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	refs, err := v.shelf()
	if err != nil {
		return err
	}
	stored := rec
	k.read(f, refs, &rec)
	if f.ok() {
		saved, err := write(f, rec)
		if err == nil {
			return v.replanned(cmp.Or(k.home, k.path), "Saved: "+k.row(v, refs, saved).Title+".")
		}
		if !f.takes(err) {
			return err
		}
	}
	return k.draw(v, f, stored)
}

func (k recordKind[T]) remove(v *visit) error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	if err := k.records(v.Book).Remove(v.once(f), v.actor, chi.URLParam(v.r, "id"), f.version()); err != nil {
		return err
	}
	return v.replanned(cmp.Or(k.home, k.path), "Removed.")
}

// replanned ends a change that may have left proposals, and says so.
func (v *visit) replanned(path, said string) error {
	waiting, err := v.Book.Proposals(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	if len(waiting) == 0 {
		return v.seeNext(path, said)
	}
	v.say(flash{
		Text: said + " A change of work that is promised or close at hand waits for your yes.",
		Href: "/proposals", Link: "See the ways to go on", Warn: true,
	})
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}
