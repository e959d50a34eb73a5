package calc

import "math/big"

// StockDose is what a batch takes of lye that is kept ready as a solution:
// Stock and Extra water add up to the batch's lye solution to the milligram.
type StockDose struct {
	Stock Mass // of the ready solution
	Extra Mass // water to add to it
}

// FromStock is l drawn from a ready NaOH solution that holds c of pure alkali
// by mass. It gives FieldErrors at lye_stock when c lies outside 5 to 50 %, when the
// solution is weaker than the batch asks for, and when the recipe needs KOH.
func (l Lye) FromStock(c PPM) (StockDose, error) {
	switch {
	case l.PureKOH > 0:
		return StockDose{}, fieldErr("lye_stock", "is for sodium hydroxide alone; dissolve mixed lye fresh")
	case c < minConcentration || c > maxConcentration:
		return StockDose{}, fieldErr("lye_stock", "must lie between %s and %s", minConcentration, maxConcentration)
	case c < l.Concentration:
		return StockDose{}, fieldErr("lye_stock", "is weaker than the %s that this recipe asks for; use a stronger stock or more water", l.Concentration)
	}
	stock := min(l.Solution, Mass(mulDiv(int64(l.PureNaOH), int64(Whole), int64(c))))
	return StockDose{Stock: stock, Extra: l.Solution - stock}, nil
}

// StockRecipe is what to weigh for total of a solution that holds c of pure
// NaOH by mass, made of alkali of the given purity; both parts add up to total. It
// gives FieldErrors at total, lye_stock and naoh_purity.
func StockRecipe(total Mass, c, purity PPM) (naoh, water Mass, err error) {
	var errs FieldErrors
	checkMass(&errs, "total", total)
	if c < minConcentration || c > maxConcentration {
		errs.add("lye_stock", "must lie between %s and %s", minConcentration, maxConcentration)
	}
	checkPurity(&errs, "naoh_purity", purity)
	if err := errs.Err(); err != nil {
		return 0, 0, err
	}
	exact := new(big.Rat).Mul(big.NewRat(int64(total), 1), share(c))
	naoh = Mass(rounded(exact.Quo(exact, share(purity))))
	return naoh, total - naoh, nil
}
