package schedule

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"ripeline/schedule/solve/project"
)

// ActivitiesFormat names the format of a general scheduling problem: activities
// that share resources. Times are whole numbers of any unit, from 0. A problem is
// one JSON object:
//
//	format      "activities"
//	resources   [{"name", "capacity"}]: units there are at every time
//	activities  [{"name", "duration", "demands": units of each resource while it
//	            runs, in the order of resources; "due", "weight": of each unit of
//	            time after due}]
//	lags        [{"from", "to": places in activities, counted from 0; "min"}]: to
//	            starts at least min after from starts; below 0, from starts at
//	            most -min after to
//	tardiness   true: least weighted tardiness; else the least makespan
//	budget      schedules to build at most; 0 or left out: 5000
//	seed        of the search
//
// What is left out is zero, empty or false, except duration and capacity, which
// must be there. A field that is not known is an error.
const ActivitiesFormat = "activities"

// Limits of a general problem: small enough that no sum can overflow.
const (
	mostActivities = 1000
	mostLags       = 50_000
	mostResources  = 100
	mostTime       = 100_000
	mostDemand     = 1_000_000
	mostWeight     = 10_000
	mostDue        = 100_000_000
	mostBudget     = 10_000_000
	usualBudget    = 5000
)

type activitiesFile struct {
	Format     string            `json:"format"`
	Resources  []resourceEntry   `json:"resources"`
	Activities []json.RawMessage `json:"activities"`
	Lags       []json.RawMessage `json:"lags"`
	Tardiness  bool              `json:"tardiness"`
	Budget     int               `json:"budget"`
	Seed       uint64            `json:"seed"`
}

type resourceEntry struct {
	Name     string `json:"name"`
	Capacity *int   `json:"capacity"`
}

type activityEntry struct {
	Name     string `json:"name"`
	Duration *int   `json:"duration"`
	Demands  []int  `json:"demands"`
	Due      int    `json:"due"`
	Weight   int    `json:"weight"`
}

type lagEntry struct {
	From *int `json:"from"`
	To   *int `json:"to"`
	Min  int  `json:"min"`
}

// ActivitiesProblem is a problem in the format that ActivitiesFormat describes.
type ActivitiesProblem struct{ core project.Problem }

// ActivitiesPlan is the answer to an ActivitiesProblem.
type ActivitiesPlan struct {
	Starts []int `json:"starts"` // of each activity
	Value  int   `json:"value"`  // makespan or weighted tardiness
	Bound  int   `json:"bound"`  // no schedule has less
	Proved bool  `json:"proved"` // nothing is better
	Built  int   `json:"built"`  // schedules built and dead ends met
}

// ReadActivities reads a general scheduling problem and checks that it makes
// sense.
func ReadActivities(data []byte) (*ActivitiesProblem, error) {
	var file activitiesFile
	if err := decodeStrictly(string(data), &file); err != nil {
		return nil, err
	}
	n := &numbers{}
	p := &ActivitiesProblem{core: project.Problem{
		Tardiness: file.Tardiness, Seed: file.Seed,
		Budget: n.need("budget", &file.Budget, 0, mostBudget),
	}}
	if p.core.Budget == 0 {
		p.core.Budget = usualBudget
	}
	n.count("resources", len(file.Resources), mostResources)
	n.count("activities", len(file.Activities), mostActivities)
	n.count("lags", len(file.Lags), mostLags)
	if n.err != nil {
		return nil, n.err
	}
	for r, resource := range file.Resources {
		p.core.Capacities = append(p.core.Capacities, n.need(fmt.Sprintf("resources[%d].capacity", r), resource.Capacity, 0, mostDemand))
	}
	for i, raw := range file.Activities {
		n.activity(i, raw, &p.core)
	}
	for k, raw := range file.Lags {
		n.lag(k, raw, &p.core)
	}
	return p, n.err
}

// count limits the length of a list.
func (n *numbers) count(list string, length, most int) {
	if length > most && n.err == nil {
		n.err = &FieldError{list, fmt.Sprintf("lists %d; it must be at most %d", length, most)}
	}
}

// entry decodes one entry of a list, unless something was wrong before.
func (n *numbers) entry(list string, i int, raw json.RawMessage, into any) bool {
	if n.err == nil {
		n.err = decodeEntry(ActivitiesFormat, list, i, raw, into)
	}
	n.prefix = fmt.Sprintf("%s[%d].", list, i)
	return n.err == nil
}

func (n *numbers) activity(i int, raw json.RawMessage, p *project.Problem) {
	var a activityEntry
	if !n.entry("activities", i, raw, &a) {
		return
	}
	n.count(n.prefix+"demands", len(a.Demands), len(p.Capacities))
	for r, d := range a.Demands {
		n.need(fmt.Sprintf("demands[%d]", r), &d, 0, mostDemand)
	}
	p.Activities = append(p.Activities, project.Activity{
		Duration: n.need("duration", a.Duration, 0, mostTime),
		Demands:  a.Demands,
		Due:      n.need("due", &a.Due, -mostDue, mostDue),
		Weight:   n.need("weight", &a.Weight, 0, mostWeight),
	})
}

func (n *numbers) lag(k int, raw json.RawMessage, p *project.Problem) {
	var l lagEntry
	if !n.entry("lags", k, raw, &l) {
		return
	}
	last := len(p.Activities) - 1
	p.Lags = append(p.Lags, project.Lag{
		From: n.need("from", l.From, 0, last),
		To:   n.need("to", l.To, 0, last),
		Min:  n.need("min", &l.Min, -mostTime, mostTime),
	})
}

// SolveActivities schedules a general problem; a budget of 0 leaves it to the
// problem. An *InfeasibleError says that there is no schedule.
func SolveActivities(ctx context.Context, p *ActivitiesProblem, budget int) (*ActivitiesPlan, error) {
	core := p.core
	if budget > 0 {
		core.Budget = budget
	}
	s, err := project.Solve(ctx, &core)
	if errors.Is(err, project.ErrInfeasible) {
		return nil, &InfeasibleError{err.Error()}
	}
	if errors.Is(err, project.ErrNotFound) {
		return nil, fmt.Errorf("%w: raise budget above %d", err, core.Budget)
	}
	if err != nil {
		return nil, err
	}
	return &ActivitiesPlan{Starts: array(s.Starts), Value: s.Value, Bound: s.Bound, Proved: s.Proved(), Built: s.Built}, nil
}

// WriteActivitiesPlan writes the answer to a general problem as JSON.
func WriteActivitiesPlan(w io.Writer, plan *ActivitiesPlan) error { return writeJSON(w, plan) }
