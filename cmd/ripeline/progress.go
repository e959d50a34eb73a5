package main

import (
	"crypto/rand"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// progress shows the steps of long work: rewritten in place on a terminal, a
// line each elsewhere.
type progress struct {
	out   io.Writer
	title string
	tty   bool
	last  int // characters shown
}

func newProgress(out io.Writer, title string) *progress {
	f, ok := out.(*os.File)
	return &progress{out: out, title: title, tty: ok && term.IsTerminal(int(f.Fd()))}
}

// step shows what is being done now. What can not be shown is not worth
// failing for.
func (p *progress) step(text string) {
	line := p.title + ": " + text
	if !p.tty {
		_, _ = fmt.Fprintln(p.out, line)
		return
	}
	pad := strings.Repeat(" ", max(0, p.last-len(line)))
	_, _ = fmt.Fprint(p.out, "\r"+line+pad)
	p.last = len(line)
}

func (p *progress) done() {
	if p.tty && p.last > 0 {
		_, _ = fmt.Fprintln(p.out)
	}
}

// newPassword is a password of 80 random bits that can be read aloud.
func newPassword() string {
	text := strings.ToLower(rand.Text()[:16])
	return strings.Join([]string{text[:4], text[4:8], text[8:12], text[12:]}, "-")
}

// rows shows how many rows of a table are through.
func (p *progress) rows(table string, n int64) { p.step(fmt.Sprintf("%s, %d rows", table, n)) }
