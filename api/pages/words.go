package pages

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/language"

	"ripeline/calc"
	"ripeline/orders"
	"ripeline/schedule/civil"
)

// words writes dates, weights and lengths the way the workshop reads them.
type words struct {
	names    dayNames
	imperial bool
	currency string
	zone     *time.Location
	today    civil.Date
}

// dayNames are the short names of a language, Sunday and January first. Day
// is how a weekday, day and month are put together.
type dayNames struct {
	days   [7]string
	months [12]string
	layout string // of weekday, day, month
}

// The short names are common usage, from memory.
func namesOf(locale string) dayNames {
	tag, err := language.Parse(locale)
	if err != nil {
		return englishNames()
	}
	switch base, _ := tag.Base(); base.String() {
	case "de":
		return dayNames{
			[7]string{"So", "Mo", "Di", "Mi", "Do", "Fr", "Sa"},
			[12]string{"Jan", "Feb", "Mär", "Apr", "Mai", "Jun", "Jul", "Aug", "Sep", "Okt", "Nov", "Dez"},
			"%s %d. %s",
		}
	case "fr":
		return dayNames{
			[7]string{"dim.", "lun.", "mar.", "mer.", "jeu.", "ven.", "sam."},
			[12]string{"janv.", "févr.", "mars", "avr.", "mai", "juin", "juil.", "août", "sept.", "oct.", "nov.", "déc."},
			"%s %d %s",
		}
	case "pt":
		return dayNames{
			[7]string{"dom", "seg", "ter", "qua", "qui", "sex", "sáb"},
			[12]string{"jan", "fev", "mar", "abr", "mai", "jun", "jul", "ago", "set", "out", "nov", "dez"},
			"%s %d %s",
		}
	case "es":
		return dayNames{
			[7]string{"dom", "lun", "mar", "mié", "jue", "vie", "sáb"},
			[12]string{"ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"},
			"%s %d %s",
		}
	}
	return englishNames()
}

func englishNames() dayNames {
	return dayNames{
		[7]string{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"},
		[12]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"},
		"%s %d %s",
	}
}

func newWords(shop orders.Workshop, zone *time.Location, now time.Time) words {
	return words{
		names:    namesOf(shop.Locale),
		imperial: shop.Units == "imperial",
		currency: shop.Currency,
		zone:     zone,
		today:    civil.Of(now.In(zone)),
	}
}

// day is "Thu 3 Dec", with the year when it is not this year's; "" for no date.
func (w words) day(d civil.Date) string {
	if d.IsZero() {
		return ""
	}
	text := fmt.Sprintf(w.names.layout, w.names.days[d.Weekday()], d.Day, w.names.months[d.Month-1])
	if d.Year != w.today.Year {
		text += " " + strconv.Itoa(d.Year)
	}
	return text
}

// dated writes the dates of a stored sentence the way the workshop reads them.
func (w words) dated(text string) string { return orders.Dated(text, w.day) }

// allDated is dated for each of some sentences.
func (w words) allDated(texts []string) []string {
	out := make([]string, len(texts))
	for i, text := range texts {
		out[i] = w.dated(text)
	}
	return out
}

// near is day with how far off it is: "Thu 3 Dec, in 8 days".
func (w words) near(d civil.Date) string {
	if d.IsZero() {
		return ""
	}
	switch n := d.Sub(w.today); {
	case n == 0:
		return "today, " + w.day(d)
	case n == 1:
		return "tomorrow, " + w.day(d)
	case n == -1:
		return "yesterday, " + w.day(d)
	case n < 0:
		return w.day(d) + ", " + count(-n, "day") + " ago"
	default:
		return w.day(d) + ", in " + count(n, "day")
	}
}

// date is the day of t in the workshop.
func (w words) date(t time.Time) civil.Date {
	if t.IsZero() {
		return civil.Date{}
	}
	return civil.Of(t.In(w.zone))
}

func (w words) clock(t time.Time) string { return t.In(w.zone).Format("15:04") }

// at is "Thu 3 Dec 18:30", "" for the zero time.
func (w words) at(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return w.day(w.date(t)) + " " + w.clock(t)
}

// span is "Thu 3 Dec 18:30–20:00", naming the second day only when it differs.
func (w words) span(from, to time.Time) string {
	switch {
	case from.IsZero():
		return ""
	case to.IsZero() || to.Equal(from):
		return w.at(from)
	case w.date(from) == w.date(to):
		return w.at(from) + "–" + w.clock(to)
	}
	return w.at(from) + " – " + w.at(to)
}

// days is "Thu 3 Dec – Sun 6 Dec", or one day when they are the same.
func (w words) days(from, to civil.Date) string {
	if to.IsZero() || from == to {
		return w.day(from)
	}
	return w.day(from) + " – " + w.day(to)
}

// length is a size to read: to a tenth of a millimetre or a hundredth of an
// inch.
func (w words) length(l calc.Length) string {
	if w.imperial {
		return trimZeros(l.Inches(2)) + " in"
	}
	return trimZeros(l.Millimetres(1)) + " mm"
}

// volume is a volume to read, in whole millilitres.
func (w words) volume(l calc.Volume) string {
	return strconv.FormatInt(int64((l+calc.Millilitre/2)/calc.Millilitre), 10) + " ml"
}

// area is a size of a face or a shelf, to read.
func (w words) area(a calc.Area) string {
	const inch, metre = 645.16, 1e6 // square millimetres of a square inch, exact by definition, and of a square metre
	switch {
	case w.imperial:
		return trimZeros(strconv.FormatFloat(float64(a)/inch, 'f', 1, 64)) + " in²"
	case a >= metre/10:
		return trimZeros(strconv.FormatFloat(float64(a)/metre, 'f', 2, 64)) + " m²"
	}
	return trimZeros(strconv.FormatFloat(float64(a)/100, 'f', 1, 64)) + " cm²"
}

func (w words) lengthUnit() string {
	if w.imperial {
		return "in"
	}
	return "mm"
}

func (w words) massUnit() string {
	if w.imperial {
		return "oz"
	}
	return "g"
}

// lengthValue is l in the workshop's unit as it goes into an input, so that it
// reads back as the same length; "" for zero.
func (w words) lengthValue(l calc.Length) string {
	switch {
	case l == 0:
		return ""
	case w.imperial:
		return trimZeros(l.Inches(5))
	}
	return trimZeros(l.Millimetres(3))
}

// massValue is m as it goes into an input; "" for zero.
func (w words) massValue(m calc.Mass) string {
	switch {
	case m == 0:
		return ""
	case w.imperial:
		return trimZeros(m.Ounces(5))
	}
	return trimZeros(m.Grams(3))
}

// temp is a temperature to read, to a tenth of a degree.
func (w words) temp(t calc.Temperature) string {
	if w.imperial {
		return trimZeros(t.Fahrenheit(1)) + " °F"
	}
	return trimZeros(t.Celsius(1)) + " °C"
}

func (w words) tempUnit() string {
	if w.imperial {
		return "°F"
	}
	return "°C"
}

// tempValue is t as it goes into an input, so that it reads back as the same
// temperature; "" for zero.
func (w words) tempValue(t calc.Temperature) string {
	switch {
	case t == 0:
		return ""
	case w.imperial:
		return trimZeros(t.Fahrenheit(4))
	}
	return trimZeros(t.Celsius(3))
}

func percentValue(p calc.PPM) string { return trimZeros(p.Percent(4)) }

func trimZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

func number(f float64) string {
	if f == 0 {
		return ""
	}
	return strconv.FormatFloat(f, 'f', -1, 64)
}

// count is "1 day" or "3 days".
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	many := one + "s"
	switch {
	case strings.HasSuffix(one, "ch"):
		many = one + "es"
	case strings.HasSuffix(one, "lf"):
		many = strings.TrimSuffix(one, "f") + "ves"
	case strings.HasSuffix(one, "y") && !strings.HasSuffix(one, "ay"):
		many = strings.TrimSuffix(one, "y") + "ies"
	}
	return strconv.Itoa(n) + " " + many
}

// join writes "a, b and c".
func join(parts []string) string {
	if len(parts) < 2 {
		return strings.Join(parts, "")
	}
	return strings.Join(parts[:len(parts)-1], ", ") + " and " + parts[len(parts)-1]
}

func lower(s string) string { return strings.ToLower(s) }

// capital gives a sentence its capital letter.
func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}
