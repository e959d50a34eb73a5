package calc

import "fmt"

func (r LyeRecipe) check() error {
	var errs FieldErrors
	checkOils(&errs, r.Oils)
	if r.NaOHShare < 0 || r.NaOHShare > Whole {
		errs.add("naoh_share", "must lie between 0 and 100 %%")
	}
	if r.Superfat < 0 || r.Superfat > maxSuperfat {
		errs.add("superfat", "must lie between 0 and %s; below 0 the soap would hold free lye", maxSuperfat)
	}
	if r.NaOHShare > 0 {
		checkPurity(&errs, "naoh_purity", r.NaOHPurity)
	}
	if r.NaOHShare < Whole {
		checkPurity(&errs, "koh_purity", r.KOHPurity)
	}
	r.Water.check(&errs)
	return errs.Err()
}

func checkOils(errs *FieldErrors, oils []Oil) {
	if len(oils) == 0 || len(oils) > maxEntries {
		errs.add("oils", "a recipe has between 1 and %d oils", maxEntries)
		return
	}
	for i, o := range oils {
		field := fmt.Sprintf("oils[%d]", i)
		checkMass(errs, field+".mass", o.Mass)
		o.SV.check(errs, field+".sv")
	}
}

func checkMass(errs *FieldErrors, field string, m Mass) {
	if m <= 0 || m > maxMass {
		errs.add(field, "must be more than 0 and at most %s", maxMass)
	}
}

func checkPurity(errs *FieldErrors, field string, p PPM) {
	if p < minPurity || p > maxPurity {
		errs.add(field, "must lie between %s and %s; take it from the supplier's sheet", minPurity, maxPurity)
	}
}
