package calc

import (
	"cmp"
	"slices"
	"strings"
)

// tneBand gives the tolerable negative error up to a nominal quantity: a share
// of it, or a fixed mass.
type tneBand struct {
	upTo  Mass
	share PPM
	fixed Mass
}

// tneBands begin at 5 g. Up to 1 kg: Directive 76/211/EEC Annex I 2.4
// (published); 1 to 10 kg: German FPackV s. 9(3) (published).
func tneBands() []tneBand {
	return []tneBand{
		{upTo: 50 * Gram, share: 9 * Percent},
		{upTo: 100 * Gram, fixed: 4_500 * Milligram},
		{upTo: 200 * Gram, share: 4*Percent + Percent/2},
		{upTo: 300 * Gram, fixed: 9 * Gram},
		{upTo: 500 * Gram, share: 3 * Percent},
		{upTo: 1 * Kilogram, fixed: 15 * Gram},
		{upTo: 10 * Kilogram, share: Percent + Percent/2},
	}
}

// TolerableNegativeError is how far one pack may fall short of its nominal
// weight; percentages round up to 0.1 g. It gives FieldErrors at net_weight
// outside 5 g to 10 kg, where the rule does not reach.
func TolerableNegativeError(nominal Mass) (Mass, error) {
	const tenth = Gram / 10
	if nominal >= 5*Gram {
		for _, b := range tneBands() {
			if nominal <= b.upTo {
				exact := b.fixed*Mass(Whole) + nominal*Mass(b.share)
				return Mass(mulDivUp(int64(exact), 1, int64(Whole)*int64(tenth))) * tenth, nil
			}
		}
	}
	return 0, fieldErr("net_weight", "must lie between 5 g and 10 kg for the rule on short weight to apply")
}

// LabelItem is one ingredient of a label, under the name that the label uses:
// as added or as saponified, never both in one list.
type LabelItem struct {
	Name      string
	Mass      Mass
	Colourant bool
}

// OrderIngredients merges items of one name (letter case and outer spaces do
// not count; the first spelling stays) and orders them as the EU, US and
// Australian rules all allow: by falling weight, colourants last. Below 1 % any order is
// allowed; falling weight stays. Equal weights go by name.
func OrderIngredients(items []LabelItem) []LabelItem {
	index := make(map[string]int)
	var out []LabelItem
	for _, it := range items {
		it.Name = strings.TrimSpace(it.Name)
		key := strings.ToLower(it.Name)
		at, known := index[key]
		if !known {
			index[key] = len(out)
			out = append(out, it)
			continue
		}
		out[at].Mass += it.Mass
		out[at].Colourant = out[at].Colourant && it.Colourant
	}
	slices.SortFunc(out, func(a, b LabelItem) int {
		switch {
		case a.Colourant != b.Colourant && a.Colourant:
			return 1
		case a.Colourant != b.Colourant:
			return -1
		}
		return cmp.Or(cmp.Compare(b.Mass, a.Mass), cmp.Compare(a.Name, b.Name))
	})
	return out
}
