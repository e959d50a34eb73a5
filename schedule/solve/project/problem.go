package project

import (
	"errors"
	"fmt"
)

// Errors of Solve.
var (
	// ErrInfeasible: it is proved that no schedule meets every lag and capacity.
	ErrInfeasible = errors.New("no schedule can meet every lag and capacity")
	// ErrNotFound: the budget ran out before a schedule was found or ruled out.
	ErrNotFound = errors.New("no schedule was found within the budget")
)

// Problem is a set of activities that share renewable resources.
type Problem struct {
	Activities []Activity
	Lags       []Lag
	Capacities []int // units of each resource, at every time
	// Tardiness asks for the least weighted tardiness; otherwise it is the
	// makespan that is made small.
	Tardiness bool
	Budget    int // schedules to build at most
	Seed      uint64
}

// Activity is one piece of work, done without a break. Times are whole numbers
// of any unit, from 0.
type Activity struct {
	Duration int
	Demands  []int // units of each resource while it runs; shorter means none of the rest
	Due      int   // when it should have ended; used with Problem.Tardiness
	Weight   int   // of each unit of time after Due
}

// Lag holds one start against another: start(To) >= start(From) + Min. A
// negative Min is a maximum lag read backwards: From starts no later than -Min
// after To.
type Lag struct {
	From, To, Min int
}

// Schedule is what Solve found.
type Schedule struct {
	Starts []int // of each activity
	Value  int   // makespan or weighted tardiness
	Bound  int   // no schedule has a smaller value
	Built  int   // schedules built or search nodes opened
}

// Proved reports whether no schedule can be better.
func (s *Schedule) Proved() bool { return s.Value == s.Bound }

// Validate finds what no schedule can be made of.
func (p *Problem) Validate() error {
	for r, capacity := range p.Capacities {
		if capacity < 0 {
			return fmt.Errorf("capacity of resource %d is %d: it must be 0 or more", r, capacity)
		}
	}
	for i, a := range p.Activities {
		switch {
		case a.Duration < 0:
			return fmt.Errorf("activity %d takes %d: a duration must be 0 or more", i, a.Duration)
		case len(a.Demands) > len(p.Capacities):
			return fmt.Errorf("activity %d uses %d resources, and there are %d", i, len(a.Demands), len(p.Capacities))
		case a.Weight < 0:
			return fmt.Errorf("activity %d has weight %d: it must be 0 or more", i, a.Weight)
		}
		for r, d := range a.Demands {
			if d < 0 {
				return fmt.Errorf("activity %d uses %d of resource %d: it must be 0 or more", i, d, r)
			}
		}
	}
	for _, l := range p.Lags {
		if l.From < 0 || l.From >= len(p.Activities) || l.To < 0 || l.To >= len(p.Activities) {
			return fmt.Errorf("a lag joins activities %d and %d, and there are %d", l.From, l.To, len(p.Activities))
		}
	}
	if p.Budget < 1 {
		return fmt.Errorf("the budget is %d schedules: it must be at least 1", p.Budget)
	}
	return nil
}
