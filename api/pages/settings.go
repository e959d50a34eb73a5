package pages

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

// moreView is the way to everything that has no place in the navigation.
type moreView struct {
	rights
	Person string
	Role   string
	Groups []linkGroup
	Demo   bool
}

type linkGroup struct {
	ID    string
	Title string
	Links []linkView
}

type linkView struct{ Href, Title, Text string }

func (v *visit) morePage() error {
	view := moreView{rights: v.rights(), Person: v.person.Name, Role: string(v.actor.Role), Demo: v.shop.Demo, Groups: []linkGroup{
		{"soap", "Soap", []linkView{
			{"/batches", "Batches", "All of them, by how far they have come"},
			{"/designs", "Designs", "What customers order, with the cut"},
			{"/recipes", "Recipes", "Oils, lye, times and cure"},
			{"/trials", "Trials", "Small pours and how they were judged"},
			{"/supplies", "Supplies", "What to order by when"},
			{"/ingredients", "Ingredients", "What your recipes use"},
			{"/lots", "Lots", "What you received, by the supplier's code"},
			{"/trace", "Trace", "From a lot to the customers, and back"},
			{"/stock", "Stock", "Wrapped pieces on the shelf"},
			{"/customers", "Customers", "Who orders from you"},
		}},
		{"place", "Place and time", []linkView{
			{"/hours", "Hours", "When you work, and on what"},
			{"/closed-days", "Closed days", "Holidays and fairs"},
			{"/extra-hours", "Extra hours", "Working time on one date"},
			{"/molds", "Molds", "What you pour into"},
			{"/missing-molds", "Missing molds", "Broken or lent on some days"},
			{"/racks", "Racks", "Where soap cures"},
			{"/workshop", "Settings", "Name, time zone, units, people at work"},
		}},
		{"people", "Calendar, reminders, people", []linkView{
			{"/calendars", "Calendar feeds", "The plan in your calendar app"},
			{"/reminders", "Reminders", "What is sent, when, and what was sent"},
			{"/people", "People", "Who can sign in, and what they may do"},
			{"/tokens", "Access for programs", "Tokens for the JSON interface"},
			{"/journal", "Journal", "Who did what, when"},
		}},
	}}
	return v.show(http.StatusOK, "more", "Workshop", view)
}

type settingsView struct {
	rights
	formState
	Fields []fieldGroup
	Zones  choices
}

func (v *visit) settingsPage() error { return v.drawSettings(v.blankForm(), v.shop) }

func (v *visit) drawSettings(f *form, w orders.Workshop) error {
	view := settingsView{rights: v.rights(), Zones: choices{"zones", v.assets.Zones}, Fields: []fieldGroup{
		{Fields: []field{
			f.textInput("name", "Name of the workshop", w.Name).must(),
			f.textInput("zone", "Time zone", w.Zone).must().list("zones").hint("The nearest large city, such as Europe/Lisbon."),
			f.selectInput("units", "Units", w.Units, []option{{Value: "metric", Label: "Grams and millimetres"}, {Value: "imperial", Label: "Ounces and inches"}}),
			f.selectInput("locale", "Dates in", w.Locale, localeChoices(w.Locale)),
			f.textInput("currency", "Currency", w.Currency).hint("Three letters, such as EUR. Amounts already written are not converted when it changes."),
		}},
		{Title: "Planning", Fields: []field{
			f.wholeInput("hands", "People who can work at once", w.Hands).least("1"),
			f.wholeInput("firm_days", "Days ahead that only move with your yes", w.FirmDays).least("0"),
			f.wholeInput("hand_over_days", "Days kept for handing over or posting an order", w.HandOver).least("0"),
		}},
	}}
	view.Fields = append(view.Fields, labelSettings(f, w)...)
	view.formState = f.state(w.Version)
	return v.show(f.status(), "settings", "Settings", view)
}

// localeChoices are the languages that dates can be written in, and the one
// set now.
func localeChoices(now string) []option {
	out := []option{
		{Value: "en-GB", Label: "English: Thu 3 Dec"},
		{Value: "de-DE", Label: "Deutsch: Do 3. Dez"},
		{Value: "fr-FR", Label: "Français: jeu. 3 déc."},
		{Value: "pt-PT", Label: "Português: qui 3 dez"},
		{Value: "es-ES", Label: "Español: jue 3 dic"},
	}
	if !slices.ContainsFunc(out, func(o option) bool { return o.Value == now }) {
		out = append(out, option{Value: now, Label: now})
	}
	return out
}

func (v *visit) changeSettings() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	w := v.shop
	w.Version = f.version()
	w.Name, w.Zone, w.Units = f.text("name"), f.text("zone"), f.text("units")
	w.Locale, w.Currency = f.text("locale"), f.text("currency")
	w.Hands, w.FirmDays, w.HandOver = f.whole("hands", 0), f.whole("firm_days", 0), f.whole("hand_over_days", 0)
	readLabelSettings(f, &w)
	return v.saveWorkshop(f, w, "/workshop", "Settings saved.", v.drawSettings)
}

// saveWorkshop writes w, or shows the form again.
func (v *visit) saveWorkshop(f *form, w orders.Workshop, path, said string, draw func(*form, orders.Workshop) error) error {
	if f.ok() {
		_, err := v.Book.ChangeWorkshop(v.once(f), v.actor, w)
		if err == nil {
			return v.replanned(path, said)
		}
		if !f.takes(err) {
			return err
		}
	}
	return draw(f, v.shop)
}

func (v *visit) removeDemo() error {
	if _, err := v.sentForm(); err != nil {
		return err
	}
	err := v.Book.RemoveDemo(v.ctx(), v.actor)
	if errors.Is(err, orders.ErrConflict) {
		return v.toldThere("/more", err)
	}
	if err != nil {
		return err
	}
	return v.seeOther("/start", "The demo is gone. The workshop is yours now, with its people and hours.")
}

type hoursView struct {
	rights
	formState
	Err  string
	Week []dayHours
	Rows []hourRow
}

// dayHours is one weekday's hours in words.
type dayHours struct {
	Day     string
	Windows []string
}

type hourRow struct {
	Fields []field
	Steps  []field
}

func weekdayNames() [7]string {
	return [7]string{"Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"}
}

// mondayFirst are the weekdays in the order that pages show them.
func mondayFirst() []time.Weekday {
	return []time.Weekday{1, 2, 3, 4, 5, 6, 0}
}

func (v *visit) hoursPage() error { return v.drawHours(v.blankForm(), v.shop) }

func (v *visit) drawHours(f *form, w orders.Workshop) error {
	hours := byWeekday(w.Hours)
	view := hoursView{rights: v.rights()}
	filled := len(hours)
	if f.sent {
		filled = f.compact("hours", mostRows, "from", "to")
	}
	for i := range filled + spareRows {
		var window *orders.Window
		if i < len(hours) {
			window = &hours[i]
		}
		view.Rows = append(view.Rows, hourInputs(f, i, window))
	}
	for _, d := range mondayFirst() {
		day := dayHours{Day: weekdayNames()[d]}
		for _, h := range hours {
			if h.Weekday == d {
				day.Windows = append(day.Windows, h.From.String()+"–"+h.To.String()+" "+stepsText(h.Steps))
			}
		}
		view.Week = append(view.Week, day)
	}
	view.Err = f.group("hours", "Hours").Err
	view.formState = f.state(w.Version)
	return v.show(f.status(), "hours", "Hours", view)
}

// byWeekday sorts from Monday on.
func byWeekday(hours []orders.Window) []orders.Window {
	out := slices.Clone(hours)
	slices.SortStableFunc(out, func(a, b orders.Window) int {
		if a.Weekday != b.Weekday {
			return (int(a.Weekday)+6)%7 - (int(b.Weekday)+6)%7
		}
		return int(a.From - b.From)
	})
	return out
}

// hourInputs is one row; an empty row has no window.
func hourInputs(f *form, i int, w *orders.Window) hourRow {
	day := "1"
	var from, to *civil.Minute
	var window orders.Window
	if w != nil {
		window = *w
		day, from, to = strconv.Itoa(int(w.Weekday)), &w.From, &w.To
	}
	var days []option
	for _, d := range mondayFirst() {
		days = append(days, option{Value: strconv.Itoa(int(d)), Label: weekdayNames()[d]})
	}
	return hourRow{
		Fields: []field{
			f.selectInput(rowName("hours", i, "weekday"), "Day", day, days),
			f.minuteInput(rowName("hours", i, "from"), "From", from),
			f.endInput(rowName("hours", i, "to"), "To", to),
		},
		Steps: stepTicks(f, rowName("hours", i, ""), window.Steps),
	}
}

func (v *visit) changeHours() error {
	f, err := v.sentForm()
	if err != nil {
		return err
	}
	w := v.shop
	w.Version = f.version()
	w.Hours = []orders.Window{}
	for i := range f.compact("hours", mostRows, "from", "to") {
		w.Hours = append(w.Hours, orders.Window{
			Weekday: time.Weekday(f.whole(rowName("hours", i, "weekday"), 1)),
			From:    f.minute(rowName("hours", i, "from")), To: f.end(rowName("hours", i, "to")),
			Steps: readSteps(f, rowName("hours", i, "")),
		})
	}
	return v.saveWorkshop(f, w, "/hours", "Hours saved.", v.drawHours)
}
