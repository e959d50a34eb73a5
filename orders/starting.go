package orders

import (
	"fmt"
	"math"
	"slices"

	"ripeline/calc"
)

// startingOils are the oils that a new workshop finds on its list.
var startingOils = []string{"olive oil", "coconut oil", "palm oil", "sunflower oil", "shea butter, unrefined", "cocoa butter"}

// shelfTemperature is the temperature at which densities are stated.
const shelfTemperature = 20 * calc.Celsius

// startingIngredients is what a new workshop finds on its list: common oils,
// lye and water. None is on hand.
func startingIngredients() ([]Ingredient, error) {
	out := []Ingredient{
		{Name: "Sodium hydroxide", LabelName: "Sodium Hydroxide", Kind: KindLye, Alkali: AlkaliNaOH},
		{Name: "Water", LabelName: "Aqua", Kind: KindLiquid, Density: 1},
	}
	known, err := KnownOils()
	if err != nil {
		return nil, err
	}
	for _, o := range known {
		if slices.ContainsFunc(startingOils, func(name string) bool { return sentence(name) == o.Name }) {
			out = append(out, o)
		}
	}
	return out, nil
}

// KnownOils is the usual oils, butters and waxes as ingredients to start from.
// Every figure is a default for the maker to confirm against the supplier's sheet; its
// source says where it was read and how far to trust it.
func KnownOils() ([]Ingredient, error) {
	var out []Ingredient
	for _, o := range calc.KnownOils() {
		density, err := startingDensity(o)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", o.Name, err)
		}
		oil := Ingredient{
			Name: sentence(o.Name), LabelName: o.LabelName, SoapName: soapNames[o.Name], Kind: KindOil,
			SVLow: perGram(o.SV.Low), SVUsed: perGram(o.SV.Used), SVHigh: perGram(o.SV.High),
			SVSource: fmt.Sprintf("%s (%s). %s", o.Source, o.Status, estimated), WaxEster: o.WaxEster,
			Density: density,
		}
		oil.Fragrance.complete()
		out = append(out, oil)
	}
	return out, nil
}

// estimated says what the density of a starting oil is worth.
const estimated = "The density, at 20 °C, is an estimate to confirm."

// startingDensity is an oil's density in g per mL, to the thousandth that an
// estimate is good for at best: by its own figure where it has one, else by the
// formula of saponification and iodine value (JAOCS 76, 1415, 1999, second-hand).
func startingDensity(o calc.KnownOil) (float64, error) {
	density := o.Density
	if density == 0 {
		var err error
		if density, err = calc.OilDensity(o.SV.Used, o.IodineHundredths, shelfTemperature); err != nil {
			return 0, err
		}
	}
	thousandths := math.Round(float64(density) * 1000 / float64(calc.GramPerML))
	return thousandths / 1000, nil
}

func perGram(v calc.SV) float64 { return float64(v) / float64(calc.MilligramPerGram) }

// sentence begins an ASCII name with a capital.
func sentence(name string) string {
	if name == "" || name[0] < 'a' || name[0] > 'z' {
		return name
	}
	return string(name[0]-'a'+'A') + name[1:]
}
