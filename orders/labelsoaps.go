package orders

import (
	"cmp"
	"strings"

	"ripeline/calc"
)

// What the names of soaps begin with in the common nomenclature of cosmetic
// ingredients (from memory): the same oil gives Sodium Olivate with sodium
// hydroxide and Potassium Olivate with potassium hydroxide.
const (
	sodiumSoap    = "Sodium "
	potassiumSoap = "Potassium "
)

// potashNames tells how soaps of potassium hydroxide are named.
const potashNames = "Soap of potassium hydroxide is named Potassium where that of sodium hydroxide is named Sodium, and with both lyes an oil is listed under both names, each with its part of the weight (common practice, from memory): have your safety assessor confirm the names."

// soapNamed is the oil's name as soap of an alkali. A name that begins with
// neither metal is the maker's own and stays as it is; without one the oil's
// name for labels stands in.
func (i Ingredient) soapNamed(a Alkali) string {
	name := strings.TrimSpace(i.SoapName)
	if rest, ok := i.soapStem(); ok {
		name = sodiumSoap + rest
		if a == AlkaliKOH {
			name = potassiumSoap + rest
		}
	}
	return cmp.Or(name, i.labelName())
}

// soapStem is the soap's name without its metal, false when it begins with none.
func (i Ingredient) soapStem() (string, bool) {
	name := strings.TrimSpace(i.SoapName)
	for _, metal := range []string{sodiumSoap, potassiumSoap} {
		if len(name) > len(metal) && strings.EqualFold(name[:len(metal)], metal) {
			return name[len(metal):], true
		}
	}
	return "", false
}

func (i Ingredient) namesItsMetal() bool {
	_, ok := i.soapStem()
	return ok
}

// asSaponified is what the cured bar holds. All that the cure takes is water.
func (m mixture) asSaponified() ([]calc.LabelItem, error) {
	r := m.recipe.lyeRecipe(m.oils)
	soaps, glycerol, err := calc.Saponified(r)
	if err != nil {
		return nil, inWords(err, m.oilNames())
	}
	ofSodium := soaps
	if mixed := r.NaOHShare > 0 && r.NaOHShare < calc.Whole; mixed {
		r.NaOHShare = calc.Whole
		if ofSodium, _, err = calc.Saponified(r); err != nil {
			return nil, inWords(err, m.oilNames())
		}
	}
	var out []calc.LabelItem
	oil := 0
	for _, n := range m.needs {
		if n.ingredient.Kind != KindOil {
			continue
		}
		sodium := (calc.Whole - m.recipe.KOHShare).Of(ofSodium[oil])
		for _, part := range []calc.LabelItem{
			{Name: n.ingredient.soapNamed(AlkaliNaOH), Mass: sodium},
			{Name: n.ingredient.soapNamed(AlkaliKOH), Mass: soaps[oil] - sodium},
		} {
			if part.Mass > 0 {
				out = append(out, part)
			}
		}
		oil++
	}
	left := max(0, m.lye.Solution-m.lye.PureNaOH-m.lye.PureKOH-m.recipe.loss().Of(m.whole.Mass))
	out = append(out, calc.LabelItem{Name: labelGlycerin, Mass: glycerol}, calc.LabelItem{Name: labelWater, Mass: left})
	return append(out, m.others()...), nil
}
