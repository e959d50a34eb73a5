package schedule_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

var update = flag.Bool("update", false, "write what the scenarios give as what they should give")

// TestScenarios plays the scripts of testdata/schedule; its README describes
// their language. What they print is compared with what stands below the line.
func TestScenarios(t *testing.T) {
	files, err := filepath.Glob("../testdata/schedule/*.txt")
	if err != nil || len(files) < 34 {
		t.Fatalf("%d scenarios found (%v)", len(files), err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			script, want, _ := strings.Cut(string(data), separator)
			s := &scenario{t: t}
			for number, line := range strings.Split(script, "\n") {
				s.play(fmt.Sprintf("%s:%d", file, number+1), line)
			}
			got := s.out.String()
			if *update {
				if err := os.WriteFile(file, []byte(script+separator+got), 0o644); err != nil {
					t.Fatal(err)
				}
			} else if got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}

const separator = "----\n"

// scenario is a workshop being told about.
type scenario struct {
	t     *testing.T
	p     schedule.Problem
	plan  *schedule.Plan
	where string
	words []string
	out   strings.Builder
}

func (s *scenario) fail(format string, args ...any) {
	s.t.Helper()
	s.t.Fatalf("%s: %s", s.where, fmt.Sprintf(format, args...))
}

// next takes the next word of the line.
func (s *scenario) next() string {
	if len(s.words) == 0 {
		s.fail("the line ends too early")
	}
	word := s.words[0]
	s.words = s.words[1:]
	return word
}

// option takes the next word if it is the given one.
func (s *scenario) option(word string) bool {
	if len(s.words) > 0 && s.words[0] == word {
		s.words = s.words[1:]
		return true
	}
	return false
}

func (s *scenario) number(word string) int {
	n, err := strconv.Atoi(word)
	if err != nil {
		s.fail("%q is not a number", word)
	}
	return n
}

func (s *scenario) pair(word, by string) (a, b int) {
	x, y, ok := strings.Cut(word, by)
	if !ok {
		s.fail("%q is not a pair by %q", word, by)
	}
	return s.number(x), s.number(y)
}

func (s *scenario) date(word string) civil.Date {
	d, err := civil.Parse(word)
	if err != nil {
		s.fail("%v", err)
	}
	return d
}

func (s *scenario) days(word string) civil.Range {
	from, to, ok := strings.Cut(word, "..")
	if !ok {
		to = from
	}
	return civil.Range{From: s.date(from), To: s.date(to)}
}

func (s *scenario) clock(word string) civil.Minute {
	m, err := civil.ParseMinute(word)
	if err != nil {
		s.fail("%v", err)
	}
	return m
}

func (s *scenario) clocks(word string) (from, to civil.Minute) {
	a, b, _ := strings.Cut(word, "-")
	return s.clock(a), s.clock(b)
}

// instants reads a day and hours on it.
func (s *scenario) instants() schedule.Interval {
	d := s.date(s.next())
	from, to := s.clocks(s.next())
	return schedule.Interval{From: civil.At(d, from, s.p.Zone), To: civil.At(d, to, s.p.Zone)}
}

func (s *scenario) steps() []schedule.Step {
	var out []schedule.Step
	for len(s.words) > 0 {
		out = append(out, schedule.Step(s.next()))
	}
	return out
}

// play carries out one line.
func (s *scenario) play(where, line string) {
	line, _, _ = strings.Cut(line, "#")
	s.where, s.words = where, strings.Fields(line)
	if len(s.words) == 0 {
		return
	}
	verb := s.next()
	tells := map[string]func(){
		"now": s.now, "hours": s.hours, "extra": s.extra, "closed": s.closed, "busy": s.busy, "capacity": s.capacity,
		"mold": s.mold, "out": s.moldOut, "design": s.design, "order": s.order, "stock": s.stock,
		"plan": s.solve, "publish": s.publish, "until": s.until, "fail": s.lose, "sound": s.sound, "cancel": s.cancel, "pieces": s.pieces, "needed": s.needed,
		"cureuntil": s.cureUntil, "pin": s.pin, "supplies": s.supplies, "promise": s.promise, "reshuffle": s.reshuffle,
		"obstacles": s.obstacles,
	}
	tell := tells[verb]
	if tell == nil {
		s.fail("%q is not a word of the scenario language", verb)
	}
	tell()
	if len(s.words) > 0 {
		s.fail("%q is left over", s.words)
	}
}

func (s *scenario) now() {
	d, m := s.date(s.next()), s.clock(s.next())
	zone, err := civil.LoadZone(s.next())
	if err != nil {
		s.fail("%v", err)
	}
	s.p.Zone, s.p.Now, s.p.Hands, s.p.Firm, s.p.Rack = zone, civil.At(d, m, zone), 1, 3, 1<<40
}

func (s *scenario) capacity() {
	for len(s.words) > 0 {
		switch what := s.next(); what {
		case "hands":
			s.p.Hands = s.number(s.next())
		case "firm":
			s.p.Firm = s.number(s.next())
		case "rack":
			s.p.Rack = calc.Area(s.number(s.next()))
		default:
			s.fail("%q is not a capacity", what)
		}
	}
}

func (s *scenario) hours() {
	names := strings.Split(s.next(), ",")
	from, to := s.clocks(s.next())
	allowed := s.steps()
	for day := time.Sunday; day <= time.Saturday; day++ {
		if slices.Contains(names, strings.ToLower(day.String()[:3])) {
			s.p.Hours = append(s.p.Hours, schedule.Window{Weekday: day, From: from, To: to, Steps: allowed})
		}
	}
}

func (s *scenario) extra() {
	w := schedule.ExtraWindow{Date: s.date(s.next())}
	w.From, w.To = s.clocks(s.next())
	w.Steps = s.steps()
	s.p.Extra = append(s.p.Extra, w)
}

func (s *scenario) closed() { s.p.Closed = append(s.p.Closed, s.days(s.next())) }

func (s *scenario) busy() { s.p.Busy = append(s.p.Busy, s.instants()) }

func (s *scenario) mold() {
	id := s.next()
	s.p.Molds = append(s.p.Molds, schedule.Mold{ID: id, Name: id, Count: s.number(s.next()), Clean: s.number(s.next())})
}

func (s *scenario) moldOut() {
	id := s.next()
	for i := range s.p.Molds {
		if s.p.Molds[i].ID == id {
			s.p.Molds[i].Out = append(s.p.Molds[i].Out, schedule.MoldOut{Units: s.number(s.next()), Days: s.days(s.next())})
			return
		}
	}
	s.fail("there is no mold %s", id)
}

// design NAME in MOLD=MIN-FULL[,...] cut A-Bh|A-Bd cure MIN/TARGET ...
func (s *scenario) design() {
	d := schedule.Design{ID: s.next(), Footprint: 1, MakeFixed: 60, CutFixed: 20, WrapFixed: 5, WrapPer: 60}
	d.Name = d.ID
	for len(s.words) > 0 {
		switch what := s.next(); what {
		case "in":
			for _, fit := range strings.Split(s.next(), ",") {
				id, sizes, _ := strings.Cut(fit, "=")
				low, high := s.pair(sizes, "-")
				d.Fits = append(d.Fits, schedule.Fit{MoldID: id, Min: low, Full: high, Step: 1})
			}
		case "cut":
			word := s.next()
			d.CutWindow.Days = strings.HasSuffix(word, "d")
			d.CutWindow.Min, d.CutWindow.Max = s.pair(strings.TrimRight(word, "hd"), "-")
		case "cure":
			d.CureMin, d.CureTarget = s.pair(s.next(), "/")
		case "wrap":
			d.WrapPer = s.number(s.next())
		case "spoil":
			d.Spoil = float64(s.number(s.next())) / 100
		case "trial":
			d.NeedsTrial, d.TrialMinutes = true, s.number(s.next())
		case "blocked":
			d.Blocked, s.words = strings.Join(s.words, " "), nil
		default:
			s.fail("%q is not said of a design", what)
		}
	}
	s.p.Designs = append(s.p.Designs, d)
}

func (s *scenario) order() { s.p.Orders = append(s.p.Orders, s.readOrder(true)) }

// readOrder reads NAME PIECES DESIGN [+ PIECES DESIGN] by DAY ...
func (s *scenario) readOrder(accepted bool) schedule.Order {
	o := schedule.Order{ID: s.next(), Accepted: accepted, Weight: 1}
	o.Name = o.ID
	for {
		o.Lines = append(o.Lines, schedule.Line{ID: fmt.Sprintf("%s/%d", o.ID, len(o.Lines)+1), Pieces: s.number(s.next()), DesignID: s.next()})
		if !s.option("+") {
			break
		}
	}
	for len(s.words) > 0 {
		switch what := s.next(); what {
		case "by":
			o.NeededBy = s.date(s.next())
		case "handover":
			o.HandOver = s.number(s.next())
		case "weight":
			o.Weight = s.number(s.next())
		case "told":
			o.Told = s.date(s.next())
		default:
			s.fail("%q is not said of an order", what)
		}
	}
	return o
}

func (s *scenario) stock() {
	s.p.Stock = append(s.p.Stock, schedule.Stock{ID: s.next(), Pieces: s.number(s.next()), DesignID: s.next()})
}

// supplies DESIGN then in any order N, DAY=N in all, DAY for no end of them
func (s *scenario) supplies() {
	id, steps := s.next(), []schedule.Supply(nil)
	for len(s.words) > 0 {
		word := s.next()
		day, pieces, some := strings.Cut(word, "=")
		switch {
		case some:
			steps = append(steps, schedule.Supply{From: s.date(day), Pieces: s.number(pieces)})
		case strings.Contains(word, "-"):
			steps = append(steps, schedule.Supply{From: s.date(day), Endless: true})
		default:
			steps = append(steps, schedule.Supply{Pieces: s.number(word)})
		}
	}
	slices.SortFunc(steps, func(a, b schedule.Supply) int { return a.From.Compare(b.From) })
	for i := range s.p.Designs {
		if s.p.Designs[i].ID == id {
			s.p.Designs[i].Supplies = steps
		}
	}
}
