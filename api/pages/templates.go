package pages

import (
	"bytes"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
)

// frame is what surrounds every page.
type frame struct {
	Title    string
	Workshop string // "" for strangers
	Demo     bool
	Owner    bool
	Section  string // the entry of the navigation that is marked
	Flash    *flash
	Version  string
	View     any
}

// templates is one parsed set per page: the frame, the parts and the page.
type templates struct{ pages map[string]*template.Template }

// pageView ties a page to the type of its view.
type pageView struct {
	name string
	view any
}

// loadTemplates parses every page and executes each with its view, once
// filled and once empty, so that a misspelt field fails the start and not a visit.
func loadTemplates(fsys fs.FS, files *assets) (*templates, error) {
	t := &templates{pages: map[string]*template.Template{}}
	funcs := template.FuncMap{"asset": files.href}
	shared, err := template.New("frame.html").Funcs(funcs).Option("missingkey=error").
		ParseFS(fsys, "templates/frame.html", "templates/parts.html")
	if err != nil {
		return nil, err
	}
	for _, p := range pageViews() {
		page, err := template.Must(shared.Clone()).ParseFS(fsys, "templates/"+p.name+".html")
		if err != nil {
			return nil, err
		}
		t.pages[p.name] = page
		if err := t.tryOut(p); err != nil {
			return nil, fmt.Errorf("template %s: %w", p.name, err)
		}
	}
	return t, nil
}

func (t *templates) tryOut(p pageView) error {
	for _, view := range []any{p.view, filled(p.view)} {
		var out bytes.Buffer
		f := filled(frame{}).(frame) //nolint:forcetypeassert // filled keeps the type
		f.View = view
		if err := t.pages[p.name].Execute(&out, f); err != nil {
			return err
		}
	}
	return nil
}

// write renders a page in full before the first byte leaves, so that a failure
// never shows half a page.
func (t *templates) write(w http.ResponseWriter, status int, name string, f frame) error {
	page, ok := t.pages[name]
	if !ok {
		return fmt.Errorf("there is no page %q", name)
	}
	var out bytes.Buffer
	if err := page.Execute(&out, f); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, err := w.Write(out.Bytes())
	if err != nil {
		return nil //nolint:nilerr // the reader has gone; there is nobody left to tell
	}
	return nil
}

// show renders a page in the workshop's frame.
func (v *visit) show(status int, name, title string, view any) error {
	return v.templates.write(v.w, status, name, frame{
		Title: title, Workshop: v.shop.Name, Demo: v.shop.Demo, Owner: v.may("owner"),
		Section: sectionOf(v.r.URL.Path), Flash: v.heard(v.ctx()), Version: v.Version, View: view,
	})
}
