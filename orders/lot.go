package orders

import (
	"ripeline/calc"
	"ripeline/schedule/civil"
)

// Lot is what was received of an ingredient at one time under one code of its
// supplier. The stock of an ingredient is what is left of its lots.
type Lot struct {
	Meta
	IngredientID string     `json:"ingredient_id"`
	Code         string     `json:"code"`        // the supplier's; empty when it is not known
	ReceivedOn   civil.Date `json:"received_on"` // today when it is not said
	ExpiresOn    civil.Date `json:"expires_on"`  // the last day it is good; zero when none is stated
	Received     calc.Mass  `json:"received_mg"`
	Left         calc.Mass  `json:"left_mg"` // of a new one all of it unless less is said
	Used         calc.Mass  `json:"used_mg"` // by batches; set by the service
	Price        calc.Money `json:"price_minor"`
	Note         string     `json:"note"`
}

// Good reports whether the lot is neither expired on a day nor received later.
func (l Lot) Good(day civil.Date) bool { return !l.Expired(day) && !l.ReceivedOn.After(day) }

// Expired reports whether the last day it was good lies before a day.
func (l Lot) Expired(day civil.Date) bool {
	return !l.ExpiresOn.IsZero() && l.ExpiresOn.Before(day)
}

// LotUse is what a batch took of a lot.
type LotUse struct {
	IngredientID string    `json:"ingredient_id"`
	LotID        string    `json:"lot_id,omitempty"` // empty for what came of no lot on record
	Mass         calc.Mass `json:"used_mg"`
}

// LotsUsed is all that a batch took.
type LotsUsed struct {
	Uses []LotUse `json:"lots_used"`
}

// Purchase is something on order until it is received as a lot.
type Purchase struct {
	Meta
	IngredientID string     `json:"ingredient_id"`
	Quantity     calc.Mass  `json:"quantity_mg"` // 0 when it is not said: then it is taken to be enough
	OrderedOn    civil.Date `json:"ordered_on"`  // today when it is not said
	ArrivesOn    civil.Date `json:"arrives_on"`  // the ingredient's lead time after OrderedOn when it is not said
	Price        calc.Money `json:"price_minor"`
	Note         string     `json:"note"`
	LotID        string     `json:"lot_id,omitempty"` // what it was received as; set by the service
}

// Receipt says that a purchase came. What is left out is as it was ordered.
type Receipt struct {
	Code       string     `json:"code"`
	ReceivedOn civil.Date `json:"received_on"`
	ExpiresOn  civil.Date `json:"expires_on"`
	Received   calc.Mass  `json:"received_mg"`
	Price      calc.Money `json:"price_minor"`
	Note       string     `json:"note"`
}
