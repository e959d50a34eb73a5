package orders

import (
	"slices"

	"ripeline/calc"
)

// startingOils are the oils that a new workshop finds on its list.
var startingOils = []string{"olive oil", "coconut oil", "palm oil", "sunflower oil", "shea butter, unrefined", "cocoa butter"}

// shelfTemperature is the temperature at which densities are stated.
const shelfTemperature = 20 * calc.Celsius

// startingIngredients is what a new workshop finds on its list: common oils,
// lye and water. None is on hand. Every figure is a default for the maker to
// confirm against the supplier's sheet; calc.KnownOils names the sources.
func startingIngredients() ([]Ingredient, error) {
	out := []Ingredient{
		{Name: "Sodium hydroxide", LabelName: "Sodium Hydroxide", Kind: KindLye},
		{Name: "Water", LabelName: "Aqua", Kind: KindLiquid, Density: 1},
	}
	for _, o := range calc.KnownOils() {
		if !slices.Contains(startingOils, o.Name) {
			continue
		}
		density, err := calc.OilDensity(o.SV.Used, o.IodineHundredths, shelfTemperature)
		if err != nil {
			return nil, err
		}
		out = append(out, Ingredient{
			Name: sentence(o.Name), LabelName: o.LabelName, SoapName: soapNames[o.Name], Kind: KindOil,
			SVLow: perGram(o.SV.Low), SVUsed: perGram(o.SV.Used), SVHigh: perGram(o.SV.High),
			Density: float64(density) / float64(calc.GramPerML),
		})
	}
	return out, nil
}

func perGram(v calc.SV) float64 { return float64(v) / float64(calc.MilligramPerGram) }

// sentence begins an ASCII name with a capital.
func sentence(name string) string {
	if name == "" || name[0] < 'a' || name[0] > 'z' {
		return name
	}
	return string(name[0]-'a'+'A') + name[1:]
}
