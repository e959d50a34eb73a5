package orders

import (
	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// IngredientKind is what an ingredient is for.
type IngredientKind string

// The kinds of ingredient.
const (
	KindOil       IngredientKind = "oil"
	KindLye       IngredientKind = "lye"
	KindLiquid    IngredientKind = "liquid"
	KindFragrance IngredientKind = "fragrance"
	KindColour    IngredientKind = "colour"
	KindBotanical IngredientKind = "botanical"
	KindPackaging IngredientKind = "packaging"
	KindOther     IngredientKind = "other"
)

// Ingredient is something a recipe uses. Saponification values in mg KOH per
// g of fat, as a range with the value used (0 when it has none).
type Ingredient struct {
	Meta
	Name       string         `json:"name"`
	LabelName  string         `json:"label_name"` // as it stands on a label
	SoapName   string         `json:"soap_name"`  // of an oil: the same once it is saponified, begun with Sodium; for potash lye a label writes Potassium
	Kind       IngredientKind `json:"kind"`
	SVLow      float64        `json:"sv_low"`
	SVHigh     float64        `json:"sv_high"`
	SVUsed     float64        `json:"sv_used"`
	SVSource   string         `json:"sv_source"`          // where the value was read, in a line
	WaxEster   bool           `json:"wax_ester"`          // gives no glycerol: beeswax, jojoba
	Alkali     Alkali         `json:"alkali,omitempty"`   // of lye; sodium hydroxide when empty
	Density    float64        `json:"density_g_per_ml"`   // 0 when unknown
	OnHand     calc.Mass      `json:"on_hand_mg"`         // left of its lots that have not expired, by which alone it changes; of a new ingredient it becomes the first one
	Expired    calc.Mass      `json:"expired_mg"`         // left of its lots, but not to be used; set by the service
	Ends       []LotEnd       `json:"-"`                  // of what is left with an end stated
	LeadDays   int            `json:"lead_days"`          // from ordering to the shelf
	ExpectedOn civil.Date     `json:"expected_on"`        // of what is on order, the next; zero when nothing is; set by the service
	Lots       int            `json:"lots"`               // ever received; set by the service
	Price      calc.Money     `json:"price_minor_per_kg"` // 0 when not known
	Fragrance  Fragrance      `json:"fragrance"`
	Retired    bool           `json:"retired"`
}

// LotEnd is what is left of a lot, and the last day it is good.
type LotEnd struct {
	On   civil.Date `json:"on"`
	Left calc.Mass  `json:"left_mg"`
}

// expiredBy is what is left of lots that have expired by a day; nothing for no day.
func (i Ingredient) expiredBy(day civil.Date) calc.Mass {
	var sum calc.Mass
	for _, e := range i.Ends {
		if e.On.Before(day) {
			sum += e.Left
		}
	}
	return sum
}

// Recipe is what is mixed and how long its steps take.
type Recipe struct {
	Meta
	Name             string       `json:"name"`
	Parts            []RecipePart `json:"parts"`
	Superfat         calc.PPM     `json:"superfat_ppm"`
	LyePurity        calc.PPM     `json:"lye_purity_ppm"`        // of the sodium hydroxide
	LyeConcentration calc.PPM     `json:"lye_concentration_ppm"` // mass share of pure lye in its solution, when WaterBasis goes by it

	KOHShare   calc.PPM         `json:"koh_share_ppm"`  // of the saponification; the rest is sodium hydroxide
	KOHPurity  calc.PPM         `json:"koh_purity_ppm"` // only looked at when KOHShare is not 0
	WaterBasis calc.WaterBasis  `json:"water_basis"`    // lye_concentration when empty
	Water      calc.PPM         `json:"water_ppm"`      // to pure lye (2:1 is 2000000) or to the oils, by WaterBasis
	LyeStock   calc.PPM         `json:"lye_stock_ppm"`  // pure lye in the ready solution it is drawn from; 0 when dissolved fresh
	MixTemp    calc.Temperature `json:"mix_temp_mc"`    // oils and lye solution when combined, thousandths of a degree C; 0 when not said

	CutMin       int      `json:"cut_min"` // cut window after the pour, hours or days
	CutMax       int      `json:"cut_max"`
	CutInDays    bool     `json:"cut_in_days"`   // CutMin and CutMax count whole days
	CureMin      int      `json:"cure_min_days"` // never broken
	CureTarget   int      `json:"cure_target_days"`
	CureLoss     calc.PPM `json:"cure_loss_ppm"` // most weight lost in the cure; usualCureLoss when 0
	NeedsTrial   bool     `json:"needs_trial"`   // judged before the first real pour
	TrialMinutes int      `json:"trial_minutes"`

	MakeFixed int    `json:"make_minutes"` // for a batch
	CutFixed  int    `json:"cut_minutes"`
	WrapFixed int    `json:"wrap_minutes"`
	MakePer   int    `json:"make_seconds_per_piece"`
	CutPer    int    `json:"cut_seconds_per_piece"`
	WrapPer   int    `json:"wrap_seconds_per_piece"`
	Notes     string `json:"notes"`
	Retired   bool   `json:"retired"`
}

// RecipePart is one ingredient of a recipe. Share is of the mass of all oils;
// the shares of the parts whose ingredient is an oil add up to 100 %.
type RecipePart struct {
	IngredientID string   `json:"ingredient_id"`
	Share        calc.PPM `json:"share_ppm"`
	Blended      bool     `json:"blended"` // an oil that comes out of the ready-mixed blend
}

// Alkali tells the two lyes apart.
type Alkali string

// The alkalis.
const (
	AlkaliNaOH Alkali = "naoh" // sodium hydroxide
	AlkaliKOH  Alkali = "koh"  // potassium hydroxide
)

// Design is a recipe with its cut plan and its looks: what a customer orders.
type Design struct {
	Meta
	Name      string     `json:"name"`
	LotCode   string     `json:"lot_code"` // 2-6 capitals that begin its batches' lot codes
	RecipeID  string     `json:"recipe_id"`
	Cut       CutPlan    `json:"cut"`
	MoldIDs   []string   `json:"mold_ids"` // molds it may be poured in
	Colours   []Colour   `json:"colours"`
	Dressing  string     `json:"dressing"`        // what goes on top
	Spoil     calc.PPM   `json:"spoil_ppm"`       // expected share of pieces lost
	Packaging calc.Money `json:"packaging_minor"` // of one piece
	TrialOK   bool       `json:"trial_passed"`    // the trial that its recipe asks for; those of a fragrance are records
	Retired   bool       `json:"retired"`
}

// CutPlan is calc.CutPlan as it is stored and sent; the one converts to the
// other.
type CutPlan struct {
	Thickness      calc.Length `json:"thickness_um"`
	TrimEnds       calc.Length `json:"trim_ends_um"`
	PiecesPerSlice int         `json:"pieces_per_slice"`
	Rows           int         `json:"rows"`
	Columns        int         `json:"columns"`
	Spacing        calc.Length `json:"spacing_um"`
	DressingClear  calc.Length `json:"dressing_clear_um"`
}

// Colour is one pot of batter.
type Colour struct {
	Name  string   `json:"name"`
	Share calc.PPM `json:"share_ppm"` // shares add up to 100 %
}

// Steps lists the steps that hours can be limited to.
var Steps = [...]schedule.Step{schedule.StepTrial, schedule.StepMake, schedule.StepCut, schedule.StepWrap}
