package pages

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
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
	Earlier      string // a tick of what it was before a change
	Weight       int64  // as it is sent with a tick, in milligrams
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
		State: capital(v.batchState(b)), Trouble: v.words.limits(sheet.Trouble), Kept: keptText(sheet), Notes: sheet.Notes, Notice: sheet.Notice,
		Steps: v.batchSteps(b), Cuts: v.batchCuts(sheet), Facts: v.workFacts(sheet), Stages: v.workStages(sheet),
		Paper: []string{"Made by", "Begun at", "Poured at", "Room, temperature", "Lots of oils and lye used", "How it behaved"},
	}
	if b.State == orders.BatchFailed || b.State == orders.BatchCancelled {
		view.Work = false // there is nothing to tick any more
	}
	if c := sheet.Cure.Curve; c != nil {
		view.Cure = v.curveLines(*c, sheet.Cure)
	}
	if sheet.Weights != nil {
		view.Warnings = sheetWarnings(sheet)
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
	for n, stage := range s.Work {
		w := workStage{Title: stage.Title}
		for m, i := range stage.Items {
			item := workItem{Item: i.Item, Anchor: anchorOf(n, m), Text: i.Text, Weight: int64(i.Mass)}
			if i.Mass > 0 {
				item.Mass = v.words.mass(i.Mass)
			}
			if i.AtMost {
				item.Mass = v.words.dose(i.Mass)
			}
			if !i.At.IsZero() {
				item.By = cmp.Or(i.By, "someone") + ", " + v.words.at(i.At)
			}
			if i.Earlier != nil {
				item.Earlier = v.earlierText(i)
			}
			w.Items = append(w.Items, item)
		}
		out = append(out, w)
	}
	return out
}

// earlierText says what was ticked where the sheet says something else by now.
func (v *visit) earlierText(i orders.SheetItem) string {
	k, what := i.Earlier, []string{"Ticked"}
	if k.Text != i.Text {
		what = append(what, "as “"+k.Text+"”")
	}
	if k.Mass != i.Mass && k.Mass > 0 {
		what = append(what, "at "+v.words.worked(k.Mass))
	}
	return fmt.Sprintf("%s by %s, %s; it has changed since, so check what was done.", strings.Join(what, " "), cmp.Or(k.By, "someone"), v.words.at(k.At))
}

// anchorOf is where the m-th item of the n-th stage stands on the page.
func anchorOf(n, m int) string { return fmt.Sprintf("do-%d-%d", n+1, m+1) }

// anchorIn is where the item stands that is named so.
func anchorIn(s orders.Sheet, item string) string {
	for n, stage := range s.Work {
		for m, i := range stage.Items {
			if i.Item == item {
				return anchorOf(n, m)
			}
		}
	}
	return ""
}

// readingFields is the inputs of the readings, each followed by a hidden one of
// what is stored now, and who noted them.
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
			fields = append(fields, f.input("hidden", shownName(r.Item), "", fmt.Sprint(r.Reading)))
			by = append(by, fmt.Sprintf("%s: %s %s, noted by %s, %s", r.Text, value, unit, cmp.Or(r.By, "someone"), v.words.at(r.At)))
		}
	}
	return fields, by
}

// shownName names the input that holds a reading as the page showed it, in the
// unit it is stored in.
func shownName(item string) string { return "shown." + item }

// weightName names the input that holds the weight the page showed of an item.
func weightName(item string) string { return "weight." + item }

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
	if weight, err := strconv.ParseInt(f.text(weightName(in.Item)), 10, 64); err == nil {
		in.Mass = new(calc.Mass(weight))
	}
	id := chi.URLParam(v.r, "id")
	sheet, err := v.Book.Tick(v.ctx(), v.actor, id, in)
	if err != nil {
		if f.takes(err) {
			return v.drawWork(f)
		}
		return err
	}
	http.Redirect(v.w, v.r, "/batches/"+url.PathEscape(id)+"/sheet#"+anchorIn(sheet, in.Item), http.StatusSeeOther)
	return nil
}

// noteReadings saves the readings that were changed, all or none; an emptied
// one is taken back.
func (v *visit) noteReadings() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	id := chi.URLParam(v.r, "id")
	changes := f.readings()
	if f.ok() {
		if _, err = v.Book.NoteReadings(v.ctx(), v.actor, id, changes); err == nil {
			return v.seeOther("/batches/"+url.PathEscape(id)+"/sheet#readings", "Readings saved.")
		}
		if !f.takes(err) {
			return err
		}
	}
	if f.clash != "" { // the page is to show what is stored now
		for _, x := range changes {
			delete(f.values, shownName(x.Item))
		}
	}
	return v.drawWork(f)
}

// readings is the readings that differ from what the page showed. The others
// are left to whoever noted them: drawn again, they show what is stored.
func (f *form) readings() []orders.ReadingChange {
	var out []orders.ReadingChange
	for _, item := range []string{orders.ReadOilsTemp, orders.ReadLyeTemp, orders.ReadTrace} {
		x := orders.ReadingChange{Item: item, Was: int64(f.whole(shownName(item), 0)), Done: f.text(item) != ""}
		wrong := len(f.errs)
		if item == orders.ReadTrace {
			x.Reading = int64(f.whole(item, 0))
		} else {
			x.Reading = int64(f.temperature(item))
		}
		if len(f.errs) > wrong || x.Reading != x.Was || x.Done && x.Reading == 0 {
			out = append(out, x)
			continue
		}
		delete(f.values, item)
		delete(f.values, shownName(item))
	}
	return out
}
