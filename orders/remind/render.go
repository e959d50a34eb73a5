package remind

import (
	"bytes"
	_ "embed" // the templates
	"fmt"
	html "html/template"
	text "text/template"
)

//go:embed templates/letter.txt
var letterText string

//go:embed templates/letter.html
var letterHTML string

// Both templates are parsed at start, so a broken one can not go unnoticed.
var (
	asText = text.Must(text.New("letter.txt").Parse(letterText))
	asHTML = html.Must(html.New("letter.html").Parse(letterHTML))
)

// rendered sets the letter as plain text and as an HTML fragment. Every text in
// it is one line by then, whatever was stored.
func (l letter) rendered() (plain, fragment string, err error) {
	l = l.lined()
	var t, h bytes.Buffer
	if err := asText.Execute(&t, l); err != nil {
		return "", "", fmt.Errorf("set a reminder as text: %w", err)
	}
	if err := asHTML.Execute(&h, l); err != nil {
		return "", "", fmt.Errorf("set a reminder as HTML: %w", err)
	}
	return t.String(), h.String(), nil
}

// lined is the letter with each text on one line, so that none can pass for a
// heading.
func (l letter) lined() letter {
	l.Heading, l.Why = oneLine(l.Heading), oneLine(l.Why)
	l.Sections = each(l.Sections, func(s section) section {
		return section{
			Title: oneLine(s.Title), Notes: each(s.Notes, oneLine),
			Items: each(s.Items, func(i item) item {
				return item{When: oneLine(i.When), What: oneLine(i.What), Detail: oneLine(i.Detail)}
			}),
		}
	})
	return l
}
