package calc

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// LimitKind is what a supplier's certificate says for soap bars.
type LimitKind string

// The kinds of limit. NoCertificate lets a batch be planned; the soap is not
// for sale until there is one.
const (
	LimitMax      LimitKind = "max"           // at most Limit.Max of the finished product
	NotPermitted  LimitKind = "not_permitted" // not in this kind of product at all
	NoLimit       LimitKind = "no_limit"      // the certificate sets none
	NoCertificate LimitKind = "no_certificate"
)

// Limit is a fragrance's limit for rinse-off body and hand products (category
// 9 of the fragrance trade's standard, second-hand). Max is a share of the
// finished product and counts for LimitMax only.
type Limit struct {
	Kind LimitKind
	Max  PPM
}

// FragranceOil is one component of a blend: its share of the blend and the
// allergens in it, as shares of this oil.
type FragranceOil struct {
	Name      string
	Share     PPM
	Limit     Limit
	Allergens []Allergen
}

// Allergen is a substance and its share of a fragrance oil.
type Allergen struct {
	Name  string
	Share PPM
}

// Blend is a fragrance blend's safe use.
type Blend struct {
	MaxUse      PPM      // largest safe share of the finished product, rounded down
	Limited     bool     // false when no component sets a limit; MaxUse is then 100 %
	Uncertified []string // components without a certificate: plan, do not sell
}

// SafeUse is the largest share U of the finished product for which the blend
// is safe even if its oils hold the same restricted substance:
// U <= 1 / sum(share_i / limit_i) (derived). Keeping each oil under its own
// limit alone would not be enough. Components without limit or certificate add
// nothing to the sum. Errors at fragrance, fragrance[i].share and
// fragrance[i].limit; a component that is not permitted is refused.
func SafeUse(blend []FragranceOil) (Blend, error) {
	if err := checkBlend(blend); err != nil {
		return Blend{}, err
	}
	out := Blend{MaxUse: Whole}
	load := new(big.Rat)
	for _, f := range blend {
		switch f.Limit.Kind {
		case LimitMax:
			out.Limited = true
			load.Add(load, big.NewRat(int64(f.Share), int64(f.Limit.Max)))
		case NoCertificate:
			out.Uncertified = append(out.Uncertified, f.Name)
		}
	}
	if load.Cmp(big.NewRat(1, 1)) > 0 {
		most := scaled(load.Inv(load), Whole)
		out.MaxUse = PPM(new(big.Int).Quo(most.Num(), most.Denom()).Int64())
	}
	return out, nil
}

// OnCured is a share of the batter as a share of the bar that has lost loss of
// its weight, rounded up. It panics unless loss is below 100 %; CheckUse is for input not
// yet checked.
func OnCured(use, loss PPM) PPM {
	return PPM(mulDivUp(int64(use), int64(Whole), int64(Whole-loss)))
}

// LargestUse is the largest share of the batter that keeps a blend's safe use
// after the bar has lost loss of its weight, rounded down; nothing from a loss
// of 100 %.
func (b Blend) LargestUse(loss PPM) PPM {
	return PPM(mulDivDown(int64(b.MaxUse), int64(max(0, Whole-loss)), int64(Whole)))
}

// CheckUse refuses a use, as a share of the batter, that is not safe for the
// blend on the cured bar, and says the largest share that is. loss is the
// largest loss of weight expected in the cure; 8 to 15 % is usual (common practice).
// Errors at use and loss, and those of SafeUse.
func CheckUse(use, loss PPM, blend []FragranceOil) (Blend, error) {
	safe, err := SafeUse(blend)
	errs := fieldErrorsOf(err)
	switch {
	case use < 0 || use > Whole:
		errs.add("use", "must lie between 0 and 100 %%")
	case loss < 0 || loss > 50*Percent:
		errs.add("loss", "must lie between 0 and 50 %%")
	case err == nil && OnCured(use, loss) > safe.MaxUse:
		errs.add("use", "%s of the batter is %s of the cured bar, above the safe %s; use at most %s of the batter",
			use, OnCured(use, loss), safe.MaxUse, safe.LargestUse(loss))
	}
	return safe, errs.Err()
}

// allergenThreshold is the share of a rinse-off product above which an allergen
// is named on the label: 0.01 % (Regulation (EC) 1223/2009 Annex III, published).
const allergenThreshold = Percent / 100

// AllergensToName is the allergens that the label must name, in order of name:
// those above 0.01 % of the cured bar over all components together; exactly
// 0.01 % is not above. use is a share of the cured bar (see OnCured). The same
// substance must be spelled the same; letter case and outer spaces do not count.
func AllergensToName(use PPM, blend []FragranceOil) []string {
	amounts := make(map[string]*big.Int)
	spelled := make(map[string]string)
	for _, f := range blend {
		for _, a := range f.Allergens {
			name := strings.TrimSpace(a.Name)
			key := strings.ToLower(name)
			if amounts[key] == nil {
				amounts[key], spelled[key] = new(big.Int), name
			}
			amounts[key].Add(amounts[key], product(int64(use), int64(f.Share), int64(a.Share)))
		}
	}
	limit := product(int64(allergenThreshold), int64(Whole), int64(Whole))
	var names []string
	for key, amount := range amounts {
		if amount.Cmp(limit) > 0 {
			names = append(names, spelled[key])
		}
	}
	slices.Sort(names)
	return names
}

func checkBlend(blend []FragranceOil) error {
	var errs FieldErrors
	if len(blend) == 0 || len(blend) > maxEntries {
		errs.add("fragrance", "a blend has between 1 and %d oils", maxEntries)
		return errs
	}
	var whole PPM
	for i, f := range blend {
		field := fmt.Sprintf("fragrance[%d]", i)
		if f.Share <= 0 || f.Share > Whole {
			errs.add(field+".share", "must be more than 0 and at most 100 %%")
		}
		f.Limit.check(&errs, field+".limit")
		whole += f.Share
		for j, a := range f.Allergens {
			if a.Share < 0 || a.Share > Whole || strings.TrimSpace(a.Name) == "" {
				errs.add(fmt.Sprintf("%s.allergens[%d]", field, j), "needs a name and a share between 0 and 100 %%")
			}
		}
	}
	if len(errs) == 0 && whole != Whole {
		errs.add("fragrance", "the shares add up to %s; they must add up to 100 %%", whole)
	}
	return errs.Err()
}

func (l Limit) check(errs *FieldErrors, field string) {
	switch l.Kind {
	case NoLimit, NoCertificate:
	case NotPermitted:
		errs.add(field, "the certificate does not permit this oil in soap bars; the largest safe amount is 0, so leave it out")
	case LimitMax:
		if l.Max <= 0 || l.Max > Whole {
			errs.add(field, "must be more than 0 and at most 100 %%; choose not permitted for 0")
		}
	default:
		errs.add(field, "must be max, not_permitted, no_limit or no_certificate")
	}
}
