package orders

import (
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TaskKind is a kind of entry in the calendar.
type TaskKind string

// The kinds of task.
const (
	TaskTrial    TaskKind = "trial"
	TaskMake     TaskKind = "make"
	TaskCut      TaskKind = "cut"
	TaskCure     TaskKind = "cure" // whole days, nothing to do
	TaskWrap     TaskKind = "wrap"
	TaskHandOver TaskKind = "hand_over" // whole day
	TaskSupplies TaskKind = "supplies"  // whole day: the last day to order something
)

// TaskStatus is how far a task has come.
type TaskStatus string

// The statuses of a task.
const (
	TaskOpen      TaskStatus = "open"
	TaskDone      TaskStatus = "done"
	TaskCancelled TaskStatus = "cancelled"
)

// Task is one entry of the published plan. Its ID is its calendar UID and
// never changes or revives; Sequence rises with each change of time or status.
type Task struct {
	ID           string     `json:"id"`
	Kind         TaskKind   `json:"kind"`
	BatchID      string     `json:"batch_id,omitempty"`
	OrderID      string     `json:"order_id,omitempty"`
	DesignID     string     `json:"design_id,omitempty"`
	IngredientID string     `json:"ingredient_id,omitempty"` // of supplies to order
	Part         int        `json:"part"`                    // 0, 1, ... for wrapping split over windows
	From         time.Time  `json:"from,omitzero"`           // timed tasks
	To           time.Time  `json:"to,omitzero"`
	Day          civil.Date `json:"day"`      // first day, of all tasks, in the workshop's zone
	LastDay      civil.Date `json:"last_day"` // last day, inclusive
	AllDay       bool       `json:"all_day"`
	Title        string     `json:"title"`
	Detail       string     `json:"detail"` // what to prepare
	// Obstacle is why it can not be done as planned, as was known when the plan was
	// last looked at; empty while nothing is in the way.
	Obstacle  string     `json:"obstacle,omitempty"`
	Status    TaskStatus `json:"status"`
	Sequence  int        `json:"sequence"`
	ChangedAt time.Time  `json:"changed_at"` // of date or status
	Revision  int        `json:"revision"`   // plan revision of the last change
}

// PlanRevision is one published plan.
type PlanRevision struct {
	Number    int                     `json:"number"`
	At        time.Time               `json:"at"`
	By        string                  `json:"by"`
	Why       string                  `json:"why"`
	Objective schedule.Objective      `json:"objective"`
	Bound     schedule.Objective      `json:"bound"`
	Proved    bool                    `json:"proved"`
	Diff      schedule.Diff           `json:"diff"` // from the revision before
	Outcomes  []schedule.OrderOutcome `json:"outcomes"`
	Problems  []schedule.Reason       `json:"problems"`
}

// ProposalStatus is what became of a proposal.
type ProposalStatus string

// The statuses of a proposal.
const (
	ProposalOpen       ProposalStatus = "open"
	ProposalTaken      ProposalStatus = "taken"
	ProposalDismissed  ProposalStatus = "dismissed"
	ProposalSuperseded ProposalStatus = "superseded" // the book changed since
)

// Proposal is a complete plan that waits for a yes. The open proposals of a
// workshop are alternatives to one another: taking one ends the others.
type Proposal struct {
	ID           string                `json:"id"`
	At           time.Time             `json:"at"`
	Why          string                `json:"why"`  // what happened
	Rank         int                   `json:"rank"` // 1 is best
	Kind         schedule.ProposalKind `json:"kind"`
	Title        string                `json:"title"`
	Costs        []string              `json:"costs"`
	Status       ProposalStatus        `json:"status"`
	BaseRevision int                   `json:"base_revision"` // the published plan it was made against
	BookRevision int                   `json:"book_revision"`
	Diff         schedule.Diff         `json:"diff"`
	Plan         *schedule.Plan        `json:"plan"`
}

// PlanChange is what a change to the book did to the plan: published at once
// as Revision, or waiting as Proposals, or neither when nothing moved. Both when a new
// order has its place beside a change that waits.
type PlanChange struct {
	Published bool          `json:"published"`
	Revision  int           `json:"revision"`
	Diff      schedule.Diff `json:"diff"`
	Proposals []Proposal    `json:"proposals"`
	// Warnings are sentences about what was recorded all the same, though it should
	// not have been so: it is a fact now, and someone must know.
	Warnings []string `json:"warnings"`
}

// PlanView is the published plan and what waits for a yes.
type PlanView struct {
	Revision  PlanRevision            `json:"revision"`
	Batches   []Batch                 `json:"batches"` // not cancelled; ended ones of the last 14 days included
	Tasks     []Task                  `json:"tasks"`   // from 14 days back
	Outcomes  []schedule.OrderOutcome `json:"outcomes"`
	Obstacles []Obstacle              `json:"obstacles"` // what of it can not be done any more
	Proposals []Proposal              `json:"proposals"`
}

// Question asks whether something can be promised.
type Question struct {
	NeededBy civil.Date  `json:"needed_by"`
	HandOver *int        `json:"hand_over_days,omitempty"`
	Weight   int         `json:"weight,omitempty"`
	Lines    []OrderLine `json:"lines"`
}

// TodayView is what there is to do.
type TodayView struct {
	Today    civil.Date              `json:"today"`
	Now      []Task                  `json:"now"`  // today's open tasks, overdue ones, and cuts that no working hour is left for
	Done     []Task                  `json:"done"` // done today
	Tomorrow []Task                  `json:"tomorrow"`
	Curing   []Batch                 `json:"curing"` // ripening, soonest first
	Risks    []schedule.OrderOutcome `json:"risks"`  // orders late, short, later than told, in doubt, not for sale, or with no remake margin
	// NotForSale is what stands between accepted orders and their sale, by order id;
	// of those of which anything does.
	NotForSale map[string]SaleCheck `json:"not_for_sale"`
	Obstacles  []Obstacle           `json:"obstacles"`
	Late       []LateArrival        `json:"late_arrivals"` // on order, and should have come
	Proposals  []Proposal           `json:"proposals"`
}
