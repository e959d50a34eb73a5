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
	Now  time.Time      `json:"now"` // no free work is placed before it
	Zone *time.Location `json:"-"`   // turns hours and days into instants

	Hours  []Window      `json:"-"`                // weekly working hours
	Extra  []ExtraWindow `json:"extra,omitempty"`  // one-off additional hours
	Closed []civil.Range `json:"closed,omitempty"` // days on which nothing is done by hand
	Busy   []Interval    `json:"busy,omitempty"`   // other engagements, closing the hours they touch
	Hands  int           `json:"hands"`            // people who can work at once, at least 1
	Molds  []Mold        `json:"molds,omitempty"`  // by kind
	Rack   calc.Area     `json:"rack_mm2"`         // curing area in mm2
	Firm   int           `json:"firm,omitempty"`   // days from Now in which published work moves only with a yes

	Designs []Design `json:"designs"`
	Orders  []Order  `json:"orders,omitempty"`
	Batches []Batch  `json:"batches,omitempty"` // published and running batches
	Stock   []Stock  `json:"stock,omitempty"`   // wrapped, sound, unallocated or allocated pieces on the shelf

	Risks Risks `json:"risks,omitzero"` // for Confidence; zero fields mean the defaults

	Seed   uint64 `json:"seed,omitempty"`
	Budget int    `json:"budget,omitempty"` // schedules the search may build; 0 means DefaultBudget
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
	ID    string    `json:"id"`
	Name  string    `json:"name,omitempty"`
	Count int       `json:"count"`
	Clean int       `json:"clean,omitempty"` // minutes after the cut before it can be poured again
	Out   []MoldOut `json:"out,omitempty"`
}

// MoldOut says that Units of the kind are missing on the days From..To.
type MoldOut struct {
	Days  civil.Range `json:"days"`
	Units int         `json:"units"`
}

// Design is a recipe with its cut plan, as far as time and capacity care.
type Design struct {
	ID        string    `json:"id"`
	Name      string    `json:"name"`
	Fits      []Fit     `json:"fits"`          // the molds it may be poured in; none makes it unplannable
	Footprint calc.Area `json:"footprint_mm2"` // rack area one piece takes, spacing included

	MakeFixed int `json:"make_fixed"` // minutes for a batch
	CutFixed  int `json:"cut_fixed"`
	WrapFixed int `json:"wrap_fixed"`
	MakePer   int `json:"make_per"` // seconds for a piece; totals round up to minutes
	CutPer    int `json:"cut_per"`
	WrapPer   int `json:"wrap_per"`

	CutWindow  CutWindow `json:"cut_window"`
	CureMin    int       `json:"cure_min"`            // days, never broken
	CureTarget int       `json:"cure_target"`         // days, wished for; >= CureMin
	Spoil      float64   `json:"spoil,omitempty"`     // expected share of pieces lost between pour and wrap, 0..0.5
	FailRate   float64   `json:"fail_rate,omitempty"` // chance that a whole batch fails, 0..1 (prior and history combined)

	Supplies     []Supply `json:"supplies,omitempty"`      // by day; none: for as many pieces as are wanted, at any time
	NeedsTrial   bool     `json:"needs_trial,omitempty"`   // a trial must be judged before the first real pour
	TrialMinutes int      `json:"trial_minutes,omitempty"` // hands-on minutes of the trial
	Blocked      string   `json:"blocked,omitempty"`       // non-empty: may not be scheduled, and why
}

// Supply is a step of a design's supplies: from a day on, so many pieces can have
// been poured in all planned batches together. What is on the shelf is a first step
// without a day. Before the first step nothing can be poured, and after the last
// no more than it does for.
type Supply struct {
	From    civil.Date `json:"from,omitzero"`     // rising; zero: there already
	Pieces  int        `json:"pieces,omitempty"`  // rising, since each counts those before
	Endless bool       `json:"endless,omitempty"` // in the last step: for as many pieces as are wanted, with Pieces left out
}

// Fit is how a design sits in one mold kind: a full mold gives Full pieces; a
// partial fill gives Min, Min+Step, ... up to Full.
type Fit struct {
	MoldID string `json:"mold_id"`
	Full   int    `json:"full"`
	Min    int    `json:"min"`
	Step   int    `json:"step"`
}

// CutWindow bounds the time from the end of the pour to the start of the cut:
// in hours, or, when Days is set, in whole local days from the pour's date.
type CutWindow struct {
	Min  int  `json:"min"`
	Max  int  `json:"max"`
	Days bool `json:"days,omitempty"`
}

// Order asks for pieces by a date.
type Order struct {
	ID       string     `json:"id"`
	Name     string     `json:"name,omitempty"` // what a person calls it, for reasons
	Accepted bool       `json:"accepted"`       // accepted orders bind; enquiries do not
	NeededBy civil.Date `json:"needed_by"`
	HandOver int        `json:"hand_over,omitempty"` // days before NeededBy on which all must be wrapped (0: wrapped on the day itself is in time)
	Weight   int        `json:"weight"`              // >= 1
	Told     civil.Date `json:"told,omitzero"`       // the ready date the customer was told, zero when none
	Lines    []Line     `json:"lines"`
}

// Line is one design in an order. Pieces counts everything to be handed
// over or kept: pieces, spares and keepsakes.
type Line struct {
	ID       string `json:"id"`
	DesignID string `json:"design_id"`
	Pieces   int    `json:"pieces"`
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
	ID       string     `json:"id"`
	Lot      string     `json:"lot,omitempty"` // what the maker calls it
	DesignID string     `json:"design_id"`
	State    BatchState `json:"state"`
	Molds    []MoldUse  `json:"molds,omitempty"`
	Pieces   int        `json:"pieces"`           // pieces poured, or to be poured
	Sound    int        `json:"sound"`            // pieces sound or expected sound at wrap, <= Pieces
	Pinned   bool       `json:"pinned,omitempty"` // a person fixed its published times

	Trial     Interval   `json:"trial,omitzero"` // the published trial before it, zero when none
	Make      Interval   `json:"make,omitzero"`  // facts up to State, published plan after; zero when unknown
	Cut       Interval   `json:"cut,omitzero"`
	Wrap      Interval   `json:"wrap,omitzero"`
	CureUntil civil.Date `json:"cure_until,omitzero"` // learnt from weighings: not wrapped before; zero when unknown
	For       []Share    `json:"for,omitempty"`       // what of it is allocated now
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
	ID       string  `json:"id"`
	DesignID string  `json:"design_id"`
	Pieces   int     `json:"pieces"`
	For      []Share `json:"for,omitempty"`
}
