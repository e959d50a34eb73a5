package pages

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

type batchesView struct {
	rights
	Tabs []tab
	Rows []recordRow
	More string
}

func (v *visit) batchesPage() error {
	ask := v.r.URL.Query()
	states := []orders.BatchState{
		orders.BatchPlanned, orders.BatchPoured, orders.BatchCuring, orders.BatchWrapped, orders.BatchFailed, orders.BatchCancelled,
	}
	chosen := orders.BatchState(ask.Get("status"))
	view := batchesView{rights: v.rights()}
	found := false
	for _, s := range states {
		found = found || s == chosen
	}
	if !found {
		chosen = orders.BatchPlanned
	}
	for _, s := range states {
		view.Tabs = append(view.Tabs, tab{capital(string(s)), "/batches?" + query("status", string(s)), s == chosen})
	}
	page, err := v.Book.Batches(v.ctx(), v.actor, orders.ListQuery{Status: string(chosen), Cursor: ask.Get("after")})
	if err != nil {
		return err
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	inTheWay, err := v.Book.Obstacles(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	for _, b := range page.Items {
		row := recordRow{
			Href: "/batches/" + b.ID, Title: names.designName(b.DesignID) + " " + b.Lot,
			Badge: count(b.Pieces, "piece"), Lines: nonEmpty(v.batchState(b), moldsText(names, b)),
		}
		if n := v.inTheWay(b.ID, doubts{obstacles: inTheWay}); n != nil {
			row.Lines = append(row.Lines, "Not as planned. "+n.Text)
		}
		view.Rows = append(view.Rows, row)
	}
	if page.Next != "" {
		view.More = "/batches?" + query("status", string(chosen), "after", page.Next)
	}
	return v.show(http.StatusOK, "batches", "Batches", view)
}

// batchState is how far a batch has come, with the date that matters now.
func (v *visit) batchState(b orders.Batch) string {
	switch b.State {
	case orders.BatchPlanned:
		return "to be poured " + v.words.at(b.Make.From)
	case orders.BatchPoured:
		return "in the mold, to be cut " + v.words.at(b.Cut.From)
	case orders.BatchCuring:
		return "curing, to be wrapped " + v.words.day(v.words.date(b.Wrap.From))
	case orders.BatchWrapped:
		return "wrapped " + v.words.day(v.words.date(b.WrappedAt))
	case orders.BatchFailed:
		return "failed " + v.words.day(v.words.date(b.EndedAt))
	case orders.BatchCancelled:
		return "cancelled " + v.words.day(v.words.date(b.EndedAt))
	}
	return string(b.State)
}

func moldsText(names *shelf, b orders.Batch) string {
	var parts []string
	for _, m := range b.Molds {
		parts = append(parts, strconv.Itoa(m.Units)+" × "+names.moldName(m.MoldID))
	}
	return join(parts)
}

type batchView struct {
	rights
	formState
	ID, Lot, Design, DesignHref string
	State                       string
	Counts                      []fact // of its pieces
	Molds                       string
	Notes                       string
	Steps                       []stepView
	Action                      *batchAction
	SheetFirst                  bool // before the pour the weights matter most
	Wrong                       string
	Obstacle                    *notice
	Late                        string // that its time to be cut is missed or will be; "" when not
	CodeNote                    string // that the lot code may still change
	Pinned, CanPin              bool
	Orders                      []sourceView
	Sheet                       *sheetView
	Cuts                        []cutPicture
	Lots                        *lotsView
	Weigh                       *weighView
	Losses                      []string
	Events                      []eventView
	Flags                       []string // why it is not for sale
	Papers                      []linkView
}

// stepView is one step of a batch with its time and what holds it there.
type stepView struct {
	Name, When string
	Done       bool
	Why        []string
}

// batchAction is the form for the next step.
type batchAction struct {
	Address, Title, Button string
	Fields                 []field
}

func (v *visit) batchPage() error { return v.drawBatch(v.blankForm()) }

// drawBatch shows the batch of the address, with a rejected form's input.
func (v *visit) drawBatch(f *form) error {
	b, err := v.Book.Batch(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	sheet, err := v.Book.Sheet(v.ctx(), v.actor, b.ID)
	if err != nil {
		return err
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	view := batchView{
		rights: v.rights(), ID: b.ID, Lot: b.Lot, Design: names.designName(b.DesignID), DesignHref: "/designs/" + b.DesignID,
		State: capital(v.batchState(b)), Counts: pieceCounts(b), Molds: moldsText(names, b), Notes: b.Notes,
		Steps: v.batchSteps(b), Pinned: b.Pinned, CanPin: b.State == orders.BatchPlanned && v.may(orders.Owner),
		SheetFirst: b.State == orders.BatchPlanned, Sheet: v.sheetView(sheet), Cuts: v.batchCuts(sheet),
	}
	if b.State == orders.BatchPoured || b.State == orders.BatchCuring {
		view.Wrong = "/batches/" + b.ID + "/wrong"
	}
	if view.SheetFirst {
		view.CodeNote = "The lot code is by the day it was first planned for. Recording the pour on another day gives it the code of that day, which then stays."
	}
	if note, late := v.cutNote(b); late {
		view.Late = note
	}
	if view.Obstacle, err = v.lookInTheWay(b); err != nil {
		return err
	}
	if v.may(orders.Helper) {
		view.Action = v.batchAction(f, b)
	}
	if b.State == orders.BatchCuring || len(b.Weighings) > 0 {
		view.Weigh = v.weighView(f, b, sheet.Cure)
	}
	for _, l := range b.Losses {
		view.Losses = append(view.Losses, v.lossText(l))
	}
	if view.Lots, err = v.lotsView(f, names, b); err != nil {
		return err
	}
	view.formState = f.state(b.Version)
	return v.finishBatch(view, b, f.status())
}

// lookInTheWay is why a batch can not go on as planned, nil when it can.
func (v *visit) lookInTheWay(b orders.Batch) (*notice, error) {
	all, err := v.Book.Obstacles(v.ctx(), v.actor)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	waiting, err := v.Book.Proposals(v.ctx(), v.actor)
	return v.inTheWay(b.ID, doubts{obstacles: all, waiting: len(waiting) > 0}), err
}

// pieceCounts is how many pieces there are of a batch, or were to be.
func pieceCounts(b orders.Batch) []fact {
	all, sound := fact{"Pieces poured", strconv.Itoa(b.Pieces)}, fact{"Sound", strconv.Itoa(b.Sound)}
	switch b.State {
	case orders.BatchPlanned:
		all.Name, sound.Name = "Pieces to pour", "Likely sound"
	case orders.BatchPoured:
		sound.Name = "Likely sound"
	case orders.BatchCancelled:
		return []fact{{"Pieces that were planned", all.Value}}
	case orders.BatchCuring, orders.BatchWrapped, orders.BatchFailed:
	}
	return []fact{all, sound}
}

// finishBatch adds what other records say of the batch.
func (v *visit) finishBatch(view batchView, b orders.Batch, status int) error {
	all, err := v.Book.Allocations(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	for _, a := range all {
		if a.BatchID != b.ID {
			continue
		}
		o, err := v.Book.Order(v.ctx(), v.actor, a.OrderID)
		if err != nil {
			return err
		}
		view.Orders = append(view.Orders, sourceView{fmt.Sprintf("%s for %s, needed by %s", count(a.Pieces, "piece"), titleOf(o), v.words.day(o.NeededBy)), "/orders/" + o.ID})
	}
	sale, err := v.Book.BatchSale(v.ctx(), v.actor, b.ID)
	if err != nil {
		return err
	}
	view.Flags, view.Papers = sale.Flags, saleLinks("/batches/"+b.ID)
	if view.Events, err = v.events(b.ID); err != nil {
		return err
	}
	return v.show(status, "batch", view.Design+" "+b.Lot, view)
}

func (v *visit) lossText(l orders.Loss) string {
	text := fmt.Sprintf("%s: %s lost", v.words.at(l.At), count(l.Pieces, "piece"))
	if l.Step != "" {
		text += " at the " + lower(stepName(l.Step))
	}
	if l.Reason != "" {
		text += ", " + l.Reason
	}
	return text
}

// batchSteps are the steps of a batch; of one that has ended early only those
// that were done.
func (v *visit) batchSteps(b orders.Batch) []stepView {
	var out []stepView
	for _, s := range b.Steps() {
		switch s.Kind {
		case orders.TaskMake:
			out = append(out, v.step(b, "Pour", schedule.StepMake, s))
		case orders.TaskCut:
			out = append(out, v.cutStep(b, s))
		case orders.TaskCure:
			out = append(out, v.cureStep(b))
		case orders.TaskWrap:
			name := "Wrap"
			if s.Part > 0 {
				name = fmt.Sprintf("Wrap, part %d", s.Part)
			}
			out = append(out, v.step(b, name, schedule.StepWrap, s))
		default: // a batch has no other steps
		}
	}
	if b.State == orders.BatchFailed || b.State == orders.BatchCancelled {
		out = slices.DeleteFunc(out, func(s stepView) bool { return !s.Done })
	}
	return out
}

// step is one step with what holds it where it is. What the cut window says is
// told by cutStep.
func (v *visit) step(b orders.Batch, name string, kind schedule.Step, of orders.SheetStep) stepView {
	s := stepView{Name: name, When: v.words.span(of.From, of.To), Done: !of.DoneAt.IsZero()}
	for _, h := range b.Holds {
		if h.Step == kind && h.Kind != schedule.HoldCut && !s.Done {
			s.Why = append(s.Why, h.Text)
		}
	}
	return s
}

func (v *visit) cutStep(b orders.Batch, of orders.SheetStep) stepView {
	s := v.step(b, "Cut", schedule.StepCut, of)
	if !s.Done && !b.CutFrom.IsZero() {
		s.Why = append(s.Why, fmt.Sprintf("It can be cut from %s to %s.", v.words.at(b.CutFrom), v.words.at(b.CutTo)))
	}
	return s
}

func (v *visit) cureStep(b orders.Batch) stepView {
	s := stepView{Name: "Cure", Done: !b.WrappedAt.IsZero()}
	if !b.CureMin.IsZero() {
		s.When = "at least until " + v.words.day(b.CureMin)
		if b.CureTarget != b.CureMin {
			s.When += ", better until " + v.words.day(b.CureTarget)
		}
	}
	if !b.CureUntil.IsZero() {
		s.Why = []string{"By its weighings it is ready on " + v.words.day(b.CureUntil) + "."}
	}
	return s
}

// batchAction is the form for the step that comes next; nil when none does.
func (v *visit) batchAction(f *form, b orders.Batch) *batchAction {
	at := f.input("datetime-local", "at", "When it was done", v.localInput(v.now))
	notes := f.input("area", "notes", "Notes", "")
	spoiled := blankZero(f.wholeInput("spoiled", "Pieces spoiled", 0)).least("0").hint("Empty when all are sound.")
	reason := f.textInput("reason", "Why they were spoiled", "")
	href := "/batches/" + b.ID
	switch b.State {
	case orders.BatchPlanned:
		return &batchAction{href + "/pour", "Next: pour it", "Poured", []field{at.hint("The end of the pour."), notes}}
	case orders.BatchPoured:
		return &batchAction{href + "/cut", "Next: cut it", "Cut", []field{at, spoiled, reason, notes}}
	case orders.BatchCuring:
		return &batchAction{href + "/wrap", "Next: wrap it", "Wrapped", []field{at, spoiled, reason, notes}}
	case orders.BatchCancelled:
		return &batchAction{href + "/pour", "Was it poured all the same?", "It was poured", []field{at.hint("The end of the pour. It stays out of sale while its design may not be poured."), notes}}
	case orders.BatchWrapped, orders.BatchFailed: // it has ended
	}
	return nil
}

// localInput is t as a datetime-local input takes it.
func (v *visit) localInput(t time.Time) string {
	local := t.In(v.words.zone)
	return civil.Of(local).String() + "T" + civil.ClockOf(local).String()
}
