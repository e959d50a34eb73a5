package schedule

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"ripeline/schedule/solve/chain"
)

// DaysFormat names the day-grained problem format: one JSON object whose days
// are numbers from 0 to horizon-1 and whose quantities are whole numbers.
//
//	format           "workshop-days"; may be left out where horizon is given
//	horizon, today   days planned; first day of what has not happened
//	make_open, cut_open, wrap_open   a character a day, 1: the step may be done
//	maker_minutes    hands-on minutes for all steps together, of each day: a list,
//	                 or one number for every day
//	moulds           [{"kind", "bars", "count"}]
//	mould_out        [{"kind": place in moulds, "from", "to" (included), "units"}]
//	rack_capacity    what the rack holds
//	batches          [{"id", "release", "due", "weight", "moulds": places in moulds,
//	                 "cut_min", "cut_max", "cure", "rack", "make_minutes",
//	                 "cut_minutes", "wrap_minutes", "bars"}]
//
// A batch may have fix_make, fix_cut, fix_wrap and fix_kind (what happened), and
// base_make, base_cut, base_wrap and base_kind (what was published); null or left
// out: nothing. Other fields of the object describe it and are not read; an
// unknown field of a batch, a mold or an outage is an error.
const DaysFormat = "workshop-days"

// DaysProblem is a problem in the day-grained format.
type DaysProblem struct {
	ids  []string
	core chain.Problem
}

// daysFile is the problem as it is written; pointers tell what is left out.
type daysFile struct {
	Horizon  *int              `json:"horizon"`
	Today    int               `json:"today"`
	MakeOpen *string           `json:"make_open"`
	CutOpen  *string           `json:"cut_open"`
	WrapOpen *string           `json:"wrap_open"`
	Minutes  json.RawMessage   `json:"maker_minutes"`
	Rack     *int              `json:"rack_capacity"`
	Molds    []json.RawMessage `json:"moulds"`
	Out      []json.RawMessage `json:"mould_out"`
	Batches  []json.RawMessage `json:"batches"`
}

type daysMold struct {
	Kind  string `json:"kind"`
	Bars  int    `json:"bars"`
	Count *int   `json:"count"`
}

type daysOut struct {
	Kind  *int `json:"kind"`
	From  *int `json:"from"`
	To    *int `json:"to"`
	Units *int `json:"units"`
}

type daysBatch struct {
	ID          string `json:"id"`
	Bars        int    `json:"bars"`
	Release     *int   `json:"release"`
	Due         *int   `json:"due"`
	Weight      *int   `json:"weight"`
	Molds       []int  `json:"moulds"`
	CutMin      *int   `json:"cut_min"`
	CutMax      *int   `json:"cut_max"`
	Cure        *int   `json:"cure"`
	Rack        *int   `json:"rack"`
	MakeMinutes *int   `json:"make_minutes"`
	CutMinutes  *int   `json:"cut_minutes"`
	WrapMinutes *int   `json:"wrap_minutes"`
	FixMake     *int   `json:"fix_make"`
	FixCut      *int   `json:"fix_cut"`
	FixWrap     *int   `json:"fix_wrap"`
	FixKind     *int   `json:"fix_kind"`
	BaseMake    *int   `json:"base_make"`
	BaseCut     *int   `json:"base_cut"`
	BaseWrap    *int   `json:"base_wrap"`
	BaseKind    *int   `json:"base_kind"`
}

// FormatOf says which of the formats a problem is written in: as its field
// format says or, without one, DaysFormat where it has a horizon.
func FormatOf(data []byte) string {
	var head struct {
		Format  *string          `json:"format"`
		Horizon *json.RawMessage `json:"horizon"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return ProblemFormat // whose reader says what is wrong with it
	}
	switch {
	case head.Format != nil:
		return *head.Format
	case head.Horizon != nil:
		return DaysFormat
	}
	return ProblemFormat
}

// DaysPlan is the answer to a DaysProblem, as WriteDaysPlan writes it.
type DaysPlan struct {
	WeightedLate int                  `json:"weighted_late"`
	Tardiness    int                  `json:"tardiness"`
	Changes      int                  `json:"changes"`
	Bound        DaysBound            `json:"bound"`
	Proved       bool                 `json:"proved"` // nothing is better in any of the three
	Schedule     map[string]DaysPlace `json:"schedule"`
}

// DaysBound holds what no schedule can be better than.
type DaysBound struct {
	WeightedLate int `json:"weighted_late"`
}

// DaysPlace says on which days a batch is made, cut and wrapped, in which kind
// of mold.
type DaysPlace struct {
	Make int `json:"make"`
	Cut  int `json:"cut"`
	Wrap int `json:"wrap"`
	Kind int `json:"kind"`
}

// InfeasibleError says why a problem has no plan at all.
type InfeasibleError struct{ Reason string }

func (e *InfeasibleError) Error() string { return e.Reason }

// SolveDays plans a day-grained problem. The budget counts steps of search; 0
// leaves it to the planner. An *InfeasibleError says that there is no plan.
func SolveDays(ctx context.Context, p *DaysProblem, budget int) (*DaysPlan, error) {
	answer, err := chain.Solve(ctx, &p.core, budget)
	var none *chain.InfeasibleError
	if errors.As(err, &none) {
		return nil, &InfeasibleError{p.reason(none)}
	}
	if err != nil {
		return nil, err
	}
	v := answer.Value
	plan := &DaysPlan{
		WeightedLate: v.Late, Tardiness: v.Tardy, Changes: v.Changes,
		Bound: DaysBound{answer.LateBound}, Proved: answer.Proved, Schedule: map[string]DaysPlace{},
	}
	for i, id := range p.ids {
		at := answer.Places[i]
		plan.Schedule[id] = DaysPlace{Make: at.At[chain.Start], Cut: at.At[chain.Shift], Wrap: at.At[chain.End], Kind: at.Kind}
	}
	return plan, nil
}

// WriteDaysPlan writes a plan as JSON.
func WriteDaysPlan(w io.Writer, plan *DaysPlan) error { return writeJSON(w, plan) }

// ReadText reads the text of a problem in any format, up to a size that no
// problem needs.
func ReadText(r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read the problem: %w", err)
	}
	if len(data) > mostBytes {
		return nil, fmt.Errorf("the problem is larger than %d MB; split it", mostBytes>>20)
	}
	return data, nil
}

// ReadDays reads a problem in the format that DaysFormat describes, and checks
// that it makes sense. Facts that contradict one another are left to SolveDays.
func ReadDays(data []byte) (*DaysProblem, error) {
	if !json.Valid(data) {
		return nil, decodeStrictly(string(data), new(json.RawMessage))
	}
	var file daysFile
	if err := json.Unmarshal(data, &file); err != nil {
		return nil, explain(err)
	}
	return file.problem()
}

// decodeDays decodes one entry of a list of the day-grained format.
func decodeDays(list string, i int, raw json.RawMessage, into any) error {
	return decodeEntry(DaysFormat, list, i, raw, into)
}

// decodeEntry decodes one entry of a list strictly, and names it where it fails.
func decodeEntry(format, list string, i int, raw json.RawMessage, into any) error {
	dec := json.NewDecoder(strings.NewReader(string(raw)))
	dec.DisallowUnknownFields()
	err := dec.Decode(into)
	var wrongType *json.UnmarshalTypeError
	if errors.As(err, &wrongType) {
		return &FieldError{strings.TrimSuffix(fmt.Sprintf("%s[%d].%s", list, i, wrongType.Field), "."), misfit(wrongType)}
	}
	if err != nil {
		name := strings.Trim(strings.TrimPrefix(err.Error(), "json: unknown field "), `"`)
		return &FieldError{fmt.Sprintf("%s[%d].%s", list, i, name), "there is no such field in " + format + "; take it out or mend its name"}
	}
	return nil
}
