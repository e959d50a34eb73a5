package pages

import (
	"fmt"

	"github.com/go-chi/chi/v5"

	"ripeline/calc"
	"ripeline/orders"
)

// fillView asks how a recipe goes into molds, and answers.
type fillView struct {
	rights
	formState
	Recipe, Href string
	Oils, Design field
	Molds        fieldGroup
	Answer       *filledView
}

type filledView struct {
	Warnings []string // of the lye
	Tables   []figures
	Rest     []string // what is left over or missing, and what to do with it
	Ways     []link
}

// The molds of a question: rows beyond those filled, and the most there are.
const (
	spareMolds = 2
	mostMolds  = 50
)

// fillPage asks and answers by GET, so that a question can be kept.
func (v *visit) fillPage() error {
	r, err := v.Book.Recipes.Get(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	f := v.blankForm()
	f.values = v.r.URL.Query()
	f.sent = f.values.Has("oils_mg")
	view := fillView{rights: v.rights(), Recipe: r.Name, Href: "/recipes/" + r.ID}
	q := readFill(f)
	if f.sent && f.ok() {
		answer, err := v.Book.FillMolds(v.ctx(), v.actor, r.ID, q)
		switch {
		case err == nil:
			view.Answer = v.filledView(q, answer)
		case !f.takes(err):
			return err
		}
	}
	view.Oils = f.quantityInput("oils_mg", "Oils to use", "", f.words.massUnit()).hint("Empty for as much as the molds take.")
	view.Design = f.selectInput("design_id", "Colours of", "", names.designsOf(r.ID))
	rows := moldRows(f, names, len(q.Molds))
	view.Molds = f.group("molds", "Molds, in the order they are filled")
	view.Molds.Rows = rows
	view.formState = f.state(0)
	return v.show(f.status(), "fill", "Fill molds with "+r.Name, view)
}

func readFill(f *form) orders.FillQuestion {
	q := orders.FillQuestion{DesignID: f.text("design_id"), OilsMass: f.mass("oils_mg")}
	if q.OilsMass == 0 && f.text("oils_mg") != "" && f.ok() {
		f.fail("oils_mg", "must be more than 0; leave it empty for as much as the molds take")
	}
	for i := range f.compact("molds", mostMolds, "mold_id") {
		q.Molds = append(q.Molds, orders.FillMold{
			MoldID: f.text(rowName("molds", i, "mold_id")), Units: f.whole(rowName("molds", i, "units"), 1),
			Fill: f.percentOrNone(rowName("molds", i, "fill_ppm")),
		})
	}
	return q
}

func moldRows(f *form, s *shelf, filled int) [][]field {
	var rows [][]field
	for i := range filled + spareMolds {
		rows = append(rows, []field{
			f.selectInput(rowName("molds", i, "mold_id"), "Mold", "", s.moldChoices(f.text(rowName("molds", i, "mold_id")))),
			f.wholeInput(rowName("molds", i, "units"), "How many", 1).least("1"),
			f.quantityInput(rowName("molds", i, "fill_ppm"), "Filled to", "100", "%").hint("100 % when left empty."),
		})
	}
	return rows
}

// designsOf are the designs of a recipe, for their colours.
func (s *shelf) designsOf(recipe string) []option {
	out := []option{{Label: "No design: one pot"}}
	for _, d := range s.designs {
		if d.RecipeID == recipe && !d.Retired {
			out = append(out, option{Value: d.ID, Label: d.Name})
		}
	}
	return out
}

func (v *visit) filledView(q orders.FillQuestion, a orders.FillAnswer) *filledView {
	weigh := figures{Title: "To weigh"}
	for _, o := range a.Weights.Oils {
		weigh.Rows = append(weigh.Rows, figure{o.Name, o.Share.String(), v.words.worked(o.Mass)})
	}
	for _, row := range v.lyeRows(a.Weights.Lye) {
		weigh.Rows = append(weigh.Rows, figure{Name: row.Name, Value: row.Value})
	}
	for _, w := range a.Weights.Added {
		mass := v.words.worked(w.Mass)
		if w.Kind == orders.KindFragrance {
			mass = v.words.workedDose(w.Mass)
		}
		weigh.Rows = append(weigh.Rows, figure{w.Name, w.Share.String() + " of the oils", mass})
	}
	total := calc.Batter(a.Weights.Total)
	weigh.Rows = append(weigh.Rows, figure{"Batter in all", exactly(total.Volume) + ", " + total.Density().String(), v.words.worked(total.Mass)})
	out := &filledView{Tables: []figures{weigh, v.moldFigures(a)}}
	for _, w := range a.Weights.Lye.Warnings {
		out.Warnings = append(out.Warnings, w.Message)
	}
	if len(a.Pots) > 0 {
		pots := figures{Title: "Pots"}
		for _, p := range a.Pots {
			pots.Rows = append(pots.Rows, figure{p.Colour, p.Share.String(), v.words.worked(p.Mass)})
		}
		out.Tables = append(out.Tables, pots)
	}
	v.addRest(out, q, a)
	return out
}

func (v *visit) moldFigures(a orders.FillAnswer) figures {
	out := figures{Title: "Into the molds"}
	for _, m := range a.Fills {
		note := fmt.Sprintf("filled to %s %%, %s", trimZeros(m.Fill.Percent(1)), exactly(m.Batter.Volume))
		out.Rows = append(out.Rows, figure{fmt.Sprintf("%d × %s", m.Units, m.Mold), note, v.words.worked(m.Batter.Mass)})
	}
	return out
}

// addRest says what is left over or missing, and what can be done about it.
func (v *visit) addRest(out *filledView, q orders.FillQuestion, a orders.FillAnswer) {
	exact := link{v.fillHref(q, a.FullOils, nil), "Use " + v.words.worked(a.FullOils) + " of oils, which fill these molds exactly"}
	switch {
	case a.Left.Mass >= calc.Gram && a.Rest != nil:
		text := fmt.Sprintf("%s of batter find no room. They fill one more %s to %s %%", v.words.worked(a.Left.Mass), a.Rest.Mold, trimZeros(a.Rest.Fill.Percent(1)))
		if a.Rest.Left.Mass >= calc.Gram {
			text += ", and leave " + v.words.worked(a.Rest.Left.Mass)
		}
		out.Rest = []string{text + "."}
		out.Ways = []link{{v.fillHref(q, q.OilsMass, a.Rest), "Add that mold"}, exact}
	case a.Left.Mass >= calc.Gram:
		out.Rest = []string{v.words.worked(a.Left.Mass) + " of batter find no room, and no other mold of yours is free that they would fill far enough. Have a small mold at hand for them."}
		out.Ways = []link{exact}
	case a.Missing.Mass >= calc.Gram:
		out.Rest = []string{fmt.Sprintf("%s of batter are missing, %s: the last mold stays that much emptier, or there must be more of everything.", v.words.worked(a.Missing.Mass), exactly(a.Missing.Volume))}
		out.Ways = []link{exact}
	default:
		out.Rest = []string{"The molds take it all, and nothing is missing."}
	}
}

// fillHref asks again with other oils and one more mold.
func (v *visit) fillHref(q orders.FillQuestion, oils calc.Mass, more *orders.RestMold) string {
	pairs := []string{"oils_mg", v.words.massValue(oils), "design_id", q.DesignID}
	molds := q.Molds
	if more != nil {
		molds = append(append([]orders.FillMold{}, molds...), orders.FillMold{MoldID: more.MoldID, Units: 1})
	}
	for i, m := range molds {
		pairs = append(
			pairs,
			rowName("molds", i, "mold_id"), m.MoldID, rowName("molds", i, "units"), fmt.Sprint(m.Units),
			rowName("molds", i, "fill_ppm"), typedPercent(m.Fill),
		)
	}
	return v.r.URL.Path + "?" + query(pairs...)
}

// typedPercent is a share as it was typed, "" for none.
func typedPercent(p *calc.PPM) string {
	if p == nil {
		return ""
	}
	return percentValue(*p)
}

// takeLessWaste takes the nearest cut that wastes less of a mold.
func (v *visit) takeLessWaste() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	id := chi.URLParam(v.r, "id")
	design, change, err := v.Book.TakeLessWaste(v.once(f), v.actor, id, f.version(), f.text("mold_id"))
	if err != nil && f.takes(err) {
		return v.toldThere("/designs/"+id, err)
	}
	if err != nil {
		return err
	}
	return v.changed("/designs/"+id, fmt.Sprintf("%s is cut in slices of %s now.", design.Name, v.words.length(design.Cut.Thickness)), change)
}
