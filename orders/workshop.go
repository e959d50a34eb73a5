package orders

import (
	"time"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// Meta is what every record carries. Version starts at 1 and rises with every
// change; a change must name the version it saw.
type Meta struct {
	ID        string    `json:"id"`
	Version   int       `json:"version"`
	CreatedAt time.Time `json:"created_at"`
	ChangedAt time.Time `json:"changed_at"`
}

// Workshop is the workshop itself, with its weekly hours.
type Workshop struct {
	Meta
	Name     string   `json:"name"`
	Zone     string   `json:"zone"`     // IANA name, such as Europe/Lisbon
	Units    string   `json:"units"`    // "metric" or "imperial", for display only
	Currency string   `json:"currency"` // ISO 4217
	Locale   string   `json:"locale"`   // BCP 47, for dates on pages
	Hands    int      `json:"hands"`    // people who can work at once
	FirmDays int      `json:"firm_days"`
	HandOver int      `json:"hand_over_days"` // default of new orders
	Hours    []Window `json:"hours"`
	Demo     bool     `json:"demo"` // filled with the invented demo

	HourlyRate  calc.Money `json:"hourly_rate_minor"`  // of the maker's work, in the currency's smallest unit
	Markup      calc.PPM   `json:"markup_ppm"`         // put on top of cost in a quote
	Responsible string     `json:"responsible_person"` // name and address for labels
	LabelNames  LabelNames `json:"label_names"`        // AsAdded when empty
	LabelBoth   bool       `json:"label_both_units"`   // net weights in grams and ounces
	BestBefore  int        `json:"best_before_months"` // from the wrap; 0 when not set

	BookRevision int `json:"book_revision"` // rises with every change to the book
	PlanRevision int `json:"plan_revision"` // number of the published plan, 0 before the first
}

// Window is working time on one weekday; an empty Steps holds any step.
type Window struct {
	Weekday time.Weekday    `json:"weekday"` // 0 is Sunday
	From    civil.Minute    `json:"from"`    // "18:00"
	To      civil.Minute    `json:"to"`
	Steps   []schedule.Step `json:"steps"`
}

// ClosedDays are days, From to To inclusive, on which nothing is done by hand.
type ClosedDays struct {
	Meta
	From   civil.Date `json:"from"`
	To     civil.Date `json:"to"`
	Reason string     `json:"reason"`
}

// ExtraWindow is working time on one date, beside the weekly hours.
type ExtraWindow struct {
	Meta
	Date   civil.Date      `json:"date"`
	From   civil.Minute    `json:"from"`
	To     civil.Minute    `json:"to"`
	Steps  []schedule.Step `json:"steps"`
	Reason string          `json:"reason"`
}

// Mold is a kind of mold and how many of it the workshop has. Inner sizes in
// micrometres; a cavity mold has Cavities of CavityVolume microlitres.
type Mold struct {
	Meta
	Name         string        `json:"name"`
	Kind         calc.MoldKind `json:"kind"`
	Length       calc.Length   `json:"length_um"`
	Width        calc.Length   `json:"width_um"`
	Depth        calc.Length   `json:"depth_um"`
	Cavities     int           `json:"cavities"`
	CavityVolume calc.Volume   `json:"cavity_volume_ul"`
	Count        int           `json:"count"`
	MinFill      calc.PPM      `json:"min_fill_ppm"`  // smallest share of a full mold worth pouring
	CleanMinutes int           `json:"clean_minutes"` // before it can be poured again
	Retired      bool          `json:"retired"`
}

// MoldOut says Units of a mold are missing (broken, lent) on the days From..To.
type MoldOut struct {
	Meta
	MoldID string     `json:"mold_id"`
	From   civil.Date `json:"from"`
	To     civil.Date `json:"to"`
	Units  int        `json:"units"`
	Reason string     `json:"reason"`
}

// Rack is a curing rack: Shelves of Width x Depth.
type Rack struct {
	Meta
	Name    string      `json:"name"`
	Width   calc.Length `json:"width_um"`
	Depth   calc.Length `json:"depth_um"`
	Shelves int         `json:"shelves"`
	Retired bool        `json:"retired"`
}
