package orders

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"ripeline/calc"
)

// Densities in g per mL that stand in where an ingredient's is not known.
// Common oils lie between 0.89 and 0.97, most of what is stirred in lies near
// water (from memory).
const (
	oilDensity   = 0.915
	otherDensity = 1.0
)

// mixture is a recipe worked out for some mass of oils.
type mixture struct {
	recipe Recipe
	needs  []need     // in the recipe's order
	oils   []calc.Oil // those of the needs, in the same order
	lye    calc.Lye
	stock  calc.StockDose // of it, when it is drawn from a ready solution
	fats   calc.Batter    // the oils
	liquor calc.Part      // the lye solution
	batter calc.Batter    // the oils and the lye solution
	whole  calc.Batter    // the batter with all that is stirred in
}

type need struct {
	ingredient Ingredient
	share      calc.PPM // of the mass of all oils
	blended    bool
	mass       calc.Mass
}

// mixtureOf works the recipe out for one kilogram of oils. The error says in
// words what stands in the way.
func mixtureOf(r Recipe, ingredients []Ingredient) (mixture, error) {
	m := mixture{recipe: r}
	var whole calc.PPM
	for _, part := range r.Parts {
		ing, ok := find(ingredients, part.IngredientID, func(i Ingredient) string { return i.ID })
		if !ok {
			return mixture{}, fmt.Errorf("an ingredient of %s was removed; choose another in the recipe", r.Name)
		}
		m.needs = append(m.needs, need{ingredient: ing, share: part.Share, blended: part.Blended})
		if ing.Kind == KindOil {
			whole += part.Share
			m.oils = append(m.oils, ing.oil(part.Share.Of(calc.Kilogram)))
		}
	}
	if whole != calc.Whole {
		return mixture{}, fmt.Errorf("the oils of %s add up to %s, not 100 %%; change their shares in the recipe", r.Name, whole)
	}
	return m.worked()
}

// filling is m for a volume of it with all that is stirred in. Where rounding
// leaves some microlitres missing a little more is mixed.
func (m mixture) filling(v calc.Volume) (mixture, error) {
	for target := v; ; {
		out := m
		var err error
		if out.oils, err = calc.ScaleOils(m.oils, m.whole.Volume, target); err != nil {
			return mixture{}, inWords(err, m.oilNames())
		}
		if out, err = out.worked(); err != nil || out.whole.Volume >= v {
			return out, err
		}
		target += v - out.whole.Volume
	}
}

// ofOils is m for a mass of oils.
func (m mixture) ofOils(mass calc.Mass) (mixture, error) {
	out := m
	out.oils = append([]calc.Oil(nil), m.oils...)
	pots := make([]calc.Pot, len(m.oils))
	for i, o := range m.oils {
		pots[i].Share = calc.PPM(o.Mass) // a kilogram of oils has a million milligrams
	}
	for i, part := range calc.Apportion(mass, pots) {
		out.oils[i].Mass = part
	}
	return out.worked()
}

// worked is m with all that follows from its oils.
func (m mixture) worked() (mixture, error) {
	var err error
	if m.lye, err = calc.ComputeLye(m.recipe.lyeRecipe(m.oils)); err != nil {
		return mixture{}, inWords(err, m.oilNames())
	}
	if m.recipe.LyeStock > 0 {
		if m.stock, err = m.lye.FromStock(m.recipe.LyeStock); err != nil {
			return mixture{}, inWords(err, nil)
		}
	}
	if m.liquor, err = m.lye.Part(); err != nil {
		return mixture{}, inWords(err, nil)
	}
	m.needs = m.weighed()
	var parts []calc.Part
	for _, n := range m.needs {
		if n.ingredient.Kind == KindOil {
			parts = append(parts, n.part())
		}
	}
	if m.fats, err = mix(parts); err != nil {
		return mixture{}, err
	}
	parts = append(parts, m.liquor)
	if m.batter, err = mix(parts); err != nil {
		return mixture{}, err
	}
	for _, n := range m.needs {
		if n.ingredient.stirredIn() && n.mass > 0 {
			parts = append(parts, n.part())
		}
	}
	m.whole, err = mix(parts)
	return m, err
}

// weighed is the needs with their masses: what is not oil or lye goes by the
// mass of the oils. Of two lyes of one alkali, which older recipes may name, all is
// of the first.
func (m mixture) weighed() []need {
	total := m.oilMass()
	out := make([]need, len(m.needs))
	oil := 0
	for i, n := range m.needs {
		switch n.ingredient.Kind {
		case KindOil:
			n.mass = m.oils[oil].Mass
			oil++
		case KindLye:
			n.mass = m.lye.NaOH
			if n.ingredient.Alkali == AlkaliKOH {
				n.mass = m.lye.KOH
			}
			if slices.ContainsFunc(m.needs[:i], func(o need) bool { return o.ingredient.sameAlkali(n.ingredient) }) {
				n.mass = 0
			}
		default:
			n.mass = n.share.Of(total)
		}
		out[i] = n
	}
	return out
}

func (m mixture) oilMass() calc.Mass {
	var total calc.Mass
	for _, o := range m.oils {
		total += o.Mass
	}
	return total
}

func (m mixture) oilNames() []string {
	names := make([]string, len(m.oils))
	for i, o := range m.oils {
		names[i] = o.Name
	}
	return names
}

// forVolume is the mass of the need in so much of the mixture, rounded up.
func (m mixture) forVolume(n need, v calc.Volume) calc.Mass {
	return calc.Mass(math.Ceil(float64(n.mass) * float64(v) / float64(m.whole.Volume)))
}

func (n need) part() calc.Part {
	return calc.Part{Name: n.ingredient.Name, Mass: n.mass, Density: n.ingredient.density()}
}

// mix is the batter of the parts, with an error in words.
func mix(parts []calc.Part) (calc.Batter, error) {
	b, err := calc.Mix(parts)
	if err == nil {
		return b, nil
	}
	names := make([]string, len(parts))
	for i, p := range parts {
		names[i] = p.Name
	}
	return calc.Batter{}, inWords(err, names)
}

// oil is so much of the ingredient as calc takes it.
func (i Ingredient) oil(mass calc.Mass) calc.Oil {
	return calc.Oil{Name: i.Name, Mass: mass, SV: i.svRange(), WaxEster: i.WaxEster}
}

// stirredIn reports whether the ingredient takes room in the batter beside oils
// and lye. Botanicals lie on top or take hardly any room.
func (i Ingredient) stirredIn() bool {
	switch i.Kind {
	case KindLiquid, KindFragrance, KindColour, KindOther:
		return true
	}
	return false
}

func (i Ingredient) svRange() calc.SVRange {
	sv := func(v float64) calc.SV { return calc.SV(math.Round(v * float64(calc.MilligramPerGram))) }
	return calc.SVRange{Low: sv(i.SVLow), Used: sv(i.SVUsed), High: sv(i.SVHigh)}
}

func (i Ingredient) density() calc.Density {
	usual := otherDensity
	if i.Kind == KindOil {
		usual = oilDensity
	}
	return calc.Density(math.Round(cmp.Or(i.Density, usual) * float64(calc.GramPerML)))
}

var listed = regexp.MustCompile(`^\w+\[(\d+)\]`)

// inWords makes sentences of calc's complaints; names are what the entries of
// the list they are about are called.
func inWords(err error, names []string) error {
	var many calc.FieldErrors
	if !errors.As(err, &many) {
		return err
	}
	texts := make([]string, len(many))
	for i, f := range many {
		what := f.Field[strings.LastIndex(f.Field, ".")+1:]
		what = strings.NewReplacer("naoh", "lye", "sv", "saponification value", "_", " ").Replace(listed.ReplaceAllString(what, ""))
		if at := listed.FindStringSubmatch(f.Field); at != nil {
			if n, err := strconv.Atoi(at[1]); err == nil && n < len(names) {
				what = strings.TrimSuffix(names[n]+", "+what, ", ")
			}
		}
		texts[i] = what + ": " + f.Message
	}
	return errors.New(strings.Join(texts, "; "))
}
