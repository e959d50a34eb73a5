package pages

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// maxForm bounds a posted form; the largest real one is far below.
const maxForm = 256 << 10

// form is what was typed into a page's form and what is wrong with it. Inputs
// are named by the paths that orders.Invalid uses, so a message of the order
// book finds its input. The zero form is one that nobody has sent yet.
type form struct {
	sent   bool
	writes bool // it was sent to write something, not to ask
	values url.Values
	words  words
	errs   []orders.FieldError
	clash  string            // someone changed the record meanwhile: what to tell
	drawn  map[string]string // id of each input on the page, to link messages to
	labels map[string]string
}

func (v *visit) blankForm() *form {
	return &form{values: url.Values{}, words: v.words, drawn: map[string]string{}, labels: map[string]string{}}
}

// sentForm reads the form of a POST.
func (v *visit) sentForm() (*form, error) {
	v.r.Body = http.MaxBytesReader(v.w, v.r.Body, maxForm)
	if err := v.r.ParseForm(); err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return nil, errTooLarge
		}
		return nil, &orders.Invalid{Fields: []orders.FieldError{{Field: "form", Message: "could not be read; go back and send it again"}}}
	}
	f := v.blankForm()
	f.sent, f.writes, f.values = true, true, v.r.PostForm
	return f, nil
}

// fail records what is wrong with an input, and what to do; the same message
// only once.
func (f *form) fail(name, message string) {
	e := orders.FieldError{Field: name, Message: f.words.limits(message)}
	if !slices.Contains(f.errs, e) {
		f.errs = append(f.errs, e)
	}
}

func (f *form) ok() bool { return len(f.errs) == 0 && f.clash == "" }

// takes is true when err is about what was typed: the messages are then in
// the form and the page is to be shown again. A plain conflict is one too when the
// form has a version.
func (f *form) takes(err error) bool {
	var invalid *orders.Invalid
	var fields calc.FieldErrors
	switch {
	case errors.As(err, &invalid):
		for _, e := range invalid.Fields {
			f.fail(e.Field, e.Message)
		}
		return true
	case errors.As(err, &fields):
		for _, e := range fields {
			f.fail(e.Field, e.Message)
		}
		return true
	case errors.Is(err, orders.ErrConflict):
		f.clash = conflictText(err)
		return true
	}
	return false
}

// status is that of the page showing a rejected form.
func (f *form) status() int {
	switch {
	case f.clash != "":
		return http.StatusConflict
	case len(f.errs) > 0:
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}

// compact moves the filled rows of a repeated group together, so that the
// i-th row sent to the book is the i-th row on the page. It returns how many
// rows are filled: have something in one of the keys.
func (f *form) compact(group string, limit int, keys ...string) int {
	rows := 0
	for i := range limit {
		filled := false
		for _, key := range keys {
			filled = filled || strings.TrimSpace(f.values.Get(rowName(group, i, key))) != ""
		}
		if !filled {
			continue
		}
		f.moveRow(group, i, rows)
		rows++
	}
	return rows
}

func (f *form) moveRow(group string, from, to int) {
	if from == to {
		return
	}
	prefix := rowName(group, from, "")
	for name, value := range f.values {
		if rest, ok := strings.CutPrefix(name, prefix); ok {
			f.values[rowName(group, to, rest)] = value
			delete(f.values, name)
		}
	}
}

func rowName(group string, i int, key string) string { return fmt.Sprintf("%s[%d].%s", group, i, key) }

func (f *form) text(name string) string { return strings.TrimSpace(f.values.Get(name)) }

func (f *form) ticked(name string) bool { return f.values.Get(name) != "" }

// whole is a whole number; fallback when nothing was typed.
func (f *form) whole(name string, fallback int) int {
	text := f.text(name)
	if text == "" {
		return fallback
	}
	n, err := strconv.Atoi(text)
	if err != nil || n > 1e9 || n < -1e9 {
		f.fail(name, "must be a whole number, written in digits")
		return fallback
	}
	return n
}

// decimal is a number with a point or a comma; 0 when nothing was typed.
func (f *form) decimal(name string) float64 {
	text := f.text(name)
	if text == "" {
		return 0
	}
	n, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || n != n || n > 1e9 || n < -1e9 {
		f.fail(name, "must be a number, such as 0.92")
		return 0
	}
	return n
}

// day is a date; the zero Date when nothing was typed.
func (f *form) day(name string) civil.Date {
	text := f.text(name)
	if text == "" {
		return civil.Date{}
	}
	d, err := civil.Parse(text)
	if err != nil {
		f.fail(name, "must be a date, written as year-month-day, like 2026-12-03")
	}
	return d
}

// minute is a time of day; 0 when nothing was typed.
func (f *form) minute(name string) civil.Minute {
	if m := f.minuteOrNone(name); m != nil {
		return *m
	}
	return 0
}

// end is minute for the end of a window, whose 00:00 is midnight.
func (f *form) end(name string) civil.Minute {
	if m := f.minuteOrNone(name); m != nil {
		return cmp.Or(*m, civil.DayMinutes)
	}
	return 0
}

func (f *form) minuteOrNone(name string) *civil.Minute {
	text := f.text(name)
	if text == "" {
		return nil
	}
	m, err := civil.ParseMinute(text)
	if err != nil {
		f.fail(name, "must be a time of day, written as hours and minutes, like 18:30")
		return nil
	}
	return &m
}

// moment is when it happened, typed into the input "at".
func (f *form) moment() time.Time { return f.momentIn("at") }

// momentIn is when it happened, typed as a local date and time of the workshop;
// the zero time, which the book takes as now, when nothing was typed.
func (f *form) momentIn(name string) time.Time {
	text := f.text(name)
	if text == "" {
		return time.Time{}
	}
	day, clock, found := strings.Cut(text, "T")
	d, errDay := civil.Parse(day)
	m, errClock := civil.ParseMinute(clock)
	if !found || errDay != nil || errClock != nil {
		f.fail(name, "must be a date and a time, like 2026-12-03T18:30")
		return time.Time{}
	}
	return civil.At(d, m, f.words.zone)
}

// length is a length in the workshop's unit unless another is typed; 0 when
// nothing was typed.
func (f *form) length(name string) calc.Length {
	if f.text(name) == "" {
		return 0
	}
	l, err := calc.ParseLength(name, f.text(name), calc.Unit(f.words.lengthUnit()))
	f.note(err)
	return l
}

func (f *form) mass(name string) calc.Mass {
	if f.text(name) == "" {
		return 0
	}
	m, err := calc.ParseMass(name, f.text(name), calc.Unit(f.words.massUnit()))
	f.note(err)
	return m
}

func (f *form) volume(name string) calc.Volume {
	if f.text(name) == "" {
		return 0
	}
	l, err := calc.ParseVolume(name, f.text(name), calc.UnitMillilitre)
	f.note(err)
	return l
}

func (f *form) percent(name string) calc.PPM {
	if f.text(name) == "" {
		return 0
	}
	p, err := calc.ParsePercent(name, f.text(name))
	f.note(err)
	return p
}

// percentOrNone is a share; nil when nothing was typed, so that a typed 0 is
// told from it.
func (f *form) percentOrNone(name string) *calc.PPM {
	if f.text(name) == "" {
		return nil
	}
	p := f.percent(name)
	return &p
}

// temperature is in the workshop's unit unless another is typed; 0 when nothing
// was typed.
func (f *form) temperature(name string) calc.Temperature {
	if f.text(name) == "" {
		return 0
	}
	t, err := calc.ParseTemperature(name, f.text(name), calc.Unit(strings.ToLower(strings.TrimPrefix(f.words.tempUnit(), "°"))))
	f.note(err)
	return t
}

// note records a field error of package calc.
func (f *form) note(err error) {
	var fields calc.FieldErrors
	if errors.As(err, &fields) {
		for _, e := range fields {
			f.fail(e.Field, e.Message)
		}
	}
}

// noVersion is the version of no record. A use case compares it, and finds the page
// to be out of date; 0 it would not compare.
const noVersion = -1

// version is the version that the page showed; noVersion when it is missing.
func (f *form) version() int {
	n, err := strconv.Atoi(f.text("version"))
	if err != nil || n < 1 {
		return noVersion
	}
	return n
}
