package schedule

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"ripeline/schedule/civil"
)

// ProblemFormat is the name and version of the problem format. A problem is one
// JSON object:
//
//	format    "ripeline-problem/1"
//	now       an instant, such as "2026-03-02T09:00:00Z"
//	zone      an IANA name, such as "Europe/Lisbon"
//	hours     [{"weekday": "tuesday", "from": "18:00", "to": "21:00", "steps": ["make"]}]; no steps: any
//	extra     [{"date": "2026-03-08", "from": ..., "to": ..., "steps": ...}]
//	closed    [{"from": "2026-04-03", "to": "2026-04-06"}], both included
//	busy      [{"from": an instant, "to": an instant}]
//	hands     people who can work at once
//	rack_mm2  area of the rack in square millimetres
//	firm      days in which published work moves only when it must
//	molds     [{"id", "name", "count", "clean" (minutes), "out": [{"days": {"from", "to"}, "units"}]}]
//	designs, orders, batches, stock: as the fields of Design, Order, Batch and
//	          Stock, in snake case; fixed times in minutes, times by piece in
//	          seconds, cures in days, areas in square millimetres. The supplies
//	          of a design are steps by day: [{"pieces": 50}, {"from": "2026-03-10",
//	          "pieces": 80}, {"from": "2026-03-20", "endless": true}], on the
//	          shelf for 50 pieces, by 10 March for 80 in all, then without end
//	risks     {"before_cut", "slow_cure", "slow_days", "late_supplies", "late_days"}
//	seed, budget: of the search
//
// Days are written 2026-03-02, times of day 18:30. What is left out is zero,
// empty or none. A field that is not known is an error. Files from before supplies
// came in steps are read as well: a design's "supplies_ready", the day from which
// there is no end of them, and "supplies_pieces", for how many there are some before.
const ProblemFormat = "ripeline-problem/1"

// PlanFormat is the name and version of the plan format: the fields of Plan,
// with its difference from the published plan and its objective in words.
const PlanFormat = "ripeline-plan/1"

// mostBytes bounds a problem file.
const mostBytes = 10 << 20

// problemFile is a problem as it is written; its own fields stand for those of
// Problem that JSON can not hold.
type problemFile struct {
	Format string       `json:"format"`
	Zone   string       `json:"zone"`
	Hours  []hoursEntry `json:"hours,omitempty"`
	Problem
	Designs []designEntry `json:"designs"`
}

// designEntry is a Design with its supplies as they used to be written.
type designEntry struct {
	Design
	SuppliesReady  civil.Date `json:"supplies_ready,omitzero"`
	SuppliesPieces int        `json:"supplies_pieces,omitempty"`
}

// hoursEntry is a Window with its day by name.
type hoursEntry struct {
	Weekday string       `json:"weekday"`
	From    civil.Minute `json:"from"`
	To      civil.Minute `json:"to"`
	Steps   []Step       `json:"steps,omitempty"`
}

// ReadProblem reads a problem in the format that ProblemFormat describes, and
// checks that it makes sense.
func ReadProblem(r io.Reader) (*Problem, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read the problem: %w", err)
	}
	if len(data) > mostBytes {
		return nil, fmt.Errorf("the problem is larger than %d MB; split it", mostBytes>>20)
	}
	var file problemFile
	if err := decodeStrictly(string(data), &file); err != nil {
		return nil, err
	}
	if file.Format != ProblemFormat {
		return nil, &FieldError{"format", fmt.Sprintf("%q is not a format that can be read; write %q", file.Format, ProblemFormat)}
	}
	p, err := file.problem()
	if err != nil {
		return nil, err
	}
	return p, p.check()
}

// decodeStrictly refuses unknown fields and anything after the object.
func decodeStrictly(data string, into any) error {
	dec := json.NewDecoder(strings.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return explain(err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return errors.New("there is more after the end of the problem; a file holds one")
	}
	return nil
}

// explain turns a decoder's error into one that names the field.
func explain(err error) error {
	var wrongType *json.UnmarshalTypeError
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &wrongType):
		field := strings.ReplaceAll(strings.TrimPrefix(wrongType.Field, "Problem."), ".Design.", ".")
		return &FieldError{field, misfit(wrongType) + "; see the problem format"}
	case errors.As(err, &syntax):
		return fmt.Errorf("the problem is not JSON, at byte %d: %w", syntax.Offset, err)
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("the problem ends before it is complete")
	}
	if name, found := strings.CutPrefix(err.Error(), "json: unknown field "); found {
		return &FieldError{strings.Trim(name, `"`), "there is no such field in the problem format; take it out or mend its name"}
	}
	return fmt.Errorf("the problem can not be read: %w", err)
}

// problem fills in what JSON could not hold.
func (f *problemFile) problem() (*Problem, error) {
	p := f.Problem
	zone, err := civil.LoadZone(f.Zone)
	if err != nil {
		return nil, &FieldError{"zone", err.Error()}
	}
	p.Zone = zone
	for i, h := range f.Hours {
		day, ok := weekdayOf(h.Weekday)
		if !ok {
			return nil, &FieldError{fmt.Sprintf("hours[%d].weekday", i), fmt.Sprintf("%q is not a day of the week; write monday to sunday", h.Weekday)}
		}
		p.Hours = append(p.Hours, Window{Weekday: day, From: h.From, To: h.To, Steps: h.Steps})
	}
	for i := range f.Designs {
		d, err := f.Designs[i].design()
		if err != nil {
			return nil, err
		}
		p.Designs = append(p.Designs, d)
	}
	return &p, nil
}

// design puts supplies as they used to be written into steps.
func (e *designEntry) design() (Design, error) {
	d, field := e.Design, fmt.Sprintf("designs[%s].", e.ID)
	if (!e.SuppliesReady.IsZero() || e.SuppliesPieces != 0) && d.Supplies != nil {
		return d, &FieldError{field + "supplies", "take out either this or supplies_ready and supplies_pieces, the old way to write it"}
	}
	if e.SuppliesPieces < 0 {
		return d, &FieldError{field + "supplies_pieces", "there can not be supplies for fewer than no pieces"}
	}
	if e.SuppliesReady.IsZero() {
		return d, nil
	}
	if e.SuppliesPieces > 0 {
		d.Supplies = append(d.Supplies, Supply{Pieces: e.SuppliesPieces})
	}
	d.Supplies = append(d.Supplies, Supply{From: e.SuppliesReady, Endless: true})
	return d, nil
}

func weekdayOf(name string) (time.Weekday, bool) {
	for d := time.Sunday; d <= time.Saturday; d++ {
		if strings.EqualFold(d.String(), name) {
			return d, true
		}
	}
	return 0, false
}

// WriteProblem writes a problem so that ReadProblem gives it back.
func WriteProblem(w io.Writer, p *Problem) error {
	file := problemFile{Format: ProblemFormat, Zone: p.Zone.String(), Problem: *p}
	for _, h := range p.Hours {
		file.Hours = append(file.Hours, hoursEntry{strings.ToLower(h.Weekday.String()), h.From, h.To, h.Steps})
	}
	file.Designs = make([]designEntry, len(p.Designs))
	for i, d := range p.Designs {
		file.Designs[i].Design = d
	}
	return writeJSON(w, file)
}

// planFile is a plan as it is written.
type planFile struct {
	Format string   `json:"format"`
	Words  []string `json:"words"`
	*Plan
	Diff Diff `json:"diff"`
}

// WritePlan writes a plan as JSON, with its difference from what the problem
// has as published.
func WritePlan(w io.Writer, p *Problem, plan *Plan) error {
	diff := DiffPublished(p, plan)
	diff.Moves, diff.Late = array(diff.Moves), array(diff.Late)
	diff.Added, diff.Dropped = array(diff.Added), array(diff.Dropped)
	out := *plan
	out.Batches, out.Allocations, out.Orders = array(plan.Batches), array(plan.Allocations), array(plan.Orders)
	out.Dropped, out.Problems = array(plan.Dropped), array(plan.Problems)
	return writeJSON(w, planFile{Format: PlanFormat, Words: array(plan.Objective.Words()), Plan: &out, Diff: diff})
}

// array is s, written as [] rather than null when empty.
func array[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("write JSON: %w", err)
	}
	return nil
}
