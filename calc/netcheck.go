package calc

import "fmt"

// NetCheck is how weighed packs stand to the net weight on their label.
type NetCheck struct {
	Tolerable Mass // tolerable negative error of the label's net weight
	Mean      Mass // of the packs, rounded down
	MeanShort bool // the packs weigh less than the label says on average
	Packs     []PackWeight
}

// PackWeight is one pack. Short is under the net weight by more than the tolerable
// negative error, Never by more than twice that.
type PackWeight struct {
	Mass  Mass
	Short bool
	Never bool
}

// CheckNet holds packs, each less its wrapping, against a net weight, exact to the
// milligram (Directive 76/211/EEC Annex I, published: on average not below it, none
// below it by more than twice the tolerable error). The rule is for a lot; few packs
// show no more than themselves. Errors at net_weight, and at weights.
func CheckNet(nominal Mass, packs []Mass) (NetCheck, error) {
	tolerable, err := TolerableNegativeError(nominal)
	if err != nil {
		return NetCheck{}, err
	}
	var errs FieldErrors
	if len(packs) < 1 || len(packs) > maxEntries {
		errs.add("weights", "must name 1 to %d pieces", maxEntries)
		return NetCheck{}, errs
	}
	c := NetCheck{Tolerable: tolerable}
	var total Mass
	for i, m := range packs {
		checkMass(&errs, fmt.Sprintf("weights[%d]", i), m)
		total += min(max(0, m), maxMass)
		c.Packs = append(c.Packs, PackWeight{Mass: m, Short: m < nominal-tolerable, Never: m < nominal-2*tolerable})
	}
	if err := errs.Err(); err != nil {
		return NetCheck{}, err
	}
	c.Mean = total / Mass(len(packs))
	c.MeanShort = total < nominal*Mass(len(packs))
	return c, nil
}
