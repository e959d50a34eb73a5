package pages

import (
	"fmt"
	"strconv"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// mostLines bounds the rows of an order that are read.
const mostLines = 50

type promiseView struct {
	rights
	formState
	Lines    [][]field
	NeededBy field
	HandOver field
	NoDesign bool
	Answer   *answerView
	Take     *takeView
}

type answerView struct {
	Verdict  string // "yes", "if" or "no", for its look
	Headline string
	Text     string
	Facts    []fact
	Picture  *timePicture
	Reasons  []string
	Proof    string
	Ways     []wayView
}

type fact struct{ Name, Value string }

// wayView is an alternative: a link asks again with it, a form makes room
// for it.
type wayView struct {
	Text   string
	Ready  string
	Note   string
	Href   string
	Action string
	Button string
	Hidden []hidden
}

type hidden struct{ Name, Value string }

type takeView struct {
	Customer, NewCustomer, Title, Note field
	Hidden                             []hidden
	CanAccept                          bool
}

// promisePage asks and answers by GET, so that a question can be kept as a
// bookmark and the way back works.
func (v *visit) promisePage() error {
	f := v.blankForm()
	f.values = v.r.URL.Query()
	f.sent = f.values.Has("needed_by")
	return v.drawPromise(f, nil)
}

// drawPromise shows the question, its answer and the form that takes the
// order; rejected is what was wrong with that one when it was sent.
func (v *visit) drawPromise(f *form, rejected error) error {
	names, err := v.shelf()
	if err != nil {
		return err
	}
	q := readQuestion(f)
	var answer *schedule.Answer
	if f.sent && f.ok() {
		answer, err = v.Book.Promise(v.ctx(), v.actor, q)
		if err != nil && !f.takes(err) {
			return err
		}
	}
	bars, err := v.barsAgainst(q, answer)
	if err != nil {
		return err
	}
	if rejected != nil && !f.takes(rejected) {
		return rejected
	}
	view := promiseView{
		rights: v.rights(), Lines: lineRows(f, names, nil), NoDesign: len(names.designs) == 0,
		NeededBy: f.dayInput("needed_by", "Needed by", civil.Date{}).must().least(v.today().String()),
		HandOver: v.handOverInput(f, v.shop.HandOver),
	}
	if answer != nil {
		view.Answer = v.answer(names, q, answer, bars)
		if v.may(orders.Owner) {
			view.Take = v.takeForm(f, names, q, answer.Verdict != schedule.No)
		}
	}
	view.formState = f.state(0)
	return v.show(f.status(), "promise", "Can I promise it?", view)
}

// handOverInput is the input for the days kept for handing over; left empty,
// they are the workshop's own.
func (v *visit) handOverInput(f *form, usual int) field {
	in := f.wholeInput("hand_over_days", "Days to hand over or post", usual).least("0")
	if in.Value == "" {
		in.Value = strconv.Itoa(usual)
	}
	return in
}

func readQuestion(f *form) orders.Question {
	q := orders.Question{NeededBy: f.day("needed_by"), Lines: readLines(f)}
	if f.text("hand_over_days") != "" {
		days := f.whole("hand_over_days", 0)
		q.HandOver = &days
	}
	return q
}

func readLines(f *form) []orders.OrderLine {
	lines := []orders.OrderLine{}
	for i := range f.compact("lines", mostLines, "design_id", "pieces") {
		lines = append(lines, orders.OrderLine{
			ID:        f.text(rowName("lines", i, "id")),
			DesignID:  f.text(rowName("lines", i, "design_id")),
			Pieces:    f.whole(rowName("lines", i, "pieces"), 0),
			Spares:    f.whole(rowName("lines", i, "spares"), 0),
			Keepsakes: f.whole(rowName("lines", i, "keepsakes"), 0),
		})
	}
	return lines
}

// lineRows are the rows of an order's lines, with one to spare.
func lineRows(f *form, names *shelf, lines []orders.OrderLine) [][]field {
	filled := len(lines)
	if f.sent {
		filled = f.compact("lines", mostLines, "design_id", "pieces")
	}
	var rows [][]field
	for i := range filled + 1 {
		var l orders.OrderLine
		if i < len(lines) {
			l = lines[i]
		}
		at := func(key string) string { return rowName("lines", i, key) }
		rows = append(rows, []field{
			f.input("hidden", at("id"), "", l.ID),
			f.selectInput(at("design_id"), "Design", l.DesignID, names.designChoices(l.DesignID)),
			blankZero(f.wholeInput(at("pieces"), "Pieces", l.Pieces)).least("1"),
			blankZero(f.wholeInput(at("spares"), "Spares", l.Spares)).least("0"),
			blankZero(f.wholeInput(at("keepsakes"), "Keepsakes", l.Keepsakes)).least("0"),
		})
	}
	return rows
}

// barsAgainst is what may not be poured of a question that was answered with no.
func (v *visit) barsAgainst(q orders.Question, a *schedule.Answer) ([]orders.Bar, error) {
	if a == nil || a.Verdict != schedule.No {
		return nil, nil
	}
	bars, err := v.Book.Bars(v.ctx(), v.actor)
	return barsOf(q.Lines, bars), err
}

func (v *visit) answer(names *shelf, q orders.Question, a *schedule.Answer, bars []orders.Bar) *answerView {
	view := &answerView{Reasons: reasonTexts(a.Reasons), Picture: v.timePicture(q, a)}
	asked := v.askedText(names, q)
	switch a.Verdict {
	case schedule.Yes:
		view.Verdict, view.Headline = "yes", "Yes"
		view.Text = fmt.Sprintf("%s can be ready on %s. That is in time for %s.", asked, v.words.day(a.Ready), v.words.day(q.NeededBy))
	case schedule.YesIf:
		view.Verdict, view.Headline = "if", "Yes, if something changes"
		view.Text = fmt.Sprintf("%s can be ready by %s only with one of the changes below.", asked, v.words.day(q.NeededBy))
	case schedule.No:
		view.Verdict, view.Headline = "no", "No"
		view.Text = fmt.Sprintf("%s can not be ready by %s.", asked, v.words.day(q.NeededBy))
		if !a.Earliest.IsZero() {
			view.Text += fmt.Sprintf(" The earliest date you could promise with nothing else moved is %s.", v.words.near(a.Earliest))
		}
	}
	view.Facts = v.answerFacts(a)
	for _, alt := range a.Alternatives {
		view.Ways = append(view.Ways, v.way(q, alt, bars))
	}
	if len(bars) > 0 {
		view.barred(asked)
		return view
	}
	view.Proof = v.proof(a)
	if later, ok := v.laterDate(q, a); ok && a.Verdict == schedule.No && !offersDate(a.Alternatives) {
		view.Ways = append(view.Ways, v.way(q, later, nil))
	}
	return view
}

// barred says of an answer that no date, hours or molds make it a yes.
func (a *answerView) barred(asked string) {
	a.Text = asked + " can not be promised for any date, as something of it may not be poured as it is."
	a.Proof = "This is certain until that is changed: a later date, more hours or more molds do not help."
}

// laterDate is a date to ask for where the answer offers none: the earliest
// that can be promised, else the first that is not known to be impossible.
func (v *visit) laterDate(q orders.Question, a *schedule.Answer) (schedule.Alternative, bool) {
	if !a.Earliest.IsZero() {
		return schedule.Alternative{Kind: schedule.AltLaterDate, Text: "Promise " + v.words.day(a.Earliest) + " instead.", NeededBy: a.Earliest}, true
	}
	if a.Bound.IsZero() {
		return schedule.Alternative{}, false
	}
	days := v.shop.HandOver
	if q.HandOver != nil {
		days = *q.HandOver
	}
	first := a.Bound.AddDays(days)
	text := "Nothing is known to stand against " + v.words.day(first) + ". Ask whether it can be promised."
	return schedule.Alternative{Kind: schedule.AltLaterDate, Text: text, NeededBy: first}, first.After(q.NeededBy)
}

func offersDate(alts []schedule.Alternative) bool {
	for _, a := range alts {
		if a.Kind == schedule.AltLaterDate {
			return true
		}
	}
	return false
}

// askedText is what was asked for: "60 Oat and honey and 12 Sea salt".
func (v *visit) askedText(names *shelf, q orders.Question) string {
	var parts []string
	for _, l := range q.Lines {
		parts = append(parts, fmt.Sprintf("%d %s", l.Total(), names.designName(l.DesignID)))
	}
	return join(parts)
}

func (v *visit) answerFacts(a *schedule.Answer) []fact {
	var out []fact
	add := func(name, value string) {
		if value != "" {
			out = append(out, fact{name, value})
		}
	}
	if a.Verdict == schedule.No {
		return nil
	}
	add("Ready", v.words.near(a.Ready))
	add("Must be ready", v.words.day(a.Deadline))
	if !a.Ready.IsZero() && !a.Deadline.IsZero() {
		add("To spare", count(a.Deadline.Sub(a.Ready), "day"))
	}
	add("Last safe pour", v.words.near(a.LastSafePour))
	if !a.LastSafePour.IsZero() || len(a.Keys) > 0 {
		remake := "none: if a batch fails there is no time for another"
		if !a.RemakeBy.IsZero() {
			remake = "a failed batch can be poured again until " + v.words.at(a.RemakeBy)
		}
		add("Second try", remake)
	}
	add("New batches", strconv.Itoa(len(a.Keys)))
	return out
}

// proof says how sure a "no" is.
func (v *visit) proof(a *schedule.Answer) string {
	switch {
	case a.Verdict != schedule.No:
		return ""
	case a.Proved && !a.Bound.IsZero():
		return fmt.Sprintf("This is certain: no plan can be ready before %s.", v.words.day(a.Bound))
	case a.Proved:
		return "This is certain: no plan can meet the date."
	case !a.Bound.IsZero():
		return fmt.Sprintf("No plan that meets the date was found. It is only certain that none can be ready before %s.", v.words.day(a.Bound))
	}
	return "No plan that meets the date was found. It is not certain that there is none."
}

func reasonTexts(reasons []schedule.Reason) []string {
	var out []string
	for _, r := range reasons {
		out = append(out, r.Text)
	}
	return out
}

// way turns an alternative into something to pick.
func (v *visit) way(q orders.Question, alt schedule.Alternative, bars []orders.Bar) wayView {
	w := wayView{Text: alt.Text, Ready: v.words.day(alt.Ready)}
	switch alt.Kind {
	case schedule.AltLaterDate:
		q.NeededBy = alt.NeededBy
		w.Href, w.Button = "/promise?"+questionQuery(q), "Ask for this date"
	case schedule.AltFewer:
		w.Href, w.Button = "/promise?"+questionQuery(fewer(q, alt.Pieces)), "Ask for fewer"
	case schedule.AltExtraWindow:
		if v.may(orders.Owner) {
			w.Action, w.Button = "/promise/extra-hours", "Add these hours and ask again"
			w.Hidden = append(questionHidden(q), hidden{"date", alt.Window.Date.String()},
				hidden{"from", alt.Window.From.String()}, hidden{"to", alt.Window.To.String()})
			for _, s := range alt.Window.Steps {
				w.Hidden = append(w.Hidden, hidden{"step_" + string(s), "1"})
			}
		}
	case schedule.AltMend:
		w.Text, w.Ready = v.words.dated(alt.Text), "" // which the text says
		if bar, ok := byID(bars, alt.DesignID, func(b orders.Bar) string { return b.DesignID }); ok {
			link := mendLink(bar)
			w.Href, w.Button = link.Href, link.Title
		}
	case schedule.AltMinimumCure, schedule.AltMoveBatch:
		w.Note = "Take the order below: the plan then follows, or asks for your yes."
	}
	return w
}

// fewer asks for pieces in all, taken off the last lines first.
func fewer(q orders.Question, pieces int) orders.Question {
	left := pieces
	lines := make([]orders.OrderLine, 0, len(q.Lines))
	for _, l := range q.Lines {
		l.Spares, l.Keepsakes = min(l.Spares, max(0, left-l.Pieces)), min(l.Keepsakes, max(0, left-l.Pieces-l.Spares))
		l.Pieces = min(l.Pieces, left)
		left -= l.Total()
		if l.Pieces > 0 {
			lines = append(lines, l)
		}
	}
	q.Lines = lines
	return q
}

// questionHidden is the question as a form carries it.
func questionHidden(q orders.Question) []hidden {
	out := []hidden{{"needed_by", q.NeededBy.String()}}
	if q.HandOver != nil {
		out = append(out, hidden{"hand_over_days", strconv.Itoa(*q.HandOver)})
	}
	for i, l := range q.Lines {
		out = append(
			out,
			hidden{rowName("lines", i, "design_id"), l.DesignID},
			hidden{rowName("lines", i, "pieces"), strconv.Itoa(l.Pieces)},
			hidden{rowName("lines", i, "spares"), strconv.Itoa(l.Spares)},
			hidden{rowName("lines", i, "keepsakes"), strconv.Itoa(l.Keepsakes)},
		)
	}
	return out
}

func questionQuery(q orders.Question) string {
	var pairs []string
	for _, h := range questionHidden(q) {
		pairs = append(pairs, h.Name, h.Value)
	}
	return query(pairs...)
}

func (v *visit) takeForm(f *form, names *shelf, q orders.Question, canAccept bool) *takeView {
	return &takeView{
		Customer: f.selectInput("customer_id", "Customer", "", names.customerChoices("")),
		NewCustomer: f.textInput("new_customer", "or a new customer's name", "").
			hint("Leave the choice above empty."),
		Title:     f.textInput("title", "What it is for", "").hint("Such as “Naming day, 60 favours”."),
		Note:      f.input("area", "note", "Note", ""),
		Hidden:    questionHidden(q),
		CanAccept: canAccept,
	}
}

// addPromisedHours makes the extra hours an answer asked for, and asks again.
func (v *visit) addPromisedHours() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	rec := orders.ExtraWindow{Date: f.day("date"), From: f.minute("from"), To: f.minute("to"), Steps: readSteps(f, ""), Reason: "To meet a date"}
	q := readQuestion(f)
	if f.ok() {
		if _, err := v.Book.Extras.Create(v.once(f), v.actor, rec); err != nil {
			return err
		}
		return v.replanned("/promise?"+questionQuery(q), fmt.Sprintf("Added extra hours on %s, %s–%s.", v.words.day(rec.Date), rec.From, rec.To))
	}
	return &orders.Invalid{Fields: f.errs}
}
