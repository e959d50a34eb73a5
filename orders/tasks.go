package orders

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// taskKey says which piece of work a task is, however often it moves. Two
// open tasks never share one.
type taskKey struct {
	kind                             TaskKind
	batch, order, design, ingredient string
	part                             int
}

func (t Task) key() taskKey {
	k := taskKey{kind: t.Kind, batch: t.BatchID, order: t.OrderID, ingredient: t.IngredientID, part: t.Part}
	if t.Kind == TaskTrial { // one trial serves every batch of its design
		k.batch, k.design = "", t.DesignID
	}
	return k
}

// shows reports whether t and u look the same in a calendar.
func (t Task) shows(u Task) bool {
	return t.From.Equal(u.From) && t.To.Equal(u.To) && t.Day == u.Day && t.LastDay == u.LastDay &&
		t.AllDay == u.AllDay && t.Title == u.Title && t.Detail == u.Detail && t.Obstacle == u.Obstacle && t.Status == u.Status
}

// agenda makes the tasks that a book asks for.
type agenda struct {
	*Snapshot
	zone *time.Location
	out  []Task
}

// wanted is every open task the snapshot's batches and orders ask for. Trials
// are the plan's, or with no plan those of before.
func (s *Snapshot) wanted(plan *schedule.Plan, outcomes []schedule.OrderOutcome) ([]Task, error) {
	zone, err := s.Workshop.location()
	if err != nil {
		return nil, err
	}
	a := agenda{Snapshot: s, zone: zone}
	for _, b := range s.Batches {
		a.batch(b)
	}
	a.trials(plan)
	for _, o := range s.Orders {
		if o.Status == Accepted {
			a.handOver(o, outcomes)
		}
	}
	a.toOrder()
	return a.out, nil
}

func (a *agenda) add(t Task) {
	t.Status = TaskOpen
	a.out = append(a.out, t)
}

func (a *agenda) day(t time.Time) civil.Date { return civil.Of(t.In(a.zone)) }

// batch adds what is still to be done for b.
func (a *agenda) batch(b Batch) {
	design := a.designName(b.DesignID)
	if b.State == BatchPlanned {
		a.timed(b, TaskMake, b.Make, pourTitle(b), design+": "+a.molds(b.Molds))
	}
	if b.State == BatchPlanned || b.State == BatchPoured {
		a.timed(b, TaskCut, b.Cut, fmt.Sprintf("Cut %s · %s", b.Lot, pieces(b.Pieces)), design+": "+a.molds(b.Molds))
	}
	if b.State != BatchPlanned && b.State != BatchPoured && b.State != BatchCuring || b.Cut.From.IsZero() || b.Wrap.From.IsZero() {
		return
	}
	a.add(Task{
		Kind: TaskCure, BatchID: b.ID, DesignID: b.DesignID, AllDay: true,
		Day: a.day(b.Cut.From), LastDay: a.day(b.Wrap.From),
		Title: fmt.Sprintf("%s cures · %s", b.Lot, pieces(b.Sound)), Detail: design,
	})
	a.wraps(b, design)
}

// wraps adds the wrapping, part by part when it is split over windows.
func (a *agenda) wraps(b Batch, design string) {
	parts := b.WrapParts
	if len(parts) == 0 {
		parts = []schedule.Interval{b.Wrap}
	}
	for i, iv := range parts {
		title := fmt.Sprintf("Wrap %s · %s", b.Lot, pieces(b.Sound))
		if len(parts) > 1 {
			title += fmt.Sprintf(", part %d of %d", i+1, len(parts))
		}
		a.add(a.interval(Task{Kind: TaskWrap, BatchID: b.ID, DesignID: b.DesignID, Part: i, Title: title, Detail: design}, iv))
	}
}

func (a *agenda) timed(b Batch, kind TaskKind, iv schedule.Interval, title, detail string) {
	if !iv.From.IsZero() {
		a.add(a.interval(Task{Kind: kind, BatchID: b.ID, DesignID: b.DesignID, Title: title, Detail: detail}, iv))
	}
}

// interval gives t its time and days.
func (a *agenda) interval(t Task, iv schedule.Interval) Task {
	t.From, t.To = iv.From.UTC(), iv.To.UTC()
	t.Day, t.LastDay = a.day(iv.From), a.day(iv.To)
	return t
}

// trials adds the trial of each design that needs one.
func (a *agenda) trials(plan *schedule.Plan) {
	if plan == nil {
		for _, t := range a.Tasks {
			d, _ := find(a.Designs, t.DesignID, func(d Design) string { return d.ID })
			if t.Kind == TaskTrial && a.trialOf(d).Needed && a.isPlanned(d.ID) {
				a.add(t)
			}
		}
		return
	}
	trials := trialsOf(plan)
	for _, d := range a.Designs {
		if iv, ok := trials[d.ID]; ok {
			a.add(a.interval(Task{
				Kind: TaskTrial, DesignID: d.ID, Title: "Trial of " + d.Name,
				Detail: "A small pour, judged the next day, before the first batch.",
			}, iv))
		}
	}
}

func (a *agenda) isPlanned(designID string) bool {
	return slices.ContainsFunc(a.Batches, func(b Batch) bool { return b.DesignID == designID && b.State == BatchPlanned })
}

// handOver adds the day on which an accepted order leaves: its deadline, or
// the day it is ready when that is later.
func (a *agenda) handOver(o Order, outcomes []schedule.OrderOutcome) {
	day := o.deadline()
	if got, ok := find(outcomes, o.ID, func(x schedule.OrderOutcome) string { return x.OrderID }); ok && got.Ready.After(day) {
		day = got.Ready
	}
	lines := make([]string, len(o.Lines))
	for i, l := range o.Lines {
		lines[i] = fmt.Sprintf("%d × %s", l.Total(), a.designName(l.DesignID))
	}
	a.add(Task{
		Kind: TaskHandOver, OrderID: o.ID, AllDay: true, Day: day, LastDay: day,
		Title: "Hand over " + o.called(), Detail: strings.Join(lines, "; "),
	})
}

// toOrder adds the last day to order each ingredient that is lacking. What takes
// no time to arrive is no task: it is fetched with the pour.
func (a *agenda) toOrder() {
	all, _ := a.supplies(a.zone)
	for _, x := range all {
		if x.ShortOn.IsZero() || x.LeadDays == 0 {
			continue
		}
		a.add(Task{
			Kind: TaskSupplies, IngredientID: x.IngredientID, AllDay: true, Day: x.OrderBy, LastDay: x.OrderBy,
			Title: "Order " + x.Name, Detail: x.lackText(a.Workshop),
		})
	}
}

func (a *agenda) designName(id string) string {
	d, _ := find(a.Designs, id, func(d Design) string { return d.ID })
	return d.Name
}

func (a *agenda) molds(uses []schedule.MoldUse) string {
	out := make([]string, len(uses))
	for i, u := range uses {
		m, _ := find(a.Molds, u.MoldID, func(m Mold) string { return m.ID })
		out[i] = fmt.Sprintf("%d × %s", u.Units, m.Name)
	}
	return strings.Join(out, ", ")
}

func pourTitle(b Batch) string { return fmt.Sprintf("Pour %s · %s", b.Lot, pieces(b.Pieces)) }

// pieces counts pieces in words.
func pieces(n int) string {
	if n == 1 {
		return "1 piece"
	}
	return fmt.Sprintf("%d pieces", n)
}

// ended is what becomes of an open task that nothing asks for any more.
type ended func(Task) (Task, error)

// merged is the tasks to store so that the open ones become the wanted ones:
// the same work keeps its ID, and each change raises its Sequence. What is no
// longer wanted ends, and never comes back under its old ID.
func merged(open, wanted []Task, end ended, now time.Time, revision int) ([]Task, error) {
	want := make(map[taskKey]Task, len(wanted))
	for _, t := range wanted {
		want[t.key()] = t
	}
	var out []Task
	for _, old := range open {
		next, ok := want[old.key()]
		delete(want, old.key())
		if !ok {
			var err error
			if next, err = end(old); err != nil {
				return nil, err
			}
		}
		if next.shows(old) {
			continue
		}
		next.ID, next.Sequence, next.ChangedAt, next.Revision = old.ID, old.Sequence+1, now, revision
		out = append(out, next)
	}
	for _, t := range wanted {
		if _, fresh := want[t.key()]; fresh {
			t.ID, t.Sequence, t.ChangedAt, t.Revision = uuid.NewString(), 0, now, revision
			out = append(out, t)
			delete(want, t.key())
		}
	}
	slices.SortFunc(out, func(a, b Task) int { return cmp.Or(a.Day.Compare(b.Day), strings.Compare(a.ID, b.ID)) })
	return out, nil
}
