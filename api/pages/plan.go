package pages

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

type planView struct {
	rights
	Revision  string
	Why       string
	Proposals int
	Shown     string // title of the proposal drawn in
	Grid      *planGrid
	Rows      []planRow
	Beyond    int // batches that are not drawn, the latest
	Problems  []string
	HandOvers []sourceView

	ToOrder        []sourceView
	LaterHandOvers int // those that are not listed
}

// planRow is one batch of the plan in words, for phones and screen readers.
type planRow struct {
	Href, Title, State, Molds string
	Steps                     []stepView
	Obstacle                  *notice
	Moves                     []string
	For                       string
}

func (v *visit) planPage() error {
	plan, err := v.Book.Plan(v.ctx(), v.actor)
	if err != nil {
		return err
	}
	names, err := v.shelf()
	if err != nil {
		return err
	}
	drawn := drawnProposal(plan.Proposals, v.r.URL.Query().Get("proposal"))
	view := planView{rights: v.rights(), Proposals: len(plan.Proposals), Problems: reasonTexts(plan.Revision.Problems)}
	if plan.Revision.Number > 0 {
		view.Revision = fmt.Sprintf("Plan %d, made %s by %s", plan.Revision.Number, v.words.at(plan.Revision.At), cmp.Or(plan.Revision.By, "the service"))
		view.Why = v.words.dated(plan.Revision.Why)
	}
	if drawn != nil {
		view.Shown = drawn.Title
	}
	dated := datedBatches(plan)
	if view.Beyond = len(dated) - mostStrips; view.Beyond > 0 {
		dated = dated[:mostStrips]
	}
	if view.Grid, err = v.planGrid(names, dated, plan, drawn); err != nil {
		return err
	}
	if view.Rows, err = v.planRows(names, dated, drawn, doubts{obstacles: plan.Obstacles, waiting: len(plan.Proposals) > 0}); err != nil {
		return err
	}
	for _, t := range plan.Tasks {
		switch {
		case t.Status != orders.TaskOpen:
		case t.Kind == orders.TaskSupplies:
			view.ToOrder = append(view.ToOrder, sourceView{v.words.near(t.Day) + ": " + t.Title, taskHref(t)})
		case t.Kind != orders.TaskHandOver:
		case len(view.HandOvers) == mostHandOvers:
			view.LaterHandOvers++
		default:
			text := v.words.near(t.Day) + ": " + t.Title
			if t.Obstacle != "" {
				text += ", not as planned"
			}
			view.HandOvers = append(view.HandOvers, sourceView{text, taskHref(t)})
		}
	}
	return v.show(http.StatusOK, "plan", "Plan", view)
}

// datedBatches is the batches of a plan that have a time, by their pour.
func datedBatches(plan orders.PlanView) []orders.Batch {
	dated := slices.DeleteFunc(slices.Clone(plan.Batches), func(b orders.Batch) bool { return b.Make.From.IsZero() })
	slices.SortStableFunc(dated, func(a, b orders.Batch) int { return a.Make.From.Compare(b.Make.From) })
	return dated
}

// drawnProposal is the one asked for, else the best; nil when none waits.
func drawnProposal(all []orders.Proposal, id string) *orders.Proposal {
	for i := range all {
		if all[i].ID == id {
			return &all[i]
		}
	}
	if len(all) == 0 {
		return nil
	}
	return &all[0]
}

func (v *visit) planRows(names *shelf, batches []orders.Batch, drawn *orders.Proposal, against doubts) ([]planRow, error) {
	allocations, err := v.Book.Allocations(v.ctx(), v.actor)
	if err != nil {
		return nil, err
	}
	var out []planRow
	for _, b := range batches {
		row := planRow{
			Href: "/batches/" + b.ID, Title: names.designName(b.DesignID) + " " + b.Lot, State: capital(v.batchState(b)),
			Molds: moldsText(names, b), Steps: slices.DeleteFunc(v.batchSteps(b), func(s stepView) bool { return s.Done }),
		}
		row.Obstacle = v.inTheWay(b.ID, against)
		given := 0
		for _, a := range allocations {
			if a.BatchID == b.ID {
				given += a.Pieces
			}
		}
		row.For = fmt.Sprintf("%s, %d for orders", count(b.Sound, "sound piece"), given)
		if drawn != nil {
			for _, m := range drawn.Diff.Moves {
				if m.BatchKey == b.ID {
					row.Moves = append(row.Moves, fmt.Sprintf("%s would move to %s", stepName(m.Step), v.words.span(m.To.From, m.To.To)))
				}
			}
			if slices.Contains(drawn.Diff.Dropped, b.ID) {
				row.Moves = append(row.Moves, "This batch would be dropped")
			}
		}
		out = append(out, row)
	}
	return out, nil
}

// planGrid is the plan drawn on a grid of days. All places are in pixels.
type planGrid struct {
	Width, Height int
	Top           int // of the first strip
	Bottom        int // of the strips
	Days          []dayMark
	Weekends      []rectangle
	TodayX        int
	Firm          *rectangle
	Names         []gridName
	Strips        []strip
	Marks         []gridMark
	Fills         []fillRow
	FillsTop      int
	Title         string
	Stops         bool // something drawn can not go on as planned
	Fit           int  // tenths of its size at which it fits a sheet of paper
}

type dayMark struct {
	X, TextX int
	Label    string
	Month    string
	Strong   bool // a Monday
}

type gridName struct{ Text, Short, Href string }

type strip struct {
	Title  string
	Href   string
	Blocks []block
}

// block is a part of a strip; Kind is the class of its look.
type block struct {
	Kind          string
	X, Y          int
	Width, Height int
	Letter        string
	TextX, TextY  int
	Title         string
}

type gridMark struct {
	X, Y  int
	Title string
	Href  string
}

// fillRow is how full molds of one kind or the rack are, day by day.
type fillRow struct {
	Name string
	Y    int // of the top of the row
	Line int // of its foot
	Bars []fillBar
}

type fillBar struct {
	X, Y, Width, Height int
	Full                bool
	Title               string
}

const (
	dayWidth   = 16
	rowHeight  = 34
	gridTop    = 44
	fillHeight = 34
	daysBefore = 3
	mostDays   = 200

	// mostStrips keeps the page light; one person's workshop seldom has so many
	// batches under way, and the page of batches lists them all.
	mostStrips = 28

	// mostHandOvers and mostRisks are as many as one looks at; the page of orders
	// lists them all.
	mostHandOvers = 20
	mostRisks     = 12
)

// ledger maps dates to places on the grid.
type ledger struct {
	from, to civil.Date
}

func (l ledger) x(d civil.Date) int {
	if d.After(l.to) {
		d = l.to.AddDays(1)
	}
	return max(0, d.Sub(l.from)) * dayWidth
}

func (l ledger) holds(d civil.Date) bool { return !d.Before(l.from) && !d.After(l.to) }

func (l ledger) days() int { return l.to.Sub(l.from) + 1 }

func (v *visit) planGrid(names *shelf, batches []orders.Batch, plan orders.PlanView, drawn *orders.Proposal) (*planGrid, error) {
	if len(batches) == 0 {
		return nil, nil //nolint:nilnil // nothing to draw is not an error; the page says so in words
	}
	l := v.ledger(batches, plan, drawn)
	g := &planGrid{
		Top: gridTop, Width: l.days() * dayWidth, TodayX: l.x(v.today()), Title: "Batches from " + v.words.day(l.from) + " to " + v.words.day(l.to),
	}
	rows := batches
	v.addDays(g, l)
	y := gridTop
	for _, b := range rows {
		g.Names = append(g.Names, gridName{names.designName(b.DesignID), b.Lot, "/batches/" + b.ID})
		s := v.strip(names, l, b, y, drawn)
		if o, found := byID(plan.Obstacles, b.ID, func(o orders.Obstacle) string { return o.BatchID }); found {
			v.stop(&s, l, y, b, o)
			g.Stops = true
		}
		g.Strips = append(g.Strips, s)
		y += rowHeight
	}
	if drawn != nil {
		y = v.addNewBatches(g, names, l, drawn, y)
	}
	g.Bottom = y
	v.addHandOvers(g, l, plan.Tasks)
	if v.shop.FirmDays > 0 {
		g.Firm = &rectangle{l.x(v.today()), gridTop, v.shop.FirmDays * dayWidth, y - gridTop}
	}
	racks, err := every(v, v.Book.Racks)
	if err != nil {
		return nil, err
	}
	v.addFills(g, names, l, datedBatches(plan), racks) // those that are not drawn fill molds and racks too
	g.Fit = fitPaper(g.Width)
	return g, nil
}

// fitPaper is how many tenths of its size a picture may have on paper, 2 to 9.
func fitPaper(width int) int {
	const (
		paper = 690 // pixels of an upright A4 sheet between its margins
		names = 150
	)
	return min(9, max(2, 10*paper/(width+names)))
}

// ledger spans what there is to draw, within mostDays.
func (v *visit) ledger(batches []orders.Batch, plan orders.PlanView, drawn *orders.Proposal) ledger {
	l := ledger{from: v.today().AddDays(-daysBefore), to: v.today().AddDays(14)}
	reach := func(d civil.Date) {
		if d.After(l.to) {
			l.to = d
		}
	}
	for _, b := range batches {
		if first := v.words.date(b.Make.From); first.Before(l.from) && b.State != orders.BatchWrapped && b.State != orders.BatchFailed {
			l.from = first
		}
		reach(v.words.date(b.Wrap.To))
	}
	for _, t := range plan.Tasks {
		reach(t.LastDay)
	}
	if drawn != nil && drawn.Plan != nil {
		for _, b := range drawn.Plan.Batches {
			reach(v.words.date(b.Wrap.To))
		}
	}
	l.to = l.to.AddDays(2)
	if l.days() > mostDays {
		l.to = l.from.AddDays(mostDays - 1)
	}
	return l
}

func (v *visit) addDays(g *planGrid, l ledger) {
	for i := range l.days() {
		d := l.from.AddDays(i)
		if d.Weekday() == 0 || d.Weekday() == 6 {
			g.Weekends = append(g.Weekends, rectangle{l.x(d), gridTop, dayWidth, 0})
		}
		if d.Weekday() != 1 && i != 0 {
			continue
		}
		m := dayMark{X: l.x(d), TextX: l.x(d) + 3, Label: strconv.Itoa(d.Day), Strong: d.Weekday() == 1}
		if i == 0 || d.Day <= 7 {
			m.Month = v.words.names.months[d.Month-1]
		}
		if i == 0 && d.Weekday() != 1 && l.days() > 7 { // too near to the first Monday
			m.Label = ""
		}
		g.Days = append(g.Days, m)
	}
}

func (v *visit) addHandOvers(g *planGrid, l ledger, tasks []orders.Task) {
	for _, t := range tasks {
		if t.Kind == orders.TaskHandOver && t.Status == orders.TaskOpen && l.holds(t.Day) {
			g.Marks = append(g.Marks, gridMark{l.x(t.Day) + dayWidth/2, gridTop - 9, v.words.day(t.Day) + ": " + t.Title, taskHref(t)})
		}
	}
}

func (v *visit) addNewBatches(g *planGrid, names *shelf, l ledger, drawn *orders.Proposal, y int) int {
	if drawn.Plan == nil {
		return y
	}
	for _, b := range drawn.Plan.Batches {
		if !slices.Contains(drawn.Diff.Added, b.Key) {
			continue
		}
		g.Names = append(g.Names, gridName{names.designName(b.DesignID), "would be new", "/proposals"})
		g.Strips = append(g.Strips, v.ghostStrip(l, b, y))
		y += rowHeight
	}
	return y
}

func (v *visit) ghostStrip(l ledger, b schedule.PlanBatch, y int) strip {
	s := strip{Title: "A new batch, if you choose this", Href: "/proposals"}
	first, last := v.words.date(b.Make.From), v.words.date(b.Wrap.To)
	s.Blocks = append(s.Blocks, block{Kind: "ghost", X: l.x(first), Y: y + 5, Width: max(dayWidth, l.x(last.AddDays(1))-l.x(first)), Height: rowHeight - 10, Title: s.Title})
	return s
}
