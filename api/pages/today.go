package pages

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"ripeline/orders"
	"ripeline/schedule"
)

type todayView struct {
	rights
	Day       string
	Now       []taskView
	Late      []arrivalView // on order, and should have come
	Done      []string
	Tomorrow  []taskView
	Ripening  []ripeView
	Risks     []riskView
	MoreRisks int // those that are not listed
	Proposals int
	Why       string
	Steps     []startStep // what is still missing before anything can be planned
}

// taskView is one task with the button that says it is done.
type taskView struct {
	Kind, Title, When, Detail string
	Lot                       string // the task as the calendar names it, beside a design's name
	Sheet                     string // the sheet to pour by
	Href                      string // the batch, order or page it belongs to
	Overdue                   bool
	Action, Button            string // "" when there is nothing to record
	Version                   int
	Once                      string
	Spoiled                   int // the most pieces that can be spoiled; 0 does not ask
	Wrong                     string
	Go, GoText                string // a page where it is recorded that it was done
	InputID                   string
	Note                      string // when a poured batch can be cut
	Obstacle                  *notice
	Late                      bool // that time is missed, or will be
}

// arrivalView is something on order that should have come.
type arrivalView struct {
	rights
	Title, When   string
	Href, Receive string
}

type ripeView struct {
	Title, Href, Text string
	Share             int // of the wished cure, 0 to 100
}

func (v *visit) todayPage() error {
	today, err := v.Book.Today(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	view := todayView{rights: v.rights(), Day: v.words.day(today.Today), Proposals: len(today.Proposals)}
	if view.Proposals > 0 {
		view.Why = v.words.dated(today.Proposals[0].Why)
	}
	against := doubts{obstacles: today.Obstacles, sales: today.NotForSale, waiting: len(today.Proposals) > 0}
	if view.Now, err = v.taskViews(names, today.Now, against, true); err != nil {
		return err
	}
	if view.Tomorrow, err = v.taskViews(names, today.Tomorrow, against, false); err != nil {
		return err
	}
	for _, x := range today.Late {
		p := orders.Purchase{Quantity: x.Quantity, ArrivesOn: x.ArrivesOn}
		view.Late = append(view.Late, arrivalView{v.rights(), x.Ingredient, v.arrival(p), "/purchases/" + x.PurchaseID, "/purchases/" + x.PurchaseID + "/receive"})
	}
	for _, t := range today.Done {
		view.Done = append(view.Done, doneText(names, t))
	}
	for _, b := range today.Curing {
		view.Ripening = append(view.Ripening, v.ripe(names, b))
	}
	risky := worstFirst(today.Risks, today.Obstacles)
	if view.MoreRisks = len(risky) - mostRisks; view.MoreRisks > 0 {
		risky = risky[:mostRisks]
	}
	if view.Risks, err = v.risks(risky, against); err != nil {
		return err
	}
	if view.Steps, err = v.missingSteps(); err != nil {
		return err
	}
	return v.show(http.StatusOK, "today", "Today", view)
}

// worstFirst puts orders that will be short or late, or can not be made as planned,
// before those that only have no second try; each kind by the day it is ready.
func worstFirst(outcomes []schedule.OrderOutcome, obstacles []orders.Obstacle) []schedule.OrderOutcome {
	out := slices.Clone(outcomes)
	missed := func(o schedule.OrderOutcome) bool {
		return o.Missed() || len(orders.InTheWayOf(o.OrderID, obstacles)) > 0
	}
	slices.SortStableFunc(out, func(a, b schedule.OrderOutcome) int {
		switch {
		case missed(a) != missed(b) && missed(a):
			return -1
		case missed(a) != missed(b):
			return 1
		}
		return a.Ready.Compare(b.Ready)
	})
	return out
}

// missingSteps are the first steps not yet done.
func (v *visit) missingSteps() ([]startStep, error) {
	steps, err := v.startSteps()
	var missing []startStep
	for _, s := range steps {
		if !s.Done {
			missing = append(missing, s)
		}
	}
	return missing, err
}

// taskViews leaves out cures, which need no hand.
func (v *visit) taskViews(names *shelf, tasks []orders.Task, against doubts, act bool) ([]taskView, error) {
	var out []taskView
	var sales map[string]orders.SaleCheck
	if act = act && v.may(orders.Helper); act {
		var err error
		if sales, err = v.sales(tasks); err != nil {
			return nil, err
		}
	}
	for i, t := range tasks {
		if t.Kind == orders.TaskCure {
			continue
		}
		view := taskView{
			Once: newOnce(), Kind: taskName(t.Kind), Title: t.Title, Detail: t.Detail, When: v.when(t),
			Overdue: t.LastDay.Before(v.today()), Href: taskHref(t), Sheet: sheetHref(t), InputID: fmt.Sprintf("spoiled-%d", i),
		}
		if t.BatchID != "" && t.Kind != orders.TaskSupplies {
			view.Title, view.Lot = names.designName(t.DesignID), lotText(t)
		}
		if t.Obstacle != "" {
			view.Obstacle = &notice{v.words.dated(t.Obstacle), against.way()}
		}
		if t.Kind == orders.TaskCut {
			if err := v.addCutNote(&view, t); err != nil {
				return nil, err
			}
		}
		if act {
			if err := v.addAction(&view, t, sales); err != nil {
				return nil, err
			}
		}
		out = append(out, view)
	}
	return out, nil
}

// sales is what stands between the orders to hand over and their sale, by their ids.
func (v *visit) sales(tasks []orders.Task) (map[string]orders.SaleCheck, error) {
	var ids []string
	for _, t := range tasks {
		if t.Kind == orders.TaskHandOver {
			ids = append(ids, t.OrderID)
		}
	}
	if len(ids) == 0 {
		return nil, nil //nolint:nilnil // there is nothing to hand over
	}
	return v.Book.OrderSales(v.ctx(), v.actor, ids)
}

// lotText is the batch and pieces of a task: its title without the verb, which
// stands beside it.
func lotText(t orders.Task) string {
	verb, rest, found := strings.Cut(t.Title, " ")
	if found && (t.Kind == orders.TaskMake || verb == taskName(t.Kind)) {
		return rest
	}
	return t.Title
}

// doneText is a task that was done today: "Pour Oat and honey, OAT-261203-1 · 20
// pieces".
func doneText(names *shelf, t orders.Task) string {
	if t.BatchID == "" || t.Kind == orders.TaskSupplies {
		return t.Title
	}
	return taskName(t.Kind) + " " + names.designName(t.DesignID) + ", " + lotText(t)
}

func (v *visit) addCutNote(view *taskView, t orders.Task) error {
	batch, err := v.Book.Batch(v.ctx(), v.actor, t.BatchID)
	if err != nil {
		return forgiveGone(err)
	}
	view.Note, view.Late = v.cutNote(batch)
	return nil
}

func (v *visit) when(t orders.Task) string {
	switch {
	case !t.AllDay && v.words.date(t.From) == v.today():
		return v.words.clock(t.From) + "–" + v.words.clock(t.To)
	case !t.AllDay:
		return v.words.span(t.From, t.To)
	case t.Day == v.today():
		return "all day"
	}
	return v.words.days(t.Day, t.LastDay)
}

func taskName(k orders.TaskKind) string {
	switch k {
	case orders.TaskTrial:
		return "Trial"
	case orders.TaskMake:
		return "Pour"
	case orders.TaskCut:
		return "Cut"
	case orders.TaskCure:
		return "Cure"
	case orders.TaskWrap:
		return "Wrap"
	case orders.TaskHandOver:
		return "Hand over"
	case orders.TaskSupplies:
		return "Supplies"
	}
	return capital(string(k))
}

// sheetHref is the sheet of a batch that is to be poured.
func sheetHref(t orders.Task) string {
	if t.Kind != orders.TaskMake {
		return ""
	}
	return "/batches/" + t.BatchID + "/sheet"
}

func taskHref(t orders.Task) string {
	switch {
	case t.Kind == orders.TaskSupplies:
		return supplyHref(t.IngredientID)
	case t.BatchID != "":
		return "/batches/" + t.BatchID
	case t.OrderID != "":
		return "/orders/" + t.OrderID
	case t.DesignID != "":
		return "/designs/" + t.DesignID
	}
	return "/plan"
}

// addAction adds the one large button of a task, and the way to say that it
// went wrong.
func (v *visit) addAction(view *taskView, t orders.Task, sales map[string]orders.SaleCheck) error {
	switch t.Kind {
	case orders.TaskHandOver:
		order, err := v.Book.Order(v.ctx(), v.actor, t.OrderID)
		if err != nil {
			return forgiveGone(err)
		}
		view.Note = strings.Join(sales[order.ID].Flags, " ")
		if order.Status == orders.Accepted {
			view.Action, view.Button, view.Version = "/orders/"+order.ID+"/hand-over", "Handed over", order.Version
		}
		return nil
	case orders.TaskTrial:
		if !v.may(orders.Owner) {
			return nil // who judges it is the owner
		}
		design, err := v.Book.Designs.Get(v.ctx(), v.actor, t.DesignID)
		if err != nil {
			return forgiveGone(err)
		}
		view.Action, view.Button, view.Version = "/designs/"+design.ID+"/trial", "The trial is good", design.Version
		view.Wrong = "/trials/new?" + query("recipe_id", design.RecipeID, "verdict", string(orders.Unfit))
		return nil
	case orders.TaskSupplies:
		view.Go, view.GoText = taskHref(t), "See what is lacking, and say it is ordered"
	case orders.TaskMake, orders.TaskCut, orders.TaskWrap:
		batch, err := v.Book.Batch(v.ctx(), v.actor, t.BatchID)
		if err != nil {
			return forgiveGone(err)
		}
		addBatchAction(view, t.Kind, batch)
	}
	return nil
}

func addBatchAction(view *taskView, kind orders.TaskKind, b orders.Batch) {
	href := "/batches/" + b.ID
	switch {
	case kind == orders.TaskMake && b.State == orders.BatchPlanned:
		view.Action, view.Button = href+"/pour", "Poured"
	case kind == orders.TaskCut && b.State == orders.BatchPoured:
		view.Action, view.Button, view.Spoiled = href+"/cut", "Cut", b.Pieces
	case kind == orders.TaskWrap && b.State == orders.BatchCuring:
		view.Action, view.Button, view.Spoiled = href+"/wrap", "Wrapped", b.Pieces
	}
	view.Version = b.Version
	view.Wrong = href + "/wrong"
}

// forgiveGone lets a page be drawn when something on it was removed since the
// list was read.
func forgiveGone(err error) error {
	if errors.Is(err, orders.ErrNotFound) {
		return nil
	}
	return err
}

func (v *visit) ripe(names *shelf, b orders.Batch) ripeView {
	done, whole := v.today().Sub(v.words.date(b.CutAt)), b.CureTarget.Sub(v.words.date(b.CutAt))
	view := ripeView{Title: names.designName(b.DesignID) + " " + b.Lot, Href: "/batches/" + b.ID}
	if whole > 0 {
		view.Share = min(100, max(0, 100*done/whole))
	}
	switch {
	case v.today().Before(b.CureMin):
		view.Text = fmt.Sprintf("day %d, may be wrapped from %s, better %s", done, v.words.day(b.CureMin), v.words.day(b.CureTarget))
	case v.today().Before(b.CureTarget):
		view.Text = fmt.Sprintf("day %d, may be wrapped, better from %s", done, v.words.day(b.CureTarget))
	default:
		view.Text = fmt.Sprintf("day %d, ripe", done)
	}
	return view
}
