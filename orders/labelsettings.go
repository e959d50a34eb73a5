package orders

import (
	"fmt"

	"ripeline/calc"
)

// LabelNames is the convention by which a label names what was saponified;
// the two are never mixed in one list.
type LabelNames string

// The conventions.
const (
	AsAdded      LabelNames = "as_added"      // oils, lye and water as they were weighed
	AsSaponified LabelNames = "as_saponified" // the soap of each oil, and the glycerin set free
)

// Limits of what is said of labels and money.
const (
	maxBestBefore = 120 // months
	maxMarkup     = 1000 * calc.Percent
	maxMoney      = calc.Money(1_000_000_000)
)

// checkLabelSettings checks what the workshop says for its labels.
func checkLabelSettings(c *Check, w *Workshop) {
	if w.LabelNames == "" {
		w.LabelNames = AsAdded
	}
	checkNote(c, "responsible_person", w.Responsible)
	c.Want(w.LabelNames == AsAdded || w.LabelNames == AsSaponified, "label_names", "must be as_added or as_saponified")
	within(c, "best_before_months", w.BestBefore, 0, maxBestBefore, "months")
}

// checkPrices checks what the workshop says for its costs.
func checkPrices(c *Check, w *Workshop) {
	checkMoney(c, "hourly_rate_minor", w.HourlyRate)
	within(c, "markup_ppm", w.Markup, 0, maxMarkup, "on top of cost")
}

func checkMoney(c *Check, field string, m calc.Money) {
	c.Want(m >= 0 && m <= maxMoney, field, fmt.Sprintf("must lie between 0 and %d of the currency's smallest unit", maxMoney))
}
