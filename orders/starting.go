package orders

// startingIngredients is what a new workshop finds on its shelf list: common
// oils with their saponification ranges, lye and water. None is on hand, and
// every figure is a default for the maker to confirm against the supplier's
// sheet. Ranges in mg KOH per g: olive after Codex Alimentarius CXS 33-1981
// (from memory), coconut after CXS 210-1999 (second-hand), palm after the
// Indian AGMARK rules of 1955 (second-hand). Densities are from memory.
func startingIngredients() []Ingredient {
	oil := func(name, label string, low, used, high, density float64) Ingredient {
		return Ingredient{Name: name, LabelName: label, Kind: KindOil, SVLow: low, SVUsed: used, SVHigh: high, Density: density}
	}
	return []Ingredient{
		oil("Olive oil", "Olea Europaea Fruit Oil", 184, 190, 196, 0.913),
		oil("Coconut oil", "Cocos Nucifera Oil", 248, 256.5, 265, 0.915),
		oil("Palm oil", "Elaeis Guineensis Oil", 195, 200, 205, 0.895),
		{Name: "Sodium hydroxide", LabelName: "Sodium Hydroxide", Kind: KindLye},
		{Name: "Water", LabelName: "Aqua", Kind: KindLiquid, Density: 1},
	}
}
