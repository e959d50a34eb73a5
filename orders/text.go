package orders

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"ripeline/schedule/civil"
)

// Limits of free text, in characters.
const (
	maxName = 200
	maxNote = 4000
)

// checkName checks one line of text, such as a name or a title.
func checkName(c *Check, field, value string, required bool) {
	c.Want(!required || strings.TrimSpace(value) != "", field, "is empty; give it a name")
	checkText(c, field, value, maxName, false)
}

// checkNote checks text that may have line breaks.
func checkNote(c *Check, field, value string) { checkText(c, field, value, maxNote, true) }

func checkText(c *Check, field, value string, limit int, lines bool) {
	if !utf8.ValidString(value) {
		c.Add(field, "has bytes that are not text; type it again")
		return
	}
	c.Want(utf8.RuneCountInString(value) <= limit, field, fmt.Sprintf("is longer than %d characters; shorten it", limit))
	for _, r := range value {
		if r == '\n' || r == '\r' || r == '\t' {
			if lines {
				continue
			}
			c.Add(field, "has a line break or tab; keep it on one line")
			return
		}
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			c.Add(field, "has a control character; type it again")
			return
		}
	}
}

// isoDay is a date as stored sentences have it, with what it may only be a part of.
var isoDay = regexp.MustCompile(`[\w-]*\d{4}-\d{2}-\d{2}[\w-]*`)

// Dated writes the dates of a stored sentence as said tells. A sentence is written
// once, and read later in whatever language its workshop has then.
func Dated(text string, said func(civil.Date) string) string {
	return isoDay.ReplaceAllStringFunc(text, func(found string) string {
		d, err := civil.Parse(found)
		if err != nil {
			return found // it only looks like a date
		}
		return said(d)
	})
}
