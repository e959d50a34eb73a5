package ical

import (
	"strings"
	"unicode"
)

// line makes s fit for one line of text: every kind of line break becomes a
// blank, and so on as in lines.
func line(s string) string {
	return strings.ReplaceAll(lines(s), "\n", " ")
}

// lines makes s fit for a TEXT value that may have several lines.
//
// Bytes that are not UTF-8 become the replacement character. Every kind of line
// break becomes "\n", also those only some readers split at (U+0085, U+2028,
// U+2029, vertical tab, form feed). Other control characters and byte order
// marks are removed (RFC 5545 section 3.1 forbids them). A run of blanks and
// tabs becomes one blank, so that no folded line can consist of blanks alone,
// and none is left at the ends of a line.
func lines(s string) string {
	s = strings.ToValidUTF8(s, string(unicode.ReplacementChar))
	s = strings.ReplaceAll(s, "\r\n", "\n")
	s = strings.Map(cleanRune, s)
	var out []string
	for l := range strings.SplitSeq(s, "\n") {
		out = append(out, strings.Join(strings.FieldsFunc(l, isBlank), " "))
	}
	return strings.Trim(strings.Join(out, "\n"), "\n")
}

func cleanRune(r rune) rune {
	switch r {
	case '\n', '\r', '\v', '\f', '\u0085', '\u2028', '\u2029':
		return '\n'
	case '\t':
		return ' '
	case '\uFEFF':
		return -1
	}
	if unicode.IsControl(r) {
		return -1
	}
	return r
}

func isBlank(r rune) bool { return r == ' ' }
