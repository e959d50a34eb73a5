// Package schedule plans a workshop: it turns an order book and a clock into
// batches, times, molds and allocations, says whether a date can be promised,
// and finds ways out when a batch fails.
package schedule

import (
	"time"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// Problem is everything the planner may know: the order book as facts and
// wishes, the workshop's capacities, and the clock. It is a value; the planner
// never changes it and never reads anything else.
type Problem struct {
	Now  time.Time      // no free work is placed before it
	Zone *time.Location // turns hours and days into instants

	Hours  []Window      // weekly working hours
	Extra  []ExtraWindow // one-off additional hours
	Closed []civil.Range // days on which nothing is done by hand
	Busy   []Interval    // other engagements, closing the hours they touch
	Hands  int           // people who can work at once, at least 1
	Molds  []Mold        // by kind
	Rack   calc.Area     // curing area in mm2
	Firm   int           // days from Now in which published work moves only with a yes

	Designs []Design
	Orders  []Order
	Batches []Batch // published and running batches
	Stock   []Stock // wrapped, sound, unallocated or allocated pieces on the shelf

	Seed   uint64
	Budget int // schedules the search may build; 0 means DefaultBudget
}

// Step is a kind of hands-on work.
type Step string

// The hands-on steps of a batch.
const (
	StepTrial Step = "trial"
	StepMake  Step = "make"
	StepCut   Step = "cut"
	StepWrap  Step = "wrap"
)

// Window is working time on one weekday. From < To, minutes of the local day.
// An empty Steps holds any step.
type Window struct {
	Weekday time.Weekday `json:"weekday"`
	From    civil.Minute `json:"from"`
	To      civil.Minute `json:"to"`
	Steps   []Step       `json:"steps"`
}

// ExtraWindow is working time on one date.
type ExtraWindow struct {
	Date  civil.Date   `json:"date,omitzero"`
	From  civil.Minute `json:"from"`
	To    civil.Minute `json:"to"`
	Steps []Step       `json:"steps"`
}

// Interval is a half-open span of time.
type Interval struct {
	From time.Time `json:"from,omitzero"`
	To   time.Time `json:"to,omitzero"`
}

// Mold is a kind of mold and how many of it there are. It is busy from the
// start of make to the end of cut plus Clean minutes.
type Mold struct {
	ID    string
	Name  string
	Count int
	Clean int // minutes after the cut before it can be poured again
	Out   []MoldOut
}

// MoldOut says that Units of the kind are missing on the days From..To.
type MoldOut struct {
	Days  civil.Range
	Units int
}

// Design is a recipe with its cut plan, as far as time and capacity care.
type Design struct {
	ID        string
	Name      string
	Fits      []Fit     // the molds it may be poured in; none makes it unplannable
	Footprint calc.Area // rack area one piece takes, spacing included

	MakeFixed, CutFixed, WrapFixed int // minutes for a batch
	MakePer, CutPer, WrapPer       int // seconds for a piece; totals round up to minutes

	CutWindow  CutWindow
	CureMin    int     // days, never broken
	CureTarget int     // days, wished for; >= CureMin
	Spoil      float64 // expected share of pieces lost between pour and wrap, 0..0.5
	FailRate   float64 // chance that a whole batch fails, 0..1 (prior and history combined)

	SuppliesReady civil.Date // earliest day a new pour can have its supplies; zero: on the shelf
	NeedsTrial    bool       // a trial must be judged before the first real pour
	TrialMinutes  int        // hands-on minutes of the trial
	Blocked       string     // non-empty: may not be scheduled, and why
}

// Fit is how a design sits in one mold kind: a full mold gives Full pieces; a
// partial fill gives Min, Min+Step, ... up to Full.
type Fit struct {
	MoldID          string
	Full, Min, Step int
}

// CutWindow bounds the time from the end of the pour to the start of the cut:
// in hours, or, when Days is set, in whole local days from the pour's date.
type CutWindow struct {
	Min, Max int
	Days     bool
}

// Order asks for pieces by a date.
type Order struct {
	ID       string
	Name     string // what a person calls it, for reasons
	Accepted bool   // accepted orders bind; enquiries do not
	NeededBy civil.Date
	HandOver int        // days before NeededBy on which all must be wrapped (0: wrapped on the day itself is in time)
	Weight   int        // >= 1
	Told     civil.Date // the ready date the customer was told, zero when none
	Lines    []Line
}

// Line is one design in an order. Pieces counts everything to be handed
// over or kept: pieces, spares and keepsakes.
type Line struct {
	ID       string
	DesignID string
	Pieces   int
}

// BatchState is how far a batch has come.
type BatchState string

// The states of a batch the planner distinguishes.
const (
	Planned BatchState = "planned" // published, not yet poured
	Poured  BatchState = "poured"  // in its mold
	Curing  BatchState = "curing"  // cut, on the rack
)

// Batch is a published or running batch. Times of steps that happened are
// facts; the others are the published plan.
type Batch struct {
	ID       string
	Lot      string // what the maker calls it
	DesignID string
	State    BatchState
	Molds    []MoldUse
	Pieces   int  // pieces poured, or to be poured
	Sound    int  // pieces sound or expected sound at wrap, <= Pieces
	Pinned   bool // a person fixed its published times

	Trial           Interval   // the published trial before it, zero when none
	Make, Cut, Wrap Interval   // facts up to State, published plan after; zero when unknown
	CureUntil       civil.Date // learnt from weighings: not wrapped before; zero when unknown
	For             []Share    // what of it is allocated now
}

// MoldUse is Units molds of one kind holding Pieces in all.
type MoldUse struct {
	MoldID string `json:"mold_id"`
	Units  int    `json:"units"`
	Pieces int    `json:"pieces"`
}

// Share is pieces of one source given to one order line.
type Share struct {
	LineID string `json:"line_id"`
	Pieces int    `json:"pieces"`
}

// Stock is sound, wrapped pieces on the shelf.
type Stock struct {
	ID       string
	DesignID string
	Pieces   int
	For      []Share
}
