package solve

import "math"

// Time is minutes from an origin of the caller's choosing.
type Time = int

// Never lies after every time; as a bound it means "no bound".
const Never Time = math.MaxInt / 4

// Always is the calendar of a task that may run at any time.
const Always = -1

// Problem is what to schedule. Solving does not change it.
type Problem struct {
	Start     Time       // no task starts before it
	Grid      []Time     // ascending starts of cells (days); the last one ends the horizon
	Calendars [][]Window // each ascending and disjoint
	Resources []Resource
	Jobs      []Job
	Goals     []Goal
	Seed      uint64
	Budget    int // schedules to build at most; at least one is built
}

// Window is a half-open span of open time.
type Window struct{ From, To Time }

// Resource is renewable: Capacity units at every time, less what is Taken.
// Taken may exceed the capacity; then nothing more is placed there.
type Resource struct {
	Capacity int
	Taken    []Reservation
}

// Reservation is units of a resource that are gone before any job is placed.
type Reservation struct {
	From, To Time
	Amount   int
}

// Job is tasks that are placed together or not at all.
type Job struct {
	Release Time // earliest start of its first task, even of a fixed one
	Due     Time // its tasks should have ended by then; Never for none. Wishes give way to it
	Modes   []Mode
	After   []Link
	Base    *Base // the published placement, nil when there is none
}

// Link makes task 0 of a job start at least Cells cells after the cell in which
// the last task of job Job starts.
type Link struct{ Job, Cells int }

// Mode is one way to do a job.
type Mode struct {
	Tasks []Task
	Lags  []Lag
	Spans []Span
	Cost  int // counted in Objective.Mode
	// LastResort modes are tried only when no mode before them finds a place.
	LastResort bool
}

// Task is one activity. A task with Units may be split over windows: Duration
// is then a set-up in the first part, and each part holds whole units.
type Task struct {
	Calendar    int // index into Problem.Calendars, or Always
	Duration    Time
	Units       int // 0: unbroken
	UnitSeconds int
	Earliest    Time // bound on the start
	Fixed       bool // it starts at Earliest and nowhere else, even before Problem.Start
	Uses        []Use
}

// Use is units of a resource held while a task runs.
type Use struct{ Resource, Amount int }

// Lag bounds the time between two tasks of a job, From before To in the list.
// In minutes it counts from the end of From to the start of To; in cells it
// counts the cells from that of From's start to that of To's start, and To does
// not start before From ends.
type Lag struct {
	From, To int
	Cells    bool
	Min      int
	Max      int // less than 0: none
	Wish     int // at least Min where wished for, else 0
}

// Span holds a resource between tasks: from the start (or end) of From, to the
// end of To and Tail beyond.
type Span struct {
	Resource, Amount int
	From             int
	FromEnd          bool
	To               int
	Tail             Time
	Forced           bool // held even where the resource is exhausted, because it is so already
}

// Base is a published placement. The first Firm tasks may move only when they
// can not stay.
type Base struct {
	Mode   int
	Starts []Time
	Firm   int
	Moves  []int // cost of moving each task
}

// Goal is a set of jobs wanted by a time. Lateness counts the cells from that
// of Due to that of the last job's end; a job not placed counts Unplaced cells.
type Goal struct {
	Jobs   []int
	Due    Time // the last moment in time, exclusive
	Weight int
	Told   Time // a promise: ending at or after it costs Breach; Never for none
	Breach int  // counted in Objective.Changes
}

// Unplaced is the lateness, in cells, of a goal whose jobs found no place.
const Unplaced = 365

// Schedule is a placement for each job; jobs that found no place are nil.
type Schedule struct {
	Jobs      []*Placement
	Objective Objective
	Built     int // schedules built to find this one

	board *board
}

// Placement is where a job's tasks went.
type Placement struct {
	Mode   int
	Starts []Time
	Ends   []Time
	Parts  [][]Window // of each task; nil when unbroken
	Short  int        // cells short of the wished lags
	Kept   bool       // all tasks are at their base
	Causes []Cause    // by task: what moved it furthest from where it could have been
}

// End is when the last task ends.
func (pl *Placement) End() Time {
	end := pl.Ends[0]
	for _, e := range pl.Ends[1:] {
		end = max(end, e)
	}
	return end
}

// Cause says why a task does not start earlier.
type Cause struct {
	Kind     CauseKind
	Resource int  // for ByResource
	At       Time // for ByResource: a moment at which it is taken
}

// CauseKind names what can hold a task.
type CauseKind int

// What can hold a task where it is.
const (
	ByRelease  CauseKind = iota // its job's release, a link, or its own earliest start
	ByCalendar                  // closed time
	ByResource                  // a resource that others hold
	ByMinLag                    // it waits for an earlier task of the job
	ByMaxLag                    // a later task of the job could not follow in time
	ByBase                      // it was left where the base has it
)
