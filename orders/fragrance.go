package orders

import (
	"fmt"
	"slices"
	"strings"

	"ripeline/calc"
	"ripeline/schedule/civil"
)

// Fragrance is what a supplier's certificate and the maker say of a fragrance;
// of any other ingredient nothing is said.
type Fragrance struct {
	Limit         calc.LimitKind `json:"limit"`     // NoCertificate when empty
	Max           calc.PPM       `json:"max_ppm"`   // of the finished product, for LimitMax only
	Reference     string         `json:"reference"` // of the certificate
	Dated         civil.Date     `json:"dated"`
	Behaviour     Behaviour      `json:"behaviour"` // Unknown when empty
	Vanillin      bool           `json:"vanillin"`  // it browns the soap
	VanillinShare calc.PPM       `json:"vanillin_ppm"`
	Allergens     []Allergen     `json:"allergens"`
}

// Allergen is a substance and its share of a fragrance.
type Allergen struct {
	Name  string   `json:"name"`
	Share calc.PPM `json:"share_ppm"`
}

// Behaviour is what a fragrance does to the batter.
type Behaviour string

// The behaviours. All but Steady ask for a trial.
const (
	Steady           Behaviour = "steady"
	Thickens         Behaviour = "thickens"
	BehaviourUnknown Behaviour = "unknown"
)

// maxAllergens is wide room: the law's list holds about eighty (from memory).
const maxAllergens = 100

// complete fills in what an empty field means, so that a fragrance of which
// nothing is known is stored as one.
func (f *Fragrance) complete() {
	if f.Limit == "" {
		f.Limit = calc.NoCertificate
	}
	if f.Behaviour == "" {
		f.Behaviour = BehaviourUnknown
	}
	f.Vanillin = f.Vanillin || f.VanillinShare > 0
}

// says reports whether anything is known of the fragrance.
func (f *Fragrance) says() bool {
	return f.Limit != calc.NoCertificate || f.Max != 0 || f.Reference != "" || !f.Dated.IsZero() ||
		f.Behaviour != BehaviourUnknown || f.Vanillin || len(f.Allergens) > 0
}

// checkFragrance checks the certificate of an ingredient of the kind; today
// bounds its date.
func checkFragrance(c *Check, kind IngredientKind, f *Fragrance, today civil.Date) {
	f.complete()
	if kind != KindFragrance {
		c.Want(!f.says(), "fragrance.limit", "a certificate belongs to fragrances; leave it empty or choose that kind")
		return
	}
	checkLimit(c, f, today)
	c.Want(slices.Contains([]Behaviour{Steady, Thickens, BehaviourUnknown}, f.Behaviour), "fragrance.behaviour", "must be one of steady, thickens, unknown")
	within(c, "fragrance.vanillin_ppm", f.VanillinShare, 0, calc.Whole, "of the fragrance")
	c.Want(len(f.Allergens) <= maxAllergens, "fragrance.allergens", fmt.Sprintf("has more than %d substances; leave some out", maxAllergens))
	var whole calc.PPM
	seen := make(map[string]bool)
	for i, a := range f.Allergens[:min(len(f.Allergens), maxAllergens)] {
		at := fmt.Sprintf("fragrance.allergens[%d].", i)
		checkName(c, at+"name", a.Name, true)
		key := strings.ToLower(strings.TrimSpace(a.Name))
		c.Want(!seen[key], at+"name", "is there twice; add the two shares up")
		seen[key] = true
		c.Want(a.Share > 0 && a.Share <= calc.Whole, at+"share_ppm", "must be more than 0 and at most 100 % of the fragrance")
		whole += max(0, min(a.Share, calc.Whole))
	}
	c.Want(whole <= calc.Whole, "fragrance.allergens", fmt.Sprintf("add up to %s, more than the fragrance itself; check the shares", whole))
}

// checkLimit checks what the certificate allows, and that it can be found
// again.
func checkLimit(c *Check, f *Fragrance, today civil.Date) {
	checkName(c, "fragrance.reference", f.Reference, false)
	switch f.Limit {
	case calc.LimitMax:
		c.Want(f.Max > 0 && f.Max <= calc.Whole, "fragrance.max_ppm", "must be more than 0 and at most 100 % of the finished product; for 0 choose not permitted")
	case calc.NotPermitted, calc.NoLimit, calc.NoCertificate:
		c.Want(f.Max == 0, "fragrance.max_ppm", "belongs to a limit; leave it empty or choose the limit")
	default:
		c.Add("fragrance.limit", "must be one of max, not_permitted, no_limit, no_certificate")
		return
	}
	if f.Limit == calc.NoCertificate {
		c.Want(f.Reference == "" && f.Dated.IsZero(), "fragrance.limit", "say what the certificate allows, or leave its reference and date empty")
		return
	}
	c.Want(strings.TrimSpace(f.Reference) != "", "fragrance.reference", "is empty; give the certificate's number or title, so that it can be found again")
	if f.Dated.IsZero() {
		c.Add("fragrance.dated", "is missing; give the date of the certificate")
		return
	}
	checkDay(c, "fragrance.dated", f.Dated)
	c.Want(!f.Dated.After(today), "fragrance.dated", fmt.Sprintf("%s is ahead; give the date on the certificate", f.Dated))
}

// calcOil is the ingredient as the blend rule takes it.
func (i Ingredient) calcOil() calc.FragranceOil {
	oil := calc.FragranceOil{Name: i.Name, Limit: calc.Limit{Kind: i.Fragrance.Limit, Max: i.Fragrance.Max}}
	if oil.Limit.Kind == "" {
		oil.Limit.Kind = calc.NoCertificate
	}
	for _, a := range i.Fragrance.Allergens {
		oil.Allergens = append(oil.Allergens, calc.Allergen(a))
	}
	return oil
}

// cautionFragrance is the topic of what a fragrance does to the soap.
const cautionFragrance calc.CautionTopic = "fragrance"

// fragranceCautions is what the maker must know of a recipe's fragrances on
// the day.
func fragranceCautions(r Recipe, ingredients []Ingredient) []Caution {
	var out []Caution
	for _, i := range fragrancesOf(r, ingredients) {
		if i.Fragrance.Behaviour == Thickens {
			out = append(out, Caution{cautionFragrance, i.Name + " thickens the batter: have the molds and tools ready, and stir it in last.", "the workshop's own note"})
		}
		if i.Fragrance.Vanillin {
			out = append(out, Caution{cautionFragrance, i.Name + " holds vanillin, which browns: keep white pots free of it.", "the workshop's own note"})
		}
	}
	return out
}
