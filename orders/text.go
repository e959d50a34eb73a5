package orders

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
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
