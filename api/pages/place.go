package pages

import (
	"fmt"
	"strconv"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule"
)

func molds() recordKind[orders.Mold] {
	return recordKind[orders.Mold]{
		path: "/molds", one: "mold", many: "Molds",
		intro:   "What you pour into. Measure inside the mold. The plan never pours into more molds than you have.",
		empty:   "No mold yet. Add the first one: the plan needs to know how much fits.",
		keep:    "A mold that a batch was poured in stays for the record. Tick “no longer used” instead.",
		records: func(b *orders.Book) orders.Records[orders.Mold] { return b.Molds },
		meta:    func(m *orders.Mold) *orders.Meta { return &m.Meta },
		blank: func(*visit) orders.Mold {
			return orders.Mold{Kind: calc.MoldLoaf, Count: 1, MinFill: 50 * calc.Percent, CleanMinutes: 30}
		},
		row: moldRow, fields: moldFields, read: readMold,
	}
}

func moldRow(v *visit, _ *shelf, m orders.Mold) recordRow {
	size := fmt.Sprintf("%s × %s × %s", v.words.length(m.Length), v.words.length(m.Width), v.words.length(m.Depth))
	if m.Kind == calc.MoldCavity {
		size = count(m.Cavities, "cavity") + " of " + v.words.volume(m.CavityVolume)
	}
	row := recordRow{Title: m.Name, Badge: strconv.Itoa(m.Count) + " ×", Lines: []string{capital(string(m.Kind)) + ", " + size}}
	if m.Retired {
		row.Faint, row.Badge = true, "no longer used"
	}
	return row
}

func moldFields(f *form, _ *shelf, m orders.Mold) []fieldGroup {
	w := f.words
	volume := ""
	if m.CavityVolume != 0 {
		volume = trimZeros(strconv.FormatFloat(float64(m.CavityVolume)/float64(calc.Millilitre), 'f', 3, 64))
	}
	return []fieldGroup{
		{Fields: []field{
			f.textInput("name", "Name", m.Name).must(),
			f.selectInput("kind", "Kind", string(m.Kind), []option{
				{Value: "loaf", Label: "Loaf: one block, sliced"},
				{Value: "slab", Label: "Slab: one flat block, cut in a grid"},
				{Value: "cavity", Label: "Cavities: one piece or more in each"},
			}),
			f.wholeInput("count", "How many you have", m.Count).must().least("1"),
		}},
		{Title: "Inside size", Hint: "For cavities, the size of one cavity.", Fields: []field{
			f.quantityInput("length_um", "Length", w.lengthValue(m.Length), w.lengthUnit()).must(),
			f.quantityInput("width_um", "Width", w.lengthValue(m.Width), w.lengthUnit()).must(),
			f.quantityInput("depth_um", "Depth", w.lengthValue(m.Depth), w.lengthUnit()),
		}},
		{Title: "Only for cavities", Hint: "Leave these empty for a loaf or a slab.", Fields: []field{
			blankZero(f.wholeInput("cavities", "Number of cavities", m.Cavities)),
			f.quantityInput("cavity_volume_ul", "Volume of one", volume, "ml"),
		}},
		{Title: "Use", Fields: []field{
			f.quantityInput("min_fill_ppm", "Least fill worth pouring", percentValue(m.MinFill), "%"),
			f.wholeInput("clean_minutes", "Minutes to clean after the cut", m.CleanMinutes),
			f.tickInput("retired", "No longer used", m.Retired),
		}},
	}
}

func readMold(f *form, _ *shelf, m *orders.Mold) {
	m.Name, m.Kind = f.text("name"), calc.MoldKind(f.text("kind"))
	m.Count = f.whole("count", 0)
	m.Length, m.Width, m.Depth = f.length("length_um"), f.length("width_um"), f.length("depth_um")
	m.Cavities, m.CavityVolume = f.whole("cavities", 0), f.volume("cavity_volume_ul")
	m.MinFill, m.CleanMinutes = f.percent("min_fill_ppm"), f.whole("clean_minutes", 0)
	m.Retired = f.ticked("retired")
}

// blankZero leaves a number input empty rather than at 0, unless the 0 is what
// was wrong.
func blankZero(in field) field {
	if in.Value == "0" && in.Err == "" {
		in.Value = ""
	}
	return in
}

func moldOuts() recordKind[orders.MoldOut] {
	return recordKind[orders.MoldOut]{
		path: "/missing-molds", one: "missing mold", many: "Missing molds",
		intro:   "Molds that are broken, lent or away on some days. The plan does without them.",
		empty:   "All your molds are there.",
		records: func(b *orders.Book) orders.Records[orders.MoldOut] { return b.MoldOuts },
		meta:    func(m *orders.MoldOut) *orders.Meta { return &m.Meta },
		blank:   func(v *visit) orders.MoldOut { return orders.MoldOut{From: v.today(), To: v.today(), Units: 1} },
		row: func(v *visit, s *shelf, m orders.MoldOut) recordRow {
			return recordRow{
				Title: fmt.Sprintf("%d × %s", m.Units, s.moldName(m.MoldID)),
				Lines: nonEmpty(v.words.days(m.From, m.To), m.Reason), Faint: m.To.Before(v.today()),
			}
		},
		fields: func(f *form, s *shelf, m orders.MoldOut) []fieldGroup {
			return []fieldGroup{{Fields: []field{
				f.selectInput("mold_id", "Mold", m.MoldID, s.moldChoices(m.MoldID)).must(),
				f.wholeInput("units", "How many are missing", m.Units).must().least("1"),
				f.dayInput("from", "First day", m.From).must(),
				f.dayInput("to", "Last day", m.To).must(),
				f.textInput("reason", "Why", m.Reason),
			}}}
		},
		read: func(f *form, _ *shelf, m *orders.MoldOut) {
			m.MoldID, m.Units, m.Reason = f.text("mold_id"), f.whole("units", 0), f.text("reason")
			m.From, m.To = f.day("from"), f.day("to")
		},
	}
}

func racks() recordKind[orders.Rack] {
	return recordKind[orders.Rack]{
		path: "/racks", one: "rack", many: "Racks",
		intro:   "Where pieces cure. The plan never cuts more than your shelves can hold, with the spacing of each design.",
		empty:   "No rack yet. Add one: a cut batch needs somewhere to cure.",
		records: func(b *orders.Book) orders.Records[orders.Rack] { return b.Racks },
		meta:    func(r *orders.Rack) *orders.Meta { return &r.Meta },
		blank:   func(*visit) orders.Rack { return orders.Rack{Shelves: 1} },
		row: func(v *visit, _ *shelf, r orders.Rack) recordRow {
			size := v.words.length(r.Width) + " × " + v.words.length(r.Depth)
			row := recordRow{Title: r.Name, Lines: []string{count(r.Shelves, "shelf") + " of " + size}}
			if r.Retired {
				row.Faint, row.Badge = true, "no longer used"
			}
			return row
		},
		fields: func(f *form, _ *shelf, r orders.Rack) []fieldGroup {
			w := f.words
			return []fieldGroup{{Fields: []field{
				f.textInput("name", "Name", r.Name).must(),
				f.wholeInput("shelves", "Shelves", r.Shelves).must().least("1"),
				f.quantityInput("width_um", "Width of a shelf", w.lengthValue(r.Width), w.lengthUnit()).must(),
				f.quantityInput("depth_um", "Depth of a shelf", w.lengthValue(r.Depth), w.lengthUnit()).must(),
				f.tickInput("retired", "No longer used", r.Retired),
			}}}
		},
		read: func(f *form, _ *shelf, r *orders.Rack) {
			r.Name, r.Shelves, r.Retired = f.text("name"), f.whole("shelves", 0), f.ticked("retired")
			r.Width, r.Depth = f.length("width_um"), f.length("depth_um")
		},
	}
}

func closedDays() recordKind[orders.ClosedDays] {
	return recordKind[orders.ClosedDays]{
		path: "/closed-days", one: "closed days", many: "Closed days",
		intro:   "Days on which nothing is done by hand: holidays, fairs, a family visit. Soap goes on curing.",
		empty:   "No closed days. Add your holidays as soon as you know them: the plan then works around them.",
		records: func(b *orders.Book) orders.Records[orders.ClosedDays] { return b.Closed },
		meta:    func(d *orders.ClosedDays) *orders.Meta { return &d.Meta },
		blank:   func(*visit) orders.ClosedDays { return orders.ClosedDays{} },
		row: func(v *visit, _ *shelf, d orders.ClosedDays) recordRow {
			return recordRow{Title: v.words.days(d.From, d.To), Lines: nonEmpty(d.Reason), Faint: d.To.Before(v.today())}
		},
		fields: func(f *form, _ *shelf, d orders.ClosedDays) []fieldGroup {
			return []fieldGroup{{Fields: []field{
				f.dayInput("from", "First day", d.From).must(),
				f.dayInput("to", "Last day", d.To).hint("Leave it empty for one day."),
				f.textInput("reason", "Why", d.Reason),
			}}}
		},
		read: func(f *form, _ *shelf, d *orders.ClosedDays) {
			d.From, d.To, d.Reason = f.day("from"), f.day("to"), f.text("reason")
			if f.text("to") == "" {
				d.To = d.From
			}
		},
	}
}

func extraHours() recordKind[orders.ExtraWindow] {
	return recordKind[orders.ExtraWindow]{
		path: "/extra-hours", one: "extra hours", many: "Extra hours",
		intro:   "Working time on one date, beside your weekly hours.",
		empty:   "No extra hours. Add some when a date is tight: the plan uses them at once.",
		records: func(b *orders.Book) orders.Records[orders.ExtraWindow] { return b.Extras },
		meta:    func(e *orders.ExtraWindow) *orders.Meta { return &e.Meta },
		blank: func(v *visit) orders.ExtraWindow {
			return orders.ExtraWindow{Date: v.today().AddDays(1), From: 18 * 60, To: 21 * 60}
		},
		row: func(v *visit, _ *shelf, e orders.ExtraWindow) recordRow {
			return recordRow{
				Title: fmt.Sprintf("%s %s–%s", v.words.day(e.Date), e.From, e.To),
				Lines: nonEmpty(stepsText(e.Steps), e.Reason), Faint: e.Date.Before(v.today()),
			}
		},
		fields: func(f *form, _ *shelf, e orders.ExtraWindow) []fieldGroup {
			return []fieldGroup{
				{Fields: []field{
					f.dayInput("date", "Day", e.Date).must(),
					f.minuteInput("from", "From", &e.From).must(),
					f.endInput("to", "To", &e.To).must(),
					f.textInput("reason", "Why", e.Reason),
				}},
				{Title: "For", Hint: "Tick none for any work.", Fields: stepTicks(f, "", e.Steps)},
			}
		},
		read: func(f *form, _ *shelf, e *orders.ExtraWindow) {
			e.Date, e.From, e.To = f.day("date"), f.minute("from"), f.end("to")
			e.Steps, e.Reason = readSteps(f, ""), f.text("reason")
		},
	}
}

// stepTicks are the boxes that limit a window to some steps; prefix sets one
// window's boxes apart.
func stepTicks(f *form, prefix string, chosen []schedule.Step) []field {
	var out []field
	for _, step := range orders.Steps {
		ticked := false
		for _, c := range chosen {
			ticked = ticked || c == step
		}
		out = append(out, f.tickInput(prefix+"step_"+string(step), stepName(step), ticked))
	}
	return out
}

func readSteps(f *form, prefix string) []schedule.Step {
	steps := []schedule.Step{}
	for _, step := range orders.Steps {
		if f.ticked(prefix + "step_" + string(step)) {
			steps = append(steps, step)
		}
	}
	return steps
}

func stepName(s schedule.Step) string {
	switch s {
	case schedule.StepTrial:
		return "Trial"
	case schedule.StepMake:
		return "Pour"
	case schedule.StepCut:
		return "Cut"
	case schedule.StepWrap:
		return "Wrap"
	}
	return capital(string(s))
}

// stepsText is "for pour and cut", or "for any work".
func stepsText(steps []schedule.Step) string {
	if len(steps) == 0 || len(steps) == len(orders.Steps) {
		return "for any work"
	}
	names := make([]string, len(steps))
	for i, s := range steps {
		names[i] = lower(stepName(s))
	}
	return "for " + join(names)
}

func nonEmpty(texts ...string) []string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}
