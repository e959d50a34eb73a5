package orders

import (
	"time"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// BatchState is how far a batch has come.
type BatchState string

// The states of a batch.
const (
	BatchPlanned   BatchState = "planned"
	BatchPoured    BatchState = "poured"    // in its molds
	BatchCuring    BatchState = "curing"    // cut, on the rack
	BatchWrapped   BatchState = "wrapped"   // its sound pieces are stock
	BatchFailed    BatchState = "failed"    // all of it lost
	BatchCancelled BatchState = "cancelled" // left the plan: no longer needed, or may not be poured
)

// Batch is one pour of one design into one or more molds.
type Batch struct {
	Meta
	Lot      string             `json:"lot"` // such as OAT-261203-1, unique in the workshop; by the day of the pour, until then by the day it was first planned for
	DesignID string             `json:"design_id"`
	State    BatchState         `json:"state"`
	Molds    []schedule.MoldUse `json:"molds"`
	Pieces   int                `json:"pieces"` // poured, or to be poured
	Sound    int                `json:"sound"`  // sound now, or expected sound at wrap
	Pinned   bool               `json:"pinned"`

	// The plan's times until the step happened, facts from then on.
	Make      schedule.Interval   `json:"make"`
	Cut       schedule.Interval   `json:"cut"`
	Wrap      schedule.Interval   `json:"wrap"`
	WrapParts []schedule.Interval `json:"wrap_parts"`

	CutFrom    time.Time       `json:"cut_from,omitzero"` // the cut window
	CutTo      time.Time       `json:"cut_to,omitzero"`
	CureMin    civil.Date      `json:"cure_min"` // first day wrapping may start
	CureTarget civil.Date      `json:"cure_target"`
	CureUntil  civil.Date      `json:"cure_until"` // learnt: not wrapped before
	Holds      []schedule.Hold `json:"holds"`

	PouredAt   time.Time     `json:"poured_at,omitzero"`
	CutAt      time.Time     `json:"cut_at,omitzero"`
	WrappedAt  time.Time     `json:"wrapped_at,omitzero"`
	EndedAt    time.Time     `json:"ended_at,omitzero"` // failed or cancelled
	FailedStep schedule.Step `json:"failed_step,omitempty"`
	FailReason string        `json:"fail_reason,omitempty"`
	Notes      string        `json:"notes"`
	Losses     []Loss        `json:"losses"`
	Weighings  []Weighing    `json:"weighings"`
	Uses       []LotUse      `json:"lots_used"` // what it was made of; written when it is poured
}

// Loss is pieces of a batch that were lost.
type Loss struct {
	At     time.Time     `json:"at"`
	Step   schedule.Step `json:"step"`
	Pieces int           `json:"pieces"`
	Reason string        `json:"reason"`
}

// Weighing is the mass of some pieces of a batch on the rack. A Mark names a
// single piece that is weighed again and again.
type Weighing struct {
	At     time.Time `json:"at"`
	Pieces int       `json:"pieces"`
	Mass   calc.Mass `json:"mass_mg"`
	Mark   string    `json:"mark,omitempty"`
}

// Stock is sound, wrapped pieces on the shelf.
type Stock struct {
	Meta
	DesignID string `json:"design_id"`
	BatchID  string `json:"batch_id,omitempty"` // empty when counted in by hand
	Pieces   int    `json:"pieces"`             // on the shelf, allocated or not
	Note     string `json:"note"`
}

// Allocation gives pieces of a batch or of stock to an order line.
type Allocation struct {
	BatchID string `json:"batch_id,omitempty"` // exactly one of BatchID and StockID
	StockID string `json:"stock_id,omitempty"`
	OrderID string `json:"order_id"`
	LineID  string `json:"line_id"`
	Pieces  int    `json:"pieces"`
}

// Hurried reports whether a poured batch has to be cut before the cut that is
// planned: the time for it is over, or no working hour is left in it.
func (b Batch) Hurried(now time.Time) bool {
	return b.State == BatchPoured && !b.CutTo.IsZero() && (now.After(b.CutTo) || b.Cut.From.After(b.CutTo))
}

// PourFact says a batch was poured. At is the end of the pour; zero is now.
type PourFact struct {
	At    time.Time `json:"at,omitzero"`
	Notes string    `json:"notes,omitempty"`
}

// CutFact says a batch was cut and how many pieces were spoiled by then.
type CutFact struct {
	At      time.Time `json:"at,omitzero"`
	Spoiled int       `json:"spoiled"`
	Reason  string    `json:"reason,omitempty"`
	Notes   string    `json:"notes,omitempty"`
}

// WrapFact says a batch was wrapped and how many more pieces were spoiled.
type WrapFact struct {
	At      time.Time `json:"at,omitzero"`
	Spoiled int       `json:"spoiled"`
	Reason  string    `json:"reason,omitempty"`
	Notes   string    `json:"notes,omitempty"`
}

// FailFact says a batch, or Pieces of it, is lost.
type FailFact struct {
	At     time.Time `json:"at,omitzero"`
	Pieces int       `json:"pieces"` // 0 means all of it
	Reason string    `json:"reason"`
}
