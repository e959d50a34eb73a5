package pages

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/go-chi/chi/v5"

	"ripeline/calc"
	"ripeline/orders"
)

// workView is the sheet to work from: on a phone each line is a button that
// ticks it, on paper a line with a box.
type workView struct {
	rights
	formState
	ID, Lot, Design, Recipe string
	State                   string
	Pieces                  int
	Trouble                 string
	Kept                    string // whether it goes by what was poured
	Warnings                []string
	Facts                   []fact
	Stages                  []workStage
	Readings                []field
	ReadBy                  []string // who read what
	Paper                   []string // what paper has room to write down
	Steps                   []stepView
	Cuts                    []cutPicture
	Cure                    []string
	Notes                   string
	Cautions                []cautionView
	Notice                  string
	Done, Whole             int // ticks
}

type workStage struct {
	Title string
	Items []workItem
}

type workItem struct {
	Item, Anchor string
	Text, Mass   string
	By           string // who ticked it, and when; "" when nobody did
}

func (v *visit) workSheet() error { return v.drawWork(v.blankForm()) }

func (v *visit) drawWork(f *form) error {
	id := chi.URLParam(v.r, "id")
	b, err := v.Book.Batch(v.ctx(), v.actor, id)
	if err != nil {
		return err
	}
	sheet, err := v.Book.Sheet(v.ctx(), v.actor, id)
	if err != nil {
		return err
	}
	view := workView{
		rights: v.rights(), ID: b.ID, Lot: b.Lot, Design: sheet.Design, Recipe: sheet.Recipe, Pieces: b.Pieces,
		State: capital(v.batchState(b)), Trouble: sheet.Trouble, Kept: keptText(sheet), Notes: sheet.Notes, Notice: sheet.Notice,
		Steps: v.batchSteps(b), Cuts: v.batchCuts(sheet), Facts: v.workFacts(sheet), Stages: v.workStages(sheet),
		Paper: []string{"Made by", "Begun at", "Poured at", "Room, temperature", "Lots of oils and lye used", "How it behaved"},
	}
	if c := sheet.Cure.Curve; c != nil {
		view.Cure = v.curveLines(*c, sheet.Cure)
	}
	if sheet.Weights != nil {
		for _, w := range sheet.Weights.Lye.Warnings {
			view.Warnings = append(view.Warnings, w.Message)
		}
	}
	for _, c := range sheet.Cautions {
		view.Cautions = append(view.Cautions, cautionView{c.Text, c.Source})
	}
	view.Readings, view.ReadBy = v.readingFields(f, sheet)
	for _, s := range view.Stages {
		view.Whole += len(s.Items)
		for _, i := range s.Items {
			if i.By != "" {
				view.Done++
			}
		}
	}
	view.formState = f.state(b.Version)
	return v.show(f.status(), "worksheet", "Sheet of "+b.Lot, view)
}

func keptText(s orders.Sheet) string {
	switch {
	case s.AsPoured && s.Changed:
		return "These are the weights it was poured by. The recipe or the design has changed since."
	case s.AsPoured:
		return "These are the weights it was poured by."
	}
	return ""
}

func (v *visit) workFacts(s orders.Sheet) []fact {
	var out []fact
	if w := s.Weights; w != nil {
		out = append(
			out,
			fact{"Oils", v.words.mass(w.OilsMass)},
			fact{"Lye solution", fmt.Sprintf("%s, lye %s %%", v.words.mass(w.Lye.Solution), w.Lye.Concentration.Percent(1))},
			fact{"Batter", fmt.Sprintf("%s, %s", v.words.mass(w.Total.Mass), v.words.volume(w.Total.Volume))},
			fact{"Superfat", w.Lye.Superfat.String()},
		)
	}
	if s.MixTemp > 0 {
		out = append(out, fact{"Combine at", v.words.temp(s.MixTemp)})
	}
	switch {
	case s.Weights == nil:
	case s.Missing.Mass >= calc.Gram:
		out = append(out, fact{"Missing", v.words.mass(s.Missing.Mass)})
	default:
		out = append(out, fact{"Left over", v.words.mass(s.Left.Mass)})
	}
	return out
}

func (v *visit) workStages(s orders.Sheet) []workStage {
	var out []workStage
	for _, stage := range s.Work {
		w := workStage{Title: stage.Title}
		for _, i := range stage.Items {
			item := workItem{Item: i.Item, Anchor: anchorOf(i.Item), Text: i.Text}
			if i.Mass > 0 {
				item.Mass = v.words.mass(i.Mass)
			}
			if !i.At.IsZero() {
				item.By = cmp.Or(i.By, "someone") + ", " + v.words.at(i.At)
			}
			w.Items = append(w.Items, item)
		}
		out = append(out, w)
	}
	return out
}

// anchorOf is where an item stands on the page.
func anchorOf(item string) string { return "do-" + strings.ReplaceAll(item, ":", "-") }

func (v *visit) readingFields(f *form, s orders.Sheet) (fields []field, by []string) {
	for _, r := range s.Readings {
		value, unit := "", "min"
		switch {
		case r.Item != orders.ReadTrace:
			value, unit = v.words.tempValue(calc.Temperature(r.Reading)), v.words.tempUnit()
		case r.Reading > 0:
			value = fmt.Sprint(r.Reading)
		}
		fields = append(fields, f.quantityInput(r.Item, r.Text, value, unit))
		if !r.At.IsZero() {
			by = append(by, fmt.Sprintf("%s: noted by %s, %s", r.Text, cmp.Or(r.By, "someone"), v.words.at(r.At)))
		}
	}
	return fields, by
}

// tickSheet ticks the item of the button that was pressed, or takes its tick
// back.
func (v *visit) tickSheet() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	in := orders.TickInput{Item: f.text("tick"), Done: true}
	if in.Item == "" {
		in = orders.TickInput{Item: f.text("untick")}
	}
	id := chi.URLParam(v.r, "id")
	if _, err := v.Book.Tick(v.ctx(), v.actor, id, in); err != nil {
		if f.takes(err) {
			return v.drawWork(f)
		}
		return err
	}
	http.Redirect(v.w, v.r, "/batches/"+url.PathEscape(id)+"/sheet#"+anchorOf(in.Item), http.StatusSeeOther)
	return nil
}

// noteReadings saves the readings that were typed; an emptied one is taken
// back.
func (v *visit) noteReadings() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	id := chi.URLParam(v.r, "id")
	for _, in := range f.readings() {
		if !f.ok() {
			break
		}
		if _, err := v.Book.Tick(v.ctx(), v.actor, id, in); err != nil {
			if !f.takes(readingError(err, in.Item)) {
				return err
			}
		}
	}
	if !f.ok() {
		return v.drawWork(f)
	}
	return v.seeOther("/batches/"+url.PathEscape(id)+"/sheet#readings", "Readings saved.")
}

func (f *form) readings() []orders.TickInput {
	var out []orders.TickInput
	for _, item := range []string{orders.ReadOilsTemp, orders.ReadLyeTemp, orders.ReadTrace} {
		in := orders.TickInput{Item: item, Done: f.text(item) != ""}
		if item == orders.ReadTrace {
			in.Reading = int64(f.whole(item, 0))
		} else {
			in.Reading = int64(f.temperature(item))
		}
		out = append(out, in)
	}
	return out
}

// readingError puts a complaint about a reading at its input.
func readingError(err error, item string) error {
	var invalid *orders.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	out := &orders.Invalid{}
	for _, e := range invalid.Fields {
		out.Fields = append(out.Fields, orders.FieldError{Field: item, Message: e.Message})
	}
	return out
}
