package orders

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"ripeline/calc"
)

// Names of what every soap holds, as labels have them (from memory).
const (
	labelLye      = "Sodium Hydroxide"
	labelPotash   = "Potassium Hydroxide"
	labelWater    = "Aqua"
	labelGlycerin = "Glycerin"
)

// mixed is what is mixed for the batch's molds.
func (m making) mixed() (mixture, error) {
	mixed, _, err := m.inMolds()
	return mixed, err
}

// inMolds is what is mixed for the batch's molds, and how they are filled.
func (m making) inMolds() (mixture, []moldFill, error) {
	if len(m.Molds) == 0 {
		return mixture{}, nil, errors.New("the design has no mold that its cut fits; give it one")
	}
	var all []moldFill
	for i, mold := range m.Molds {
		fills, err := mold.fills(m.batch.Molds[i], m.Design.Cut)
		if err != nil {
			return mixture{}, nil, err
		}
		all = append(all, fills...)
	}
	wanted, err := volumeOf(all)
	if err != nil {
		return mixture{}, nil, inWords(err, moldNames(all))
	}
	kilo, err := mixtureOf(m.Recipe, m.Ingredients)
	if err != nil {
		return mixture{}, nil, err
	}
	mixed, err := kilo.filling(wanted)
	return mixed, all, err
}

// list orders what is mixed by the convention chosen.
func (l *Label) list(mixed mixture, m making) error {
	items, note := mixed.asAdded(), "The weights are those that are weighed into the batch."
	if l.Names == AsSaponified {
		var err error
		if items, err = mixed.asSaponified(); err != nil {
			return err
		}
		note = "The weights are those in the cured bar: the soap of each oil with what the superfat leaves of that oil, the glycerin set free, and the water left after the cure."
		if m.Recipe.KOHShare > 0 {
			note += " " + potashNames
		}
	}
	l.Notes = append(l.Notes, note, "Below 1 % any order is allowed; this list keeps the order of weight there too. Colourants come last.")
	ordinary := make(map[string]bool)
	var total calc.Mass
	for _, it := range items {
		ordinary[strings.ToLower(it.Name)] = true
		total += it.Mass
	}
	b, err := mixed.blended()
	if err != nil {
		return err
	}
	found, err := calc.AllergensIn(b.doses, mixed.whole.Mass, m.Recipe.loss())
	for _, a := range found {
		if a.Named() {
			l.Allergens = append(l.Allergens, a.Name)
			items = append(items, calc.LabelItem{Name: a.Name, Mass: a.Mass})
		}
	}
	var names []string
	for _, it := range calc.OrderIngredients(items) {
		names = append(names, it.Name)
		l.Ingredients = append(l.Ingredients, LabelIngredient{
			Name: it.Name, Mass: it.Mass, Share: calc.ShareOf(it.Mass, total), Colourant: it.Colourant,
			Allergen: slices.Contains(l.Allergens, it.Name) && !ordinary[strings.ToLower(it.Name)],
		})
	}
	l.List = strings.Join(names, ", ")
	return err
}

// labelName is the ingredient's name on a label.
func (i Ingredient) labelName() string { return cmp.Or(strings.TrimSpace(i.LabelName), i.Name) }

// others is what is neither oil nor lye.
func (m mixture) others() []calc.LabelItem {
	var out []calc.LabelItem
	for _, n := range m.needs {
		switch n.ingredient.Kind {
		case KindOil, KindLye, KindPackaging:
		default:
			out = append(out, calc.LabelItem{Name: n.ingredient.labelName(), Mass: n.mass, Colourant: n.ingredient.Kind == KindColour})
		}
	}
	return out
}

// asAdded is what is weighed into the batch.
func (m mixture) asAdded() []calc.LabelItem {
	var out []calc.LabelItem
	naoh, koh := labelLye, labelPotash
	for _, n := range m.needs {
		switch {
		case n.ingredient.Kind == KindOil:
			out = append(out, calc.LabelItem{Name: n.ingredient.labelName(), Mass: n.mass})
		case n.ingredient.Kind == KindLye && n.ingredient.Alkali == AlkaliKOH:
			koh = n.ingredient.labelName()
		case n.ingredient.Kind == KindLye:
			naoh = n.ingredient.labelName()
		}
	}
	for _, lye := range []calc.LabelItem{{Name: naoh, Mass: m.lye.NaOH}, {Name: koh, Mass: m.lye.KOH}} {
		if lye.Mass > 0 {
			out = append(out, lye)
		}
	}
	out = append(out, calc.LabelItem{Name: labelWater, Mass: m.lye.Water})
	return append(out, m.others()...)
}

// weigh proposes the net weight of a cured piece: the whole grams of what it
// is predicted to weigh, so that the mean of the batch is not below it.
func (l *Label) weigh(mixed mixture, m making, units LabelUnits) error {
	n := &NetWeight{}
	least, most, err := m.pieceSizes()
	if err != nil {
		return err
	}
	fit, unfit := m.batch.drying()
	weighed := unfit == nil && !fit.Few && !fit.Flat
	if weighed && least == most {
		curve := m.batch.curve(fit, m.Recipe.CureTarget)
		n.Predicted, n.ByWeight = curve.AtWrap-curve.Residual, true
		l.Notes = append(l.Notes, "The net weight goes by the batch's own weighings, at the wrap, less what they usually lie off their curve.")
	} else {
		fresh := calc.Mass(float64(least) * float64(mixed.whole.Mass) / float64(mixed.whole.Volume))
		n.Predicted = fresh - m.Recipe.loss().Of(fresh)
		l.Notes = append(l.Notes, m.workedOut(weighed))
	}
	n.Proposed = n.Predicted / calc.Gram * calc.Gram
	tolerable, outside := calc.TolerableNegativeError(n.Proposed)
	if outside != nil {
		l.Missing = append(l.Missing, fmt.Sprintf("A net weight can not be proposed: a piece would weigh %s, and the rule on short weight goes from 5 g to 10 kg.", n.Predicted))
		return nil //nolint:nilerr // what is missing is told on the label
	}
	n.Tolerable, n.Short, n.Never = tolerable, n.Proposed-tolerable, n.Proposed-2*tolerable
	l.Net, l.NetText = n, "Net weight "+netText(n.Proposed, units)
	l.Notes = append(l.Notes, "By the rule on short weight the batch must weigh what is declared on average, and no piece much less.")
	return nil
}

// workedOut says that the net weight goes by the cut, and why weighings, if there
// are any, do not count.
func (m making) workedOut(weighed bool) string {
	text := fmt.Sprintf("The net weight is worked out from the cut, less %s in the cure. ", m.Recipe.loss())
	if weighed {
		return text + "The batch's molds give pieces of different size, and its weighings do not say which were weighed, so it is that of the smallest piece."
	}
	return text + "Weighings of the batch make it surer."
}

// pieceSizes is the volumes of the smallest and of the largest piece of the
// batch's molds.
func (m making) pieceSizes() (least, most calc.Volume, err error) {
	for i, mold := range m.Molds {
		cut, err := calc.Yield(mold.calcMold(), calc.CutPlan(m.Design.Cut))
		if err != nil {
			return 0, 0, err
		}
		if i == 0 {
			least = cut.PieceSize
		}
		least, most = min(least, cut.PieceSize), max(most, cut.PieceSize)
	}
	return least, most, nil
}

// netText writes a net weight; ounces are rounded down, so that they never
// promise more than the grams.
func netText(m calc.Mass, units LabelUnits) string {
	const ounce = 28_349_523_125 // in millionths of a milligram
	hundredths := int64(m) * 100 * 1_000_000 / ounce
	ounces := fmt.Sprintf("%d.%02d oz", hundredths/100, hundredths%100)
	switch units {
	case LabelImperial:
		return ounces
	case LabelBothWays:
		return m.Grams(0) + " g (" + ounces + ")"
	}
	return m.Grams(0) + " g"
}
