package ical_test

import (
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"
)

// What is published is read here twice: by a strict reader of this file, which
// accepts only what RFC 5545 allows and this package promises, and by a parser
// that is not the library it is written with (parser_test.go).

// property is one unfolded content line.
type property struct {
	name   string
	params string // as written, with its leading semicolon
	value  string // as written, still escaped
}

// part is a component with its properties in order.
type part struct {
	name  string
	props []property
	parts []*part
}

// all returns the properties of a name.
func (p *part) all(name string) []property {
	var out []property
	for _, q := range p.props {
		if q.name == name {
			out = append(out, q)
		}
	}
	return out
}

// one returns the written form of a property, after its name, that must be
// there exactly once.
func (p *part) one(t testing.TB, name string) string {
	t.Helper()
	found := p.all(name)
	if len(found) != 1 {
		t.Fatalf("%s has %d %s, want one", p.name, len(found), name)
	}
	return found[0].params + ":" + found[0].value
}

// components returns the direct parts of a name.
func (p *part) components(name string) []*part {
	var out []*part
	for _, q := range p.parts {
		if q.name == name {
			out = append(out, q)
		}
	}
	return out
}

// event returns the event whose summary, as written, holds text.
func (p *part) event(t testing.TB, text string) *part {
	t.Helper()
	for _, e := range p.components("VEVENT") {
		if strings.Contains(e.one(t, "SUMMARY"), text) {
			return e
		}
	}
	t.Fatalf("no event with %q in its summary", text)
	return nil
}

// fataler is a *testing.T or a *rapid.T.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// unfold checks the bytes and physical lines of a calendar (RFC 5545 section
// 3.1) and returns its content lines.
func unfold(t fataler, data []byte) []string {
	t.Helper()
	text := string(data)
	if !utf8.ValidString(text) || strings.HasPrefix(text, "\uFEFF") {
		t.Fatalf("not plain UTF-8: %q", text)
	}
	body, ok := strings.CutSuffix(text, "\r\n")
	if !ok {
		t.Fatalf("the last line does not end in CRLF")
	}
	var lines []string
	for n, l := range strings.Split(body, "\r\n") {
		checkPhysicalLine(t, n+1, l)
		if rest, folded := strings.CutPrefix(l, " "); folded && n > 0 {
			lines[len(lines)-1] += rest
			continue
		}
		lines = append(lines, l)
	}
	return lines
}

func checkPhysicalLine(t fataler, number int, l string) {
	t.Helper()
	switch {
	case strings.Trim(l, " ") == "":
		t.Fatalf("line %d is blank", number)
	case len(l) > 75:
		t.Fatalf("line %d has %d octets: %q", number, len(l), l)
	case !utf8.ValidString(l):
		t.Fatalf("line %d is cut inside a character: %q", number, l)
	case strings.ContainsFunc(l, unicode.IsControl), strings.ContainsAny(l, "\uFEFF\u2028\u2029"):
		t.Fatalf("line %d has a control character: %q", number, l)
	}
}

// contentLine is RFC 5545 section 3.1's grammar, names in capitals.
var contentLine = regexp.MustCompile(`^([A-Z0-9-]+)((?:;[A-Z0-9-]+=(?:"[^"]*"|[^";:,]*)(?:,(?:"[^"]*"|[^";:,]*))*)*):(.*)$`)

// read checks a whole calendar and returns it as a tree.
func read(t fataler, data []byte) *part {
	t.Helper()
	root := &part{}
	open := []*part{root}
	for _, l := range unfold(t, data) {
		m := contentLine.FindStringSubmatch(l)
		if m == nil {
			t.Fatalf("not a content line: %q", l)
		}
		top := open[len(open)-1]
		switch name, value := m[1], m[3]; name {
		case "BEGIN":
			child := &part{name: value}
			top.parts = append(top.parts, child)
			open = append(open, child)
		case "END":
			if top.name != value {
				t.Fatalf("END:%s inside %s", value, top.name)
			}
			open = open[:len(open)-1]
		default:
			top.props = append(top.props, property{name, m[2], value})
		}
	}
	if len(open) != 1 || len(root.parts) != 1 || len(root.props) != 0 || root.parts[0].name != "VCALENDAR" {
		t.Fatalf("not exactly one VCALENDAR")
	}
	checkShape(t, root.parts[0])
	return root.parts[0]
}

// shape says what a component must and may hold.
type shape struct {
	must, may string // property names between blanks
	parts     string // component names between blanks
}

var (
	observanceShape = shape{must: " DTSTART TZOFFSETFROM TZOFFSETTO TZNAME "}

	// shapes are the properties this package promises; every property it may
	// write comes at most once in its component.
	shapes = map[string]shape{
		"VCALENDAR": {
			must:  " VERSION PRODID NAME X-WR-CALNAME REFRESH-INTERVAL X-PUBLISHED-TTL ",
			may:   " DESCRIPTION X-WR-CALDESC URL COLOR ",
			parts: " VTIMEZONE VEVENT ",
		},
		"VTIMEZONE": {must: " TZID ", parts: " STANDARD DAYLIGHT "},
		"STANDARD":  observanceShape,
		"DAYLIGHT":  observanceShape,
		"VEVENT": {
			must:  " UID DTSTAMP DTSTART DTEND SUMMARY SEQUENCE LAST-MODIFIED STATUS TRANSP ",
			may:   " DESCRIPTION LOCATION CATEGORIES ",
			parts: " VALARM ",
		},
		"VALARM": {must: " ACTION TRIGGER DESCRIPTION "},
	}
)

// checkShape checks that a component holds what it must and nothing it may
// not, in itself and its parts.
func checkShape(t fataler, p *part) {
	t.Helper()
	s, known := shapes[p.name]
	if !known {
		t.Fatalf("unexpected component %s", p.name)
	}
	seen := map[string]bool{}
	for _, q := range p.props {
		if seen[q.name] || !strings.Contains(s.must+s.may, " "+q.name+" ") {
			t.Fatalf("%s: %s is repeated or unexpected", p.name, q.name)
		}
		seen[q.name] = true
		checkValue(t, q)
	}
	for name := range strings.FieldsSeq(s.must) {
		if !seen[name] {
			t.Fatalf("%s has no %s", p.name, name)
		}
	}
	for _, child := range p.parts {
		if !strings.Contains(s.parts, " "+child.name+" ") {
			t.Fatalf("%s inside %s", child.name, p.name)
		}
		checkShape(t, child)
	}
	if p.name == "VCALENDAR" && len(p.components("VEVENT")) == 0 || p.name == "VTIMEZONE" && len(p.parts) == 0 {
		t.Fatalf("%s has no component", p.name)
	}
}

var (
	// escapedText is RFC 5545 section 3.3.11: commas, semicolons and
	// backslashes only escaped, newlines only as \n.
	escapedText = regexp.MustCompile(`^(?:[^\\;,]|\\[\\;,n])*$`)

	utcTime   = regexp.MustCompile(`^:\d{8}T\d{6}Z$`)
	zonedTime = regexp.MustCompile(`^;TZID=[A-Za-z0-9/_+-]+:\d{8}T\d{6}$`)
	day       = regexp.MustCompile(`^;VALUE=DATE:\d{8}$`)
	localTime = regexp.MustCompile(`^:\d{8}T\d{6}$`)

	// forms are the written forms of the properties that are not TEXT.
	forms = map[string]*regexp.Regexp{
		"DTSTAMP":          utcTime,
		"LAST-MODIFIED":    utcTime,
		"SEQUENCE":         regexp.MustCompile(`^:\d+$`),
		"STATUS":           regexp.MustCompile(`^:(CONFIRMED|TENTATIVE|CANCELLED)$`),
		"TRANSP":           regexp.MustCompile(`^:(OPAQUE|TRANSPARENT)$`),
		"UID":              regexp.MustCompile(`^:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$`),
		"TZOFFSETFROM":     regexp.MustCompile(`^:[+-]\d{4}(\d{2})?$`),
		"TZOFFSETTO":       regexp.MustCompile(`^:[+-]\d{4}(\d{2})?$`),
		"REFRESH-INTERVAL": regexp.MustCompile(`^;VALUE=DURATION:PT1H$`),
		"TRIGGER":          regexp.MustCompile(`^:-PT\d+M$`),
		"ACTION":           regexp.MustCompile(`^:DISPLAY$`),
		"VERSION":          regexp.MustCompile(`^:2\.0$`),
		"URL":              regexp.MustCompile(`^:https?://[!-~]+$`),
	}
)

func checkValue(t fataler, q property) {
	t.Helper()
	written := q.params + ":" + q.value
	form, known := forms[q.name]
	switch {
	case q.name == "DTSTART" || q.name == "DTEND":
		if !utcTime.MatchString(written) && !zonedTime.MatchString(written) && !day.MatchString(written) && !localTime.MatchString(written) {
			t.Fatalf("%s%s is in no form of date", q.name, written)
		}
	case known:
		if !form.MatchString(written) {
			t.Fatalf("%s%s does not match %v", q.name, written, form)
		}
	default:
		if q.params != "" || !escapedText.MatchString(q.value) {
			t.Fatalf("%s%s is not well-written text", q.name, written)
		}
	}
}

// checkTimes checks what the forms of an event's two ends must have in common:
// both days, both local with the TZID of a VTIMEZONE in the object, or both
// UTC; never floating.
func checkTimes(t fataler, cal *part) {
	t.Helper()
	zones := map[string]bool{}
	for _, z := range cal.components("VTIMEZONE") {
		zones[z.all("TZID")[0].value] = true
	}
	for _, e := range cal.components("VEVENT") {
		start, end := e.all("DTSTART")[0], e.all("DTEND")[0]
		if start.params != end.params || len(start.value) != len(end.value) {
			t.Fatalf("DTSTART%s:%s but DTEND%s:%s", start.params, start.value, end.params, end.value)
		}
		tzid, zoned := strings.CutPrefix(start.params, ";TZID=")
		if zoned && !zones[tzid] {
			t.Fatalf("no VTIMEZONE for %s", tzid)
		}
		if start.params == "" && !strings.HasSuffix(start.value, "Z") {
			t.Fatalf("a floating time: %s", start.value)
		}
		if len(zones) > 1 {
			t.Fatalf("%d zones", len(zones))
		}
	}
}

// interpret returns the instant of a local time by the VTIMEZONE alone, as an
// app that knows no zone names would: the observance that began last before it,
// each beginning at its DTSTART on the clock before the change.
func interpret(t fataler, zone *part, local string) time.Time {
	t.Helper()
	var in *part
	for _, o := range zone.parts {
		begins := o.all("DTSTART")[0].value
		if begins <= local && (in == nil || begins > in.all("DTSTART")[0].value) {
			in = o
		}
	}
	if in == nil {
		t.Fatalf("no observance covers %s", local)
	}
	wall, err := time.Parse("20060102T150405", local)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return wall.Add(-parseOffset(t, in.all("TZOFFSETTO")[0].value))
}

func parseOffset(t fataler, s string) time.Duration {
	t.Helper()
	digits := s[1:] + "00"
	d, err := time.ParseDuration(digits[:2] + "h" + digits[2:4] + "m" + digits[4:6] + "s")
	if err != nil {
		t.Fatalf("%v", err)
	}
	if s[0] == '-' {
		return -d
	}
	return d
}
