package pages

import (
	"cmp"
	"fmt"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"time"

	"ripeline/orders"
	"ripeline/schedule/civil"
)

type remindersView struct {
	rights
	MailSet    bool
	Me         string // address of the page that sets my own times
	Mine       []string
	Rules      []ruleRow
	Deliveries []deliveryRow
	More       string
}

type ruleRow struct {
	Href, Title, Text, Who string
	Next                   []string
	Off                    bool
}

type deliveryRow struct {
	When, Who, Subject, Status, Text, Error string
	Failed                                  bool
}

func (v *visit) remindersPage() error {
	names, err := v.shelf()
	if err != nil {
		return err
	}
	rules, err := every(v, v.Book.Rules)
	if err != nil {
		return err
	}
	view := remindersView{rights: v.rights(), MailSet: v.MailSet, Me: "/people/" + v.person.ID, Mine: mailTimes(v.person)}
	for _, r := range rules {
		next, err := v.nextTimes(r)
		if err != nil {
			return err
		}
		view.Rules = append(view.Rules, ruleRow{
			Href: "/rules/" + r.ID, Title: r.Name, Text: ruleText(r), Who: names.personName(r.PersonID), Next: next, Off: r.Off,
		})
	}
	page, err := v.Book.Deliveries(v.ctx(), v.actor, orders.ListQuery{Limit: 30, Cursor: v.r.URL.Query().Get("after")})
	if err != nil {
		return err
	}
	for _, d := range page.Items {
		view.Deliveries = append(view.Deliveries, deliveryRow{
			When: v.words.at(d.DueAt), Who: names.personName(d.PersonID), Subject: cmp.Or(d.Subject, deliveryName(d.Kind, rules)), Text: d.Text,
			Status: deliveryText(d.Status), Error: d.LastError, Failed: d.Status == orders.DeliveryFailed,
		})
	}
	if page.Next != "" {
		view.More = "/reminders?" + query("after", page.Next)
	}
	return v.show(http.StatusOK, "reminders", "Reminders", view)
}

func mailTimes(p orders.Person) []string {
	var out []string
	if p.DigestAt != nil {
		out = append(out, fmt.Sprintf("At %s, what there is to do tomorrow", *p.DigestAt))
	}
	if p.DigestToday != nil {
		out = append(out, fmt.Sprintf("At %s, what there is to do today", *p.DigestToday))
	}
	if p.QuietFrom != nil && p.QuietTo != nil {
		out = append(out, fmt.Sprintf("No mails about changes from %s to %s", *p.QuietFrom, *p.QuietTo))
	}
	return out
}

// deliveryName is what a delivery that has no words yet is about.
func deliveryName(kind string, rules []orders.ReminderRule) string {
	switch kind {
	case "digest":
		return "What there is to do tomorrow"
	case "digest-today":
		return "What there is to do today"
	case "change":
		return "Changes to the plan"
	}
	rule, ok := byID(rules, strings.TrimPrefix(kind, "rule:"), func(r orders.ReminderRule) string { return r.ID })
	return nameOr(rule.Name, ok, "A reminder whose rule was removed")
}

func deliveryText(s orders.DeliveryStatus) string {
	switch s {
	case orders.DeliveryDue:
		return "to be sent"
	case orders.DeliverySent:
		return "sent"
	case orders.DeliveryShown:
		return "shown here only"
	case orders.DeliveryFolded:
		return "came too late, part of the next one"
	case orders.DeliveryEmpty:
		return "nothing to say"
	case orders.DeliveryFailed:
		return "could not be sent"
	}
	return string(s)
}

// nextTimes is the next three times a rule fires, in words.
func (v *visit) nextTimes(r orders.ReminderRule) ([]string, error) {
	if r.Off {
		return nil, nil
	}
	times, err := v.Book.NextTimes(v.ctx(), v.actor, r.Cron, 3)
	if err != nil {
		return nil, err
	}
	return v.timesText(times), nil
}

func (v *visit) timesText(times []time.Time) []string {
	out := make([]string, len(times))
	for i, t := range times {
		out[i] = v.words.at(t)
	}
	return out
}

// ruleText is what a rule looks for: "when there is a cut the day after".
func ruleText(r orders.ReminderRule) string {
	day := "the same day"
	switch {
	case r.LeadDays == 1:
		day = "the day after"
	case r.LeadDays > 1:
		day = count(r.LeadDays, "day") + " later"
	}
	return "when there is this to do " + day + ": " + lower(taskName(r.Kind))
}

func rules() recordKind[orders.ReminderRule] {
	return recordKind[orders.ReminderRule]{
		path: "/rules", one: "reminder", many: "Reminder rules", home: "/reminders",
		intro:   "Reminders of your own, beside the daily mail.",
		empty:   "No rule yet.",
		records: func(b *orders.Book) orders.Records[orders.ReminderRule] { return b.Rules },
		meta:    func(r *orders.ReminderRule) *orders.Meta { return &r.Meta },
		blank: func(v *visit) orders.ReminderRule {
			return orders.ReminderRule{PersonID: v.person.ID, Name: "The evening before a cut", Cron: "0 18 * * *", Kind: orders.TaskCut, LeadDays: 1}
		},
		row: func(_ *visit, s *shelf, r orders.ReminderRule) recordRow {
			return recordRow{Title: r.Name, Lines: []string{capital(ruleText(r)), "For " + s.personName(r.PersonID)}, Faint: r.Off}
		},
		fields: ruleFields, read: readRule, aside: ruleAside,
	}
}

func ruleFields(f *form, s *shelf, r orders.ReminderRule) []fieldGroup {
	var kinds []option
	for _, k := range []orders.TaskKind{
		orders.TaskMake, orders.TaskCut, orders.TaskWrap, orders.TaskHandOver, orders.TaskSupplies, orders.TaskTrial, orders.TaskCure,
	} {
		kinds = append(kinds, option{Value: string(k), Label: taskName(k)})
	}
	when := ruleTimeOf(r.Cron)
	return []fieldGroup{{Fields: []field{
		f.textInput("name", "Name", r.Name).must(),
		f.selectInput("person_id", "For", r.PersonID, s.personChoices(r.PersonID)).must(),
		f.selectInput("kind", "Remind of", string(r.Kind), kinds),
		f.wholeInput("lead_days", "Days ahead", r.LeadDays).least("0").hint("0 looks at the same day, 1 at the day after."),
		f.minuteInput("at", "At", when.at),
		f.selectInput("days", "On", when.days, ruleDays()),
		f.textInput("cron", "Or, instead, as a cron line", when.cron).
			hint("Only for times that the two above can not say: minute, hour, day of the month, month, weekday, with * for any."),
		f.tickInput("off", "Off for now", r.Off),
	}}}
}

// ruleTime is when a rule looks, as its form shows it: a time and days where
// these can say it, else the cron line.
type ruleTime struct {
	at   *civil.Minute
	days string // weekdays as cron writes them
	cron string
}

// plainCron is a cron line of one time on every, some or one weekday.
var plainCron = regexp.MustCompile(`^([0-9]{1,2}) ([0-9]{1,2}) \* \* (\*|1-5|0,6|[0-6])$`)

func ruleTimeOf(cron string) ruleTime {
	parts := plainCron.FindStringSubmatch(cron)
	if parts == nil {
		return ruleTime{days: "*", cron: cron}
	}
	var hour, minute int
	if _, err := fmt.Sscan(parts[2]+" "+parts[1], &hour, &minute); err != nil || hour > 23 || minute > 59 {
		return ruleTime{days: "*", cron: cron}
	}
	at := civil.Minute(hour*60 + minute)
	return ruleTime{at: &at, days: parts[3]}
}

func ruleDays() []option {
	out := []option{{Value: "*", Label: "Every day"}, {Value: "1-5", Label: "Monday to Friday"}, {Value: "0,6", Label: "Saturday and Sunday"}}
	for _, d := range mondayFirst() {
		out = append(out, option{Value: strconv.Itoa(int(d)), Label: weekdayNames()[d] + "s"})
	}
	return out
}

// readCron is the cron line that was typed, else the one of the time and days.
func readCron(f *form) string {
	if cron := f.text("cron"); cron != "" {
		return cron
	}
	at := f.minuteOrNone("at")
	if at == nil {
		if f.text("at") == "" {
			f.fail("at", "is empty; give a time of day, like 18:00")
		}
		return ""
	}
	return fmt.Sprintf("%d %d * * %s", int(*at)%60, int(*at)/60, f.text("days"))
}

func readRule(f *form, _ *shelf, r *orders.ReminderRule) {
	r.Name, r.PersonID, r.Cron = f.text("name"), f.text("person_id"), readCron(f)
	r.Kind, r.LeadDays, r.Off = orders.TaskKind(f.text("kind")), f.whole("lead_days", 0), f.ticked("off")
}

// ruleAside is when the rule looks next. A rule that was stored can be read;
// should that fail the times are left out rather than the page.
func ruleAside(v *visit, _ *shelf, r orders.ReminderRule) aside {
	next, err := v.nextTimes(r)
	if err != nil {
		return aside{Title: "Next times", Warn: []string{"The next times could not be worked out: " + err.Error()}}
	}
	if r.Off {
		next = []string{"It is off: nothing is sent."}
	}
	return aside{Title: "The next " + strconv.Itoa(max(1, len(next))) + " times it looks", Lines: next}
}
