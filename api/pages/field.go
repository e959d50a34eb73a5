package pages

import (
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"ripeline/schedule/civil"
)

// field is one input of a form as it is drawn.
type field struct {
	Name, ID string
	Kind     string // of <input>, or "select", "area", "tick"
	Label    string
	Value    string
	Hint     string
	Unit     string // drawn behind the input
	Err      string
	Options  []option
	Ticked   bool
	Required bool
	Short    bool // a narrow input
	Half     bool // two of them stand side by side on a phone
	Min, Max string
	Mode     string // inputmode
	Auto     string // autocomplete
	List     string // id of a datalist
}

// option is one choice of a select.
type option struct {
	Value, Label string
	Chosen       bool
}

// problem is a line of the list of what is wrong, above a rejected form.
type problem struct {
	ID   string // of the input; "" when the page has none
	Text string
}

// input draws an input; what was typed wins over the value given. An input
// that was not part of the form sent keeps its value.
func (f *form) input(kind, name, label, value string) field {
	if f.sent && f.values.Has(name) {
		value = f.values.Get(name)
	}
	f.drawn[name], f.labels[name] = fieldID(name), label
	out := field{Name: name, ID: fieldID(name), Kind: kind, Label: label, Value: value}
	for _, e := range f.errs {
		if e.Field == name {
			out.Err = strings.TrimSpace(out.Err + " " + messageOf(label, e.Message))
		}
	}
	return out
}

func (f *form) textInput(name, label, value string) field {
	return f.input("text", name, label, value)
}

func (f *form) wholeInput(name, label string, value int) field {
	in := f.input("number", name, label, strconv.Itoa(value))
	in.Mode, in.Short = "numeric", true
	return in
}

// quantityInput is typed as text, since a browser's number input refuses a
// decimal comma or a unit.
func (f *form) quantityInput(name, label, value, unit string) field {
	in := f.input("text", name, label, value)
	in.Mode, in.Unit, in.Short = "decimal", unit, true
	return in
}

func (f *form) dayInput(name, label string, value civil.Date) field {
	return f.input("date", name, label, value.String())
}

func (f *form) minuteInput(name, label string, value *civil.Minute) field {
	text := ""
	if value != nil {
		text = value.String()
	}
	in := f.input("time", name, label, text)
	in.Short = true
	return in
}

// endInput is minuteInput for the end of a window. Midnight is its 00:00: no browser
// shows or sends 24:00.
func (f *form) endInput(name, label string, value *civil.Minute) field {
	if value != nil && *value == civil.DayMinutes {
		value = new(civil.Minute)
	}
	return f.minuteInput(name, label, value)
}

func (f *form) tickInput(name, label string, value bool) field {
	in := f.input("tick", name, label, "")
	in.Ticked = value
	if f.sent {
		in.Ticked = f.ticked(name)
	}
	return in
}

func (f *form) selectInput(name, label, value string, options []option) field {
	in := f.input("select", name, label, value)
	in.Options = make([]option, len(options))
	for i, o := range options {
		o.Chosen = o.Value == in.Value
		in.Options[i] = o
	}
	return in
}

func (in field) must() field             { in.Required = true; return in }
func (in field) hint(text string) field  { in.Hint = text; return in }
func (in field) auto(what string) field  { in.Auto = what; return in }
func (in field) least(min string) field  { in.Min = min; return in }
func (in field) list(id string) field    { in.List = id; return in }
func (in field) behind(u string) field   { in.Unit = u; return in }
func (in field) half() field             { in.Half = true; return in }
func (in field) Described() string       { return described(in) }
func (in field) valued(val string) field { in.Value = val; return in }

// described is the ids of the hint and the message, for aria-describedby.
func described(in field) string {
	var ids []string
	if in.Hint != "" {
		ids = append(ids, in.ID+"-hint")
	}
	if in.Err != "" {
		ids = append(ids, in.ID+"-error")
	}
	return strings.Join(ids, " ")
}

func fieldID(name string) string {
	return "f-" + strings.NewReplacer("[", "-", "].", "-", "]", "", ".", "-").Replace(name)
}

// predicates are the words that a message begins with when the input's label
// is its subject.
func predicates() []string {
	return []string{
		"is", "are", "was", "has", "have", "must", "may", "can", "could", "does", "needs", "makes", "leaves", "lies", "ends", "adds",
		"holds", "weighs", "asks", "belongs", "names",
	}
}

// messageOf makes a message a sentence with its input in it: "is empty"
// becomes "Name is empty", and "choose one" becomes "Mold: choose one". A message that
// begins with a capital, or names the input itself, stands for itself.
func messageOf(label, message string) string {
	first, _ := utf8.DecodeRuneInString(message)
	word, _, _ := strings.Cut(message, " ")
	switch {
	case label == "" || unicode.IsUpper(first) || namesItself(label, message):
		message = capital(message)
	case slices.Contains(predicates(), word) || strings.HasPrefix(message, "add up "):
		message = label + " " + message
	default:
		message = label + ": " + message
	}
	if !strings.HasSuffix(message, ".") {
		message += "."
	}
	return message
}

// namesItself reports whether a message begins with the input's own label, or with
// the last word of it where that is not a mere particle.
func namesItself(label, message string) bool {
	text, name := strings.ToLower(message), strings.ToLower(label)
	for _, article := range []string{"the ", "a ", "an "} {
		text = strings.TrimPrefix(text, article)
	}
	name, _, _ = strings.Cut(name, ",") // what stands behind is its unit
	last := name[strings.LastIndexByte(name, ' ')+1:]
	return strings.HasPrefix(text, name+" ") || len(last) > 3 && strings.HasPrefix(text, last+" ")
}

// group is a group of inputs; messages about the whole of name, or about
// elements of it that have no input, stand at its head.
func (f *form) group(name, title string) fieldGroup {
	g := fieldGroup{ID: fieldID(name), Title: title}
	for _, e := range f.errs {
		if f.drawn[e.Field] != "" || (e.Field != name && !strings.HasPrefix(e.Field, name+"[")) {
			continue
		}
		f.drawn[e.Field], f.labels[e.Field] = g.ID, title
		g.Err = strings.TrimSpace(g.Err + " " + messageOf(title, e.Message))
	}
	return g
}

// problems lists what is wrong, each with its input where the page has one. It
// is to be asked after the inputs were drawn.
func (f *form) problems() []problem {
	out := make([]problem, 0, len(f.errs))
	for _, e := range f.errs {
		p := problem{Text: messageOf(fieldWords(e.Field), e.Message)}
		if id := f.drawn[e.Field]; id != "" {
			p = problem{ID: id, Text: messageOf(f.labels[e.Field], e.Message)}
		}
		out = append(out, p)
	}
	return out
}

// fieldWords makes a path readable where no input carries its label.
func fieldWords(path string) string {
	path = strings.NewReplacer("_um", "", "_mg", "", "_ppm", "", "_", " ", "[", " ", "]", "", ".", " ").Replace(path)
	return capital(path)
}

// formState is what every form on a page shows beside its inputs.
type formState struct {
	Problems  []problem
	Unwritten bool // what was sent would have been written without the problems
	Clash     string
	Version   int
	Once      string
}

// state is to be asked after the inputs were drawn. version is the stored one.
func (f *form) state(version int) formState {
	once := f.values.Get("once")
	if once == "" {
		once = newOnce()
	}
	return formState{Problems: f.problems(), Unwritten: f.writes, Clash: f.clash, Version: version, Once: once}
}
