package schedule_test

import (
	"context"
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
	"ripeline/schedule/plancheck"
)

var update = flag.Bool("update", false, "write what the scenarios give as what they should give")

// TestScenarios plays the scripts of testdata/schedule; its README describes
// their language. What they print is compared with what stands below the line.
func TestScenarios(t *testing.T) {
	files, err := filepath.Glob("../testdata/schedule/*.txt")
	if err != nil || len(files) < 12 {
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
		"plan": s.solve, "publish": s.publish, "until": s.until, "fail": s.lose, "sound": s.sound, "cancel": s.cancel,
		"cureuntil": s.cureUntil, "pin": s.pin, "supplies": s.supplies, "promise": s.promise, "reshuffle": s.reshuffle,
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
	s.p.Molds = append(s.p.Molds, schedule.Mold{ID: s.next(), Count: s.number(s.next()), Clean: s.number(s.next())})
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

func (s *scenario) supplies() {
	id, day := s.next(), s.date(s.next())
	for i := range s.p.Designs {
		if s.p.Designs[i].ID == id {
			s.p.Designs[i].SuppliesReady = day
		}
	}
}

// batch finds a published batch.
func (s *scenario) batch(id string) *schedule.Batch {
	for i := range s.p.Batches {
		if s.p.Batches[i].ID == id {
			return &s.p.Batches[i]
		}
	}
	s.fail("there is no batch %s", id)
	return nil
}

func (s *scenario) lose() {
	b := s.batch(s.next())
	s.p.Batches = slices.DeleteFunc(s.p.Batches, func(x schedule.Batch) bool { return x.ID == b.ID })
}

func (s *scenario) sound() { s.batch(s.next()).Sound = s.number(s.next()) }

func (s *scenario) pin() { s.batch(s.next()).Pinned = true }

func (s *scenario) cureUntil() { s.batch(s.next()).CureUntil = s.date(s.next()) }

func (s *scenario) cancel() {
	id := s.next()
	s.p.Orders = slices.DeleteFunc(s.p.Orders, func(o schedule.Order) bool { return o.ID == id })
}

// publish makes the last plan the published one, its batches named b1, b2, ...
func (s *scenario) publish() {
	named := len(s.p.Batches)
	for i := range s.plan.Batches {
		b := &s.plan.Batches[i]
		if !b.New {
			continue
		}
		named++
		id := fmt.Sprintf("b%d", named)
		for j := range s.plan.Allocations {
			if s.plan.Allocations[j].BatchKey == b.Key {
				s.plan.Allocations[j].BatchKey = id
			}
		}
		b.Key, b.New = id, false
	}
	s.p = *publish(&s.p, s.plan)
}

// until lets time pass, and all happen as published.
func (s *scenario) until() {
	s.p.Now = civil.At(s.date(s.next()), s.clock(s.next()), s.p.Zone)
	var left []schedule.Batch
	for _, b := range s.p.Batches {
		switch {
		case !b.Wrap.To.After(s.p.Now):
			s.p.Stock = append(s.p.Stock, schedule.Stock{ID: b.ID, DesignID: b.DesignID, Pieces: b.Sound, For: b.For})
			continue
		case !b.Cut.To.After(s.p.Now):
			b.State = schedule.Curing
		case !b.Make.To.After(s.p.Now):
			b.State = schedule.Poured
		}
		left = append(left, b)
	}
	s.p.Batches = left
}

func (s *scenario) check(p *schedule.Problem, plan *schedule.Plan) {
	s.t.Helper()
	for _, finding := range plancheck.Check(p, plan) {
		s.t.Errorf("%s: %s", s.where, finding)
	}
}

func (s *scenario) solve() {
	plan, err := schedule.Solve(context.Background(), &s.p)
	if err != nil {
		s.fail("%v", err)
	}
	s.check(&s.p, plan)
	s.plan = plan
	s.printPlan("plan", plan)
	s.printMoves(schedule.DiffPublished(&s.p, plan))
}

func (s *scenario) promise() {
	o := s.readOrder(false)
	a, err := schedule.Promise(context.Background(), &s.p, o)
	if err != nil {
		s.fail("%v", err)
	}
	fmt.Fprintf(&s.out, "promise %s: %s", o.ID, a.Verdict)
	if a.Proved {
		s.out.WriteString(" (proved)")
	}
	fmt.Fprintf(&s.out, ", ready %s", a.Ready)
	for _, date := range []struct {
		name string
		day  civil.Date
	}{{"last safe pour", a.LastSafePour}, {"earliest", a.Earliest}, {"bound", a.Bound}} {
		if !date.day.IsZero() {
			fmt.Fprintf(&s.out, ", %s %s", date.name, date.day)
		}
	}
	s.out.WriteString("\n")
	for _, r := range a.Reasons {
		fmt.Fprintf(&s.out, "  because: %s\n", r.Text)
	}
	for _, alt := range a.Alternatives {
		fmt.Fprintf(&s.out, "  or: %s: %s\n", alt.Kind, alt.Text)
	}
	s.words = nil
}

func (s *scenario) reshuffle() {
	list, err := schedule.Reshuffle(context.Background(), &s.p)
	if err != nil {
		s.fail("%v", err)
	}
	for _, pr := range list {
		s.check(&s.p, pr.Plan)
		fmt.Fprintf(&s.out, "proposal %s: %s", pr.Kind, pr.Title)
		if pr.SafeToPublish {
			s.out.WriteString(" (safe to publish)")
		}
		s.out.WriteString("\n")
		for _, cost := range pr.Costs {
			fmt.Fprintf(&s.out, "  %s\n", cost)
		}
	}
}

func (s *scenario) printPlan(title string, plan *schedule.Plan) {
	fmt.Fprintf(&s.out, "%s at %s: %s\n", title, s.p.Now.Format("Mon 2 Jan 15:04"), plan.Objective.Words()[0])
	for _, b := range plan.Batches {
		fmt.Fprintf(&s.out, "  %s %s %d of %d:", b.Key, b.DesignID, b.Sound, b.Pieces)
		if !b.Trial.From.IsZero() {
			fmt.Fprintf(&s.out, " trial %s,", s.span(b.Trial))
		}
		fmt.Fprintf(&s.out, " make %s, cut %s,", s.span(b.Make), s.span(b.Cut))
		for _, part := range b.WrapParts {
			fmt.Fprintf(&s.out, " wrap %s", s.span(part))
		}
		for _, h := range b.Holds {
			fmt.Fprintf(&s.out, "; %s: %s", h.Step, h.Kind)
		}
		s.out.WriteString("\n")
	}
	for _, o := range plan.Orders {
		fmt.Fprintf(&s.out, "  %s ready %s of %s", o.OrderID, o.Ready, o.Deadline)
		if o.LateDays > 0 {
			fmt.Fprintf(&s.out, ", %d days late", o.LateDays)
		}
		if o.Short > 0 {
			fmt.Fprintf(&s.out, ", %d pieces short", o.Short)
		}
		if o.CureLess > 0 {
			fmt.Fprintf(&s.out, ", %d days less cure", o.CureLess)
		}
		if !o.RemakeBy.IsZero() {
			fmt.Fprintf(&s.out, ", remake by %s", o.RemakeBy.In(s.p.Zone).Format("Mon 2 Jan 15:04"))
		}
		s.out.WriteString("\n")
	}
	for _, r := range plan.Problems {
		fmt.Fprintf(&s.out, "  problem: %s\n", r.Text)
	}
	if len(plan.Dropped) > 0 {
		fmt.Fprintf(&s.out, "  dropped: %s\n", strings.Join(plan.Dropped, ", "))
	}
}

func (s *scenario) printMoves(d schedule.Diff) {
	for _, m := range d.Moves {
		firm := ""
		if m.Firm {
			firm = ", firm"
		}
		fmt.Fprintf(&s.out, "  moved: %s %s from %s to %s%s\n", m.BatchKey, m.Step, s.span(m.From), s.span(m.To), firm)
	}
}

// span writes a stretch of work by the clock on the wall.
func (s *scenario) span(i schedule.Interval) string {
	return i.From.In(s.p.Zone).Format("Mon 2 Jan 15:04") + i.To.In(s.p.Zone).Format("-15:04")
}
