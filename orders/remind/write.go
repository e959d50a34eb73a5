package remind

import (
	"fmt"
	"strings"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// letter is a reminder before it is set as text and as HTML.
type letter struct {
	Heading  string // the subject too
	Sections []section
	Plan     string // address of the plan's page, behind login
	Why      string // why the reader gets this
}

type section struct {
	Title string
	Items []item
	Notes []string
}

type item struct{ When, What, Detail string }

// mostChanges is how many changes a reminder lists; the plan shows the rest.
const mostChanges = 20

// Cautions go with the work they are about. They are common practice, and no
// more than a reminder of it.
const lyeCaution = "Lye burns skin and eyes: goggles, gloves and fresh air; lye into the water, never water into lye. Your local rules and the safety data sheet come first."

// write writes the reminder; false when there is nothing to say.
func (b brief) write() (letter, bool) {
	var l letter
	switch b.delivery.Kind {
	case kindDigest:
		l = b.digest(b.delivery.LocalDate.AddDays(1))
	case kindToday:
		l = b.digest(b.delivery.LocalDate)
	case kindChange:
		l = b.changeLetter()
	default:
		l = b.ruleLetter()
	}
	l.Plan = b.planURL
	return l, len(l.Sections) > 0
}

// digest tells of day d and of what else is near.
func (b brief) digest(d civil.Date) letter {
	tasks := b.on(d, orders.TaskOpen)
	l := letter{
		Heading: fmt.Sprintf("%s: %s", b.named(d), countOr(len(tasks), "task", "tasks", "no tasks, but news")),
		Why:     "You get this every day there is something to say, at the time you chose.",
	}
	l.add(section{Title: b.named(d), Items: b.toDo(tasks, d)})
	l.add(section{Title: "Mind the cut", Items: each(b.hurried(), b.cutItem)})
	l.add(section{Title: "Planned earlier, not recorded yet", Items: each(b.unrecorded(), func(t orders.Task) item {
		return item{When: b.when(t), What: t.Title}
	})})
	if b.known {
		l.add(b.changed("Changed since "+b.moment(b.told.at), b.changes))
	}
	l.add(section{Title: "Cures ending by " + short(b.today().AddDays(cureDays)), Items: each(b.curesEnding(), func(t orders.Task) item {
		return item{When: short(t.LastDay), What: t.Title}
	})})
	l.add(section{Title: "Hand-overs by " + short(b.today().AddDays(handOverDays)), Items: each(b.handOvers(d), func(t orders.Task) item {
		return item{When: short(t.Day), What: t.Title, Detail: detail(t)}
	})})
	l.add(section{Title: "Supplies to order", Items: each(b.supplies(d), b.supply)})
	l.add(section{Title: "Should have arrived", Items: each(b.coming, func(x orders.LateArrival) item {
		return item{When: "since " + short(x.ArrivesOn), What: oneLine(x.Ingredient), Detail: "Receive it, or say when it comes: the plan counts on it as if it came today"}
	})})
	if late, worth := b.late(); worth || len(l.Sections) > 0 {
		l.add(section{Title: "Not sent in time, so told here", Items: late})
	}
	if len(l.Sections) > 0 {
		l.caution(tasks)
	}
	return l
}

func (b brief) changeLetter() letter {
	near := b.nearChanges(b.changes, b.now)
	l := letter{
		Heading: fmt.Sprintf("Plan changed, %s: %s", short(b.today()), countOr(len(near), "change", "changes", "")),
		Why:     "You get this because the plan of the next 36 hours changed after your digest.",
	}
	l.add(b.changed("In the next 36 hours", near))
	var planned []orders.Task
	for _, x := range near {
		if x.kind != changeCancelled {
			planned = append(planned, x.task)
		}
	}
	l.caution(planned)
	return l
}

// ruleLetter tells of the open work that a rule of the person's own is about.
func (b brief) ruleLetter() letter {
	r, _ := ruleOf(b.delivery, b.rules)
	target := b.delivery.LocalDate.AddDays(r.LeadDays)
	var tasks []orders.Task
	for _, t := range b.ofRule(r, b.delivery.LocalDate) {
		if t.Status == orders.TaskOpen && !t.LastDay.Before(b.today()) {
			tasks = append(tasks, t)
		}
	}
	noun := kindNouns[r.Kind]
	l := letter{
		Heading: fmt.Sprintf("%s: %s", b.named(target), countOr(len(tasks), noun[0], noun[1], "")),
		Why:     fmt.Sprintf("You get this by your own rule %q.", oneLine(r.Name)),
	}
	l.add(section{Title: oneLine(r.Name), Items: b.toDo(tasks, target)})
	if len(l.Sections) > 0 {
		l.caution(tasks)
		if b.now.After(b.delivery.DueAt.Add(latest)) {
			l.add(section{Title: "Late", Notes: []string{"This was due " + b.moment(b.delivery.DueAt) + " and could not be sent then."}})
		}
	}
	return l
}

var kindNouns = map[orders.TaskKind][2]string{
	orders.TaskTrial:    {"trial", "trials"},
	orders.TaskMake:     {"batch to pour", "batches to pour"},
	orders.TaskCut:      {"batch to cut", "batches to cut"},
	orders.TaskCure:     {"cure ends", "cures end"},
	orders.TaskWrap:     {"wrapping", "wrappings"},
	orders.TaskHandOver: {"hand-over", "hand-overs"},
	orders.TaskSupplies: {"ingredient to order", "ingredients to order"},
}

// add appends a section that says something.
func (l *letter) add(s section) {
	if len(s.Items)+len(s.Notes) > 0 {
		l.Sections = append(l.Sections, s)
	}
}

// caution adds the usual words where lye is handled.
func (l *letter) caution(tasks []orders.Task) {
	for _, t := range tasks {
		if t.Kind == orders.TaskMake || t.Kind == orders.TaskTrial {
			l.add(section{Title: "Take care", Notes: []string{lyeCaution}})
			return
		}
	}
}

// toDo lists the tasks of day d with what to prepare.
func (b brief) toDo(tasks []orders.Task, d civil.Date) []item {
	return each(tasks, func(t orders.Task) item {
		return item{When: b.hours(t, d), What: t.Title, Detail: detail(t)}
	})
}

// detail is what a task says beside its title: first of all why it can not be done.
func detail(t orders.Task) string {
	switch {
	case t.Obstacle != "":
		return "Not as planned: " + orders.Dated(t.Obstacle, short)
	case t.Detail == "":
		return ""
	case t.Kind == orders.TaskTrial:
		return t.Detail
	case t.Kind == orders.TaskHandOver:
		return "With " + t.Detail
	case t.Kind == orders.TaskSupplies:
		return "Order " + t.Detail
	}
	return "Prepare " + t.Detail
}

// cutItem says until when a batch has to be cut, and what to do about it.
func (b brief) cutItem(x orders.Batch) item {
	out := item{When: "by " + b.moment(x.CutTo), What: "Cut " + x.Lot}
	if out.Detail = "No working hour is left in its time to be cut. Cut it by then all the same, or add extra hours."; b.now.After(x.CutTo) {
		out.When = "at once, was due by " + b.moment(x.CutTo)
		out.Detail = "Its time to be cut is over. Cut it as soon as you can: it grows hard, and may crumble."
	}
	return out
}

// supply says until when to order.
func (b brief) supply(t orders.Task) item {
	when := "by " + short(t.Day)
	if t.Day.Before(b.today()) {
		when = "at once, was due " + short(t.Day)
	}
	return item{When: when, What: t.Title, Detail: detail(t)}
}

// changed lists changes and why they came.
func (b brief) changed(title string, all []change) section {
	s := section{Title: title}
	if len(all) == 0 {
		return s
	}
	s.Items = each(all[:min(len(all), mostChanges)], b.changeItem)
	if more := len(all) - mostChanges; more > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("And %d more: see the plan.", more))
	}
	for _, why := range b.whys {
		s.Notes = append(s.Notes, "Why: "+oneLine(orders.Dated(why, short)))
	}
	return s
}

func (b brief) changeItem(x change) item {
	t := x.task
	switch x.kind {
	case changeNew:
		return item{What: "New: " + t.Title + ", " + b.when(t)}
	case changeMoved:
		return item{What: t.Title + ": now " + b.when(t) + ", was " + b.moment(x.was.From)}
	case changeCancelled:
		if !x.was.From.IsZero() {
			return item{What: "Not any more: " + t.Title + ", was " + b.moment(x.was.From)}
		}
		return item{What: "Not any more: " + t.Title + ", was " + b.when(t)}
	case changeEdited:
		if t.Obstacle != "" {
			return item{What: "Not as planned: " + t.Title + ", " + b.when(t), Detail: orders.Dated(t.Obstacle, short)}
		}
	}
	return item{What: "Changed: " + t.Title + ", " + b.when(t)}
}

// late lists the reminders that are folded into this one, but for those of
// rules that had nothing to say. They are worth a mail of their own when one of
// them was about work.
func (b brief) late() (items []item, worth bool) {
	for _, d := range b.missed {
		i := item{When: b.moment(d.DueAt)}
		about := b.aboutOf(d)
		worth = worth || len(about) > 0
		switch r, isRule := ruleOf(d, b.rules); {
		case d.Kind == kindDigest || d.Kind == kindToday:
			i.What = "your digest"
		case d.Kind == kindChange:
			i.What = "a change of the plan"
		case !isRule || len(about) == 0:
			continue
		default:
			i.What = oneLine(r.Name) + ": " + strings.Join(each(about, func(t orders.Task) string {
				return t.Title + ", " + b.when(t)
			}), "; ")
		}
		items = append(items, i)
	}
	return items, worth
}

// aboutOf is the work, done or not, that a folded reminder was about. What a
// change mail was about stands among the changes.
func (b brief) aboutOf(d orders.Delivery) []orders.Task {
	switch d.Kind {
	case kindDigest:
		return b.on(d.LocalDate.AddDays(1), orders.TaskOpen, orders.TaskDone)
	case kindToday:
		return b.on(d.LocalDate, orders.TaskOpen, orders.TaskDone)
	case kindChange:
		return nil
	}
	r, _ := ruleOf(d, b.rules)
	return b.ofRule(r, d.LocalDate)
}

func each[T, U any](all []T, f func(T) U) []U {
	out := make([]U, len(all))
	for i, x := range all {
		out[i] = f(x)
	}
	return out
}

// countOr writes n with its noun, or none when n is 0.
func countOr(n int, one, many, none string) string {
	switch n {
	case 0:
		return none
	case 1:
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
