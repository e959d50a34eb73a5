package calc

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

// FragranceOil is one component of a blend, and the allergens in it as shares
// of this oil.
type FragranceOil struct {
	Name      string
	Limit     Limit
	Allergens []Allergen
}

// Allergen is a substance and its share of a fragrance oil.
type Allergen struct {
	Name  string
	Share PPM
}

// allergenThreshold is the share of a rinse-off product above which an allergen
// is named on the label: 0.01 % (Regulation (EC) 1223/2009 Annex III, published).
const allergenThreshold = Percent / 100

func (l Limit) check(errs *FieldErrors, field string) {
	switch l.Kind {
	case NoLimit, NoCertificate, NotPermitted:
	case LimitMax:
		if l.Max <= 0 || l.Max > Whole {
			errs.add(field, "must be more than 0 and at most 100 %%; choose not permitted for 0")
		}
	default:
		errs.add(field, "must be max, not_permitted, no_limit or no_certificate")
	}
}
