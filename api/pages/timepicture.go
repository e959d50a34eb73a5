package pages

import (
	"fmt"

	"ripeline/orders"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// timePicture is the time between now and a date as bars under one another,
// one per stage. Places along the time are in percent of the width, so that the drawing
// fits any screen while its letters keep their size.
type timePicture struct {
	Height, Foot int // pixels: of all, and where the marks' names stand
	Bars         []bar
	Marks        []mark
	Title        string
}

type bar struct {
	Kind        string // class of its look
	Label       string
	Days, Dates string
	X, Width    string // percent
	Y, TextY    int
	LabelX      string
	LabelEnd    bool // the label ends at LabelX rather than begins
}

type mark struct {
	Kind, X string
	Label   string
	End     bool
	Y       int
}

const (
	barPitch   = 30 // pixels from one bar to the next
	barHeight  = 20
	pictureTop = 8

	// letterShare is the width of a letter in percent of the narrowest drawing:
	// 7.5 of 300 pixels.
	letterShare = 2.5
)

// scale maps days to percents of the width; a day takes its own room, so the
// end of a day is the beginning of the next.
type scale struct {
	from civil.Date
	days int
}

func (s scale) at(d civil.Date) float64 {
	return 100 * float64(d.Sub(s.from)) / float64(max(1, s.days))
}

func percent(x float64) string { return fmt.Sprintf("%.2f%%", min(100, max(0, x))) }

// timePicture draws the stages of an answer; nil when it has none.
func (v *visit) timePicture(q orders.Question, a *schedule.Answer) *timePicture {
	if len(a.Stages) == 0 {
		return nil
	}
	last := q.NeededBy
	for _, s := range a.Stages {
		if s.To.After(last) {
			last = s.To
		}
	}
	sc := scale{from: v.today(), days: last.Sub(v.today()) + 1}
	pic := &timePicture{Title: fmt.Sprintf("From today to %s", v.words.day(last))}
	for _, s := range a.Stages {
		if !s.From.IsZero() && !s.To.Before(v.today()) {
			pic.Bars = append(pic.Bars, v.bar(sc, s, len(pic.Bars)))
		}
	}
	pic.Foot = pictureTop + len(pic.Bars)*barPitch
	if !a.LastSafePour.IsZero() {
		pic.mark(sc, a.LastSafePour.AddDays(1), "safe", "last safe pour "+v.words.day(a.LastSafePour))
	}
	if !q.NeededBy.IsZero() {
		pic.mark(sc, q.NeededBy.AddDays(1), "due", "needed by "+v.words.day(q.NeededBy))
	}
	pic.Height = pic.Foot + len(pic.Marks)*20 + 6
	return pic
}

func (v *visit) bar(sc scale, s schedule.Stage, row int) bar {
	from := s.From
	if from.Before(v.today()) {
		from = v.today()
	}
	left, right := sc.at(from), sc.at(s.To.AddDays(1))
	b := bar{
		Kind: stageClass(s.Kind), Label: stageName(s.Kind), Days: count(s.To.Sub(from)+1, "day"), Dates: v.words.days(s.From, s.To),
		X: percent(left), Width: percent(right - left), Y: pictureTop + row*barPitch,
	}
	b.TextY = b.Y + barHeight/2 + 5
	room := letterShare * float64(len([]rune(b.Label))+2)
	switch { // beside the bar where there is room, else inside it
	case right+room <= 100:
		b.LabelX = percent(right + 1.5)
	case left-room >= 0:
		b.LabelX, b.LabelEnd = percent(left-1.5), true
	default:
		b.LabelX = percent(left + 1.5)
	}
	return b
}

func (p *timePicture) mark(sc scale, d civil.Date, kind, label string) {
	x := sc.at(d)
	m := mark{Kind: kind, X: percent(x), Label: label, End: x > 50, Y: p.Foot + 16 + len(p.Marks)*20}
	p.Marks = append(p.Marks, m)
}

// stageClass is the class of a stage's bar; an unknown stage looks like a wait.
func stageClass(kind string) string {
	switch kind {
	case "supplies", "pour", "mold", "cure", "target", "wrap", "spare", "hand-over":
		return kind
	}
	return "wait"
}

func stageName(kind string) string {
	switch kind {
	case "mold":
		return "In the mold"
	case "cure":
		return "Shortest cure"
	case "target":
		return "Wished cure"
	case "spare":
		return "To spare"
	case "hand-over":
		return "Hand over"
	}
	return capital(kind)
}
