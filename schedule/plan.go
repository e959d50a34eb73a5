package schedule

import (
	"time"

	"ripeline/schedule/civil"
)

// Plan is the planner's answer: when each batch is made, cut and wrapped, what
// goes to whom, and how good that is.
type Plan struct {
	Batches     []PlanBatch    `json:"batches"`     // by make start, then key
	Allocations []Allocation   `json:"allocations"` // by line, then source
	Orders      []OrderOutcome `json:"orders"`      // by order id
	Dropped     []string       `json:"dropped"`     // published batches that are no longer needed, by id
	Objective   Objective      `json:"objective"`
	Bound       Objective      `json:"bound"`    // no plan can be better in the first place that differs
	Proved      bool           `json:"proved"`   // Objective is proved optimal in its late and tardiness parts
	Problems    []Reason       `json:"problems"` // what can not be planned at all, and why
}

// PlanBatch is one batch of a plan. Key is the batch's ID, or "new-1",
// "new-2", ... for one that is not yet in the book, without the names that the
// book has.
type PlanBatch struct {
	Key      string     `json:"key"`
	New      bool       `json:"new"`
	DesignID string     `json:"design_id"`
	State    BatchState `json:"state"`
	Molds    []MoldUse  `json:"molds"`
	Pieces   int        `json:"pieces"` // poured
	Sound    int        `json:"sound"`  // expected sound at wrap

	Trial      Interval   `json:"trial,omitzero"` // zero when none is needed
	Make       Interval   `json:"make,omitzero"`
	Cut        Interval   `json:"cut,omitzero"`
	Wrap       Interval   `json:"wrap,omitzero"`
	WrapParts  []Interval `json:"wrap_parts"`        // the windows the wrapping is split over; one when unbroken
	CutFrom    time.Time  `json:"cut_from,omitzero"` // the cut window that the pour opens
	CutTo      time.Time  `json:"cut_to,omitzero"`
	CureMin    civil.Date `json:"cure_min,omitzero"`    // first day wrapping may start
	CureTarget civil.Date `json:"cure_target,omitzero"` // first day the wished-for cure is over
	Holds      []Hold     `json:"holds"`                // what holds each step where it is
}

// Hold explains a step's place: nothing earlier was possible because of it.
type Hold struct {
	Step Step     `json:"step"`
	Kind HoldKind `json:"kind"`
	With string   `json:"with"` // the mold, batch, order or design concerned, "" when none
	Text string   `json:"text"` // one sentence for a person
}

// HoldKind names what held a step.
type HoldKind string

// What can hold a step.
const (
	HoldNow      HoldKind = "now"
	HoldFact     HoldKind = "fact"
	HoldHours    HoldKind = "hours"
	HoldHands    HoldKind = "hands"
	HoldMold     HoldKind = "mold"
	HoldRack     HoldKind = "rack"
	HoldCure     HoldKind = "cure"
	HoldCut      HoldKind = "cut window"
	HoldSupplies HoldKind = "supplies"
	HoldTrial    HoldKind = "trial"
	HoldPlan     HoldKind = "published plan"
	HoldDue      HoldKind = "due date"
	HoldBlocked  HoldKind = "blocked" // the design may not be scheduled until it is changed, as when its fragrance is over a limit
)

// Allocation gives pieces of a batch (or of stock) to an order line.
type Allocation struct {
	BatchKey string `json:"batch_key"` // exactly one of BatchKey and StockID is set
	StockID  string `json:"stock_id"`
	LineID   string `json:"line_id"`
	Pieces   int    `json:"pieces"`
}

// OrderOutcome is what the plan means for one order.
type OrderOutcome struct {
	OrderID  string     `json:"order_id"`
	Ready    civil.Date `json:"ready,omitzero"`    // day the last piece is wrapped; zero when it can not be made at all
	Deadline civil.Date `json:"deadline,omitzero"` // NeededBy less the hand-over days
	LateDays int        `json:"late_days"`         // days Ready is after Deadline, 0 when in time
	Short    int        `json:"short"`             // pieces no batch could be found for
	// RemakeBy is the last instant at which any one batch of this order may be
	// declared failed and the order still be met by pouring it again, for the
	// minimum cure, the rest of the plan standing. Zero when that can not be
	// after the batch's own cut, where a failure shows at the earliest, and
	// when the order waits for no batch.
	RemakeBy time.Time `json:"remake_by,omitzero"`
	CureLess int       `json:"cure_less"` // largest number of days a batch of it is short of its target cure
}

// Objective is the lexicographic objective; smaller is better, first field
// first.
type Objective struct {
	Late        int `json:"weighted_late"` // sum of weights of accepted orders late
	Tardiness   int `json:"tardiness"`     // sum of weight x days late
	Changes     int `json:"changes"`       // weighted changes to the published plan
	NoRemake    int `json:"no_remake"`     // accepted orders that could not survive a failed batch
	CureShort   int `json:"cure_short"`    // days short of the target cure, over batches
	Batches     int `json:"batches"`       // planned batches
	Surplus     int `json:"surplus"`       // pieces nobody asked for
	FinishHours int `json:"finish_hours"`  // sum over batches of hours from now to wrap
}

// Reason is one link of a chain that a person can check.
type Reason struct {
	Kind    HoldKind   `json:"kind"`
	OrderID string     `json:"order_id,omitempty"`
	Batch   string     `json:"batch,omitempty"`
	MoldID  string     `json:"mold_id,omitempty"`
	From    civil.Date `json:"from,omitzero"`
	To      civil.Date `json:"to,omitzero"`
	Text    string     `json:"text"` // one sentence for a person
}

// Verdict is the answer to "can I promise this?".
type Verdict string

// The verdicts.
const (
	Yes   Verdict = "yes"
	YesIf Verdict = "yes, if"
	No    Verdict = "no"
)

// Answer says whether an enquiry can be ready by its date. Asking writes
// nothing.
type Answer struct {
	Verdict  Verdict    `json:"verdict"`
	OrderID  string     `json:"order_id"`
	Ready    civil.Date `json:"ready,omitzero"` // when it would be ready under Plan
	Deadline civil.Date `json:"deadline,omitzero"`
	// Plan is the whole plan with the enquiry in it; for a "yes, if" that of the
	// first alternative that keeps the date, for a "no" the best found. Of the
	// remake margins only the enquiry's is looked for, and only its batches say
	// what holds them, here and in Alternatives.
	Plan *Plan    `json:"plan"`
	Keys []string `json:"keys"` // the batches of Plan that serve the enquiry

	LastSafePour civil.Date `json:"last_safe_pour,omitzero"` // last day its last batch may be poured and still be in time; zero if none
	RemakeBy     time.Time  `json:"remake_by,omitzero"`
	Stages       []Stage    `json:"stages"` // the time between now and the date, in order

	Reasons      []Reason      `json:"reasons"`
	Earliest     civil.Date    `json:"earliest,omitzero"` // earliest date that could be promised instead, hand-over days included; zero if none found
	Proved       bool          `json:"proved"`            // a "no" is proved: no plan can meet the date in the hours there are
	Bound        civil.Date    `json:"bound,omitzero"`    // no plan can be ready before this day in the hours there are
	Alternatives []Alternative `json:"alternatives"`
}

// Stage is a labelled stretch of days for the picture of a promise:
// supplies, wait, pour, mold, cure (to the minimum), target (to the wish), wrap,
// spare, hand-over.
type Stage struct {
	Kind string     `json:"kind"`
	From civil.Date `json:"from,omitzero"` // inclusive
	To   civil.Date `json:"to,omitzero"`
	Text string     `json:"text"`
}

// Alternative is a change that would make the date, re-planned in full.
type Alternative struct {
	Kind     AlternativeKind `json:"kind"`
	Text     string          `json:"text"`                // one sentence for a person
	NeededBy civil.Date      `json:"needed_by,omitzero"`  // for later-date
	Pieces   int             `json:"pieces"`              // for fewer-pieces
	Window   ExtraWindow     `json:"window"`              // for extra-window
	DesignID string          `json:"design_id,omitempty"` // for mend
	Ready    civil.Date      `json:"ready,omitzero"`
	Plan     *Plan           `json:"plan"`
}

// AlternativeKind names what would have to change.
type AlternativeKind string

// The alternatives a promise can offer.
const (
	AltLaterDate   AlternativeKind = "later-date"
	AltMinimumCure AlternativeKind = "minimum-cure"
	AltExtraWindow AlternativeKind = "extra-window"
	AltMoveBatch   AlternativeKind = "move-batch"
	AltFewer       AlternativeKind = "fewer-pieces"
	AltMend        AlternativeKind = "mend" // what bars a design; it is planned only once that is done, so there is no plan
)

// Proposal is one complete way out of a change, with what it costs.
type Proposal struct {
	Kind  ProposalKind `json:"kind"`
	Title string       `json:"title"` // a short name for a person
	Costs []string     `json:"costs"` // one sentence each: what it costs whom
	Plan  *Plan        `json:"plan"`
	Diff  Diff         `json:"diff"`
	// SafeToPublish: moves nothing promised and nothing inside the firm window.
	SafeToPublish bool `json:"safe_to_publish"`
}

// ProposalKind names a way out.
type ProposalKind string

// The kinds of proposal.
const (
	ProposeReplan  ProposalKind = "replan" // the plan that follows from a change of the book
	ProposeStock   ProposalKind = "use-stock"
	ProposeSwap    ProposalKind = "swap-pieces" // from a batch with a later order
	ProposeRemake  ProposalKind = "remake"
	ProposeOther   ProposalKind = "remake-other-mold"
	ProposeShorter ProposalKind = "shorter-cure" // down to the minimum
	ProposeTell    ProposalKind = "tell-customer"
)

// Diff is how one plan differs from another.
type Diff struct {
	Moves   []Move        `json:"moves"`   // by batch key and step
	Added   []string      `json:"added"`   // batch keys only in the new plan
	Dropped []string      `json:"dropped"` // batch ids only in the old one
	Late    []OrderChange `json:"late"`
}

// Move is one step of one batch that changes its time or its molds.
type Move struct {
	BatchKey string   `json:"batch_key"`
	Step     Step     `json:"step"`
	From     Interval `json:"from,omitzero"`
	To       Interval `json:"to,omitzero"`
	Firm     bool     `json:"firm"` // inside the firm window
}

// OrderChange is an order whose ready date or lateness changes.
type OrderChange struct {
	OrderID  string     `json:"order_id"`
	OldReady civil.Date `json:"old_ready,omitzero"`
	NewReady civil.Date `json:"new_ready,omitzero"`
	OldLate  int        `json:"old_late"`
	NewLate  int        `json:"new_late"`
	Promised bool       `json:"promised"` // the customer was told the old date, or an earlier one
}
