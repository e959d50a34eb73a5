package pages

import (
	"errors"
	"fmt"
	"net/http"

	"github.com/go-chi/chi/v5"

	"ripeline/orders"
)

type wrongView struct {
	rights
	formState
	ID, Title string
	State     string
	Pieces    int
	TooEarly  bool // nothing was poured yet
	Ended     bool
	Extent    field
	Lost      field
	At        field
	Reason    field
	Reasons   choices
	ForWhom   []sourceView
	CanRecord bool
	BatchHref string
	PlanAgain bool
}

func (v *visit) wrongPage() error { return v.drawWrong(v.blankForm()) }

func (v *visit) drawWrong(f *form) error {
	b, err := v.Book.Batch(v.ctx(), v.actor, chi.URLParam(v.r, "id"))
	if err != nil {
		return err
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	view := wrongView{
		rights: v.rights(), ID: b.ID, Title: names.designName(b.DesignID) + " " + b.Lot, State: capital(v.batchState(b)), Pieces: b.Sound,
		TooEarly: b.State == orders.BatchPlanned, CanRecord: v.may(orders.Helper), BatchHref: "/batches/" + b.ID, PlanAgain: v.may(orders.Owner),
		Ended: b.State == orders.BatchWrapped || b.State == orders.BatchFailed || b.State == orders.BatchCancelled,
		Extent: f.selectInput("extent", "How much of it is lost", "all", []option{
			{Value: "all", Label: "All of it"}, {Value: "some", Label: "Some pieces"},
		}),
		Lost:    blankZero(f.wholeInput("pieces", "Pieces lost", 0)).least("1").hint("Only when some are lost."),
		At:      f.input("datetime-local", "at", "When", v.localInput(v.now)),
		Reason:  f.textInput("reason", "What happened", "").must().list("reasons"),
		Reasons: choices{"reasons", usualFailures()},
	}
	if view.Ended || view.TooEarly {
		view.CanRecord = false
	}
	view.formState = f.state(b.Version)
	return v.show(f.status(), "wrong", "Something went wrong", view)
}

// usualFailures are suggestions to pick from; anything can be typed.
func usualFailures() []string {
	return []string{
		"Seized in the pot", "Separated", "Lye pockets", "Crumbled when cut", "Too soft to cut", "Tops ruined", "Soda ash", "Orange spots", "Dropped",
	}
}

func (v *visit) wentWrong() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	fact := orders.FailFact{At: f.moment(), Reason: f.text("reason")}
	if f.text("extent") == "some" {
		if fact.Pieces = f.whole("pieces", 0); fact.Pieces < 1 && f.ok() {
			f.fail("pieces", "must be 1 or more; choose “All of it” when nothing is left")
		}
	}
	if fact.Reason == "" {
		f.fail("reason", "is empty; say in a few words what happened, for the next time")
	}
	if !f.ok() {
		return v.drawWrong(f)
	}
	id := chi.URLParam(v.r, "id")
	b, change, err := v.Book.Fail(v.once(f), v.actor, id, f.version(), fact)
	if err != nil {
		if !f.takes(err) {
			return err
		}
		return v.drawWrong(f)
	}
	if len(change.Proposals) > 0 {
		v.say(flash{Text: "Noted: " + b.Lot + ". Here are the ways to go on. Nothing else changes until you pick one.", Warn: true})
		http.Redirect(v.w, v.r, "/proposals", http.StatusSeeOther)
		return nil
	}
	said, err := v.afterLoss()
	if err != nil {
		return err
	}
	return v.changed("/batches/"+id, "Noted: "+b.Lot+". "+said, change)
}

// afterLoss says what orders are missed once a loss was recorded for which there is
// nothing to choose: because none needs it, or because nothing would help.
func (v *visit) afterLoss() (string, error) {
	plan, err := v.Book.Plan(v.ctx(), v.actor)
	if err != nil {
		return "", err
	}
	missed := 0
	for _, o := range plan.Outcomes {
		if o.Missed() {
			missed++
		}
	}
	switch missed {
	case 0:
		return "No order is short or late.", nil
	case 1:
		return "1 order is short or late, and there is no way out to choose from: “Today” says why.", nil
	}
	return fmt.Sprintf("%d orders are short or late, and there is no way out to choose from: “Today” says why.", missed), nil
}

func (v *visit) planAgain() error {
	change, err := v.Book.Replan(v.ctx(), v.actor)
	if errors.Is(err, orders.ErrConflict) {
		return v.toldThere("/plan", err)
	}
	if err != nil {
		return err
	}
	return v.changed("/plan", "Planned again from now.", change)
}
