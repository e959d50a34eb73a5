package calc

import (
	"fmt"
	"math/bits"
	"slices"
)

// Pot is one colour's share of the batter.
type Pot struct {
	Name  string
	Share PPM
}

// Pots is each pot's weight. The weights add up to total exactly: every pot
// gets its share rounded down, and the milligrams left over go to the largest
// fractions, the earlier pot first among equals. It gives FieldErrors at total, pots,
// pots[i].share and, when the shares do not add up to 100 %, at pots.
func Pots(total Mass, pots []Pot) ([]Mass, error) {
	var errs FieldErrors
	if total <= 0 || total > maxEntries*maxMass {
		errs.add("total", "must be more than 0")
	}
	if len(pots) == 0 || len(pots) > maxEntries {
		errs.add("pots", "a batter goes into between 1 and %d pots", maxEntries)
		return nil, errs
	}
	var whole PPM
	weights := make([]int64, len(pots))
	for i, p := range pots {
		if p.Share <= 0 || p.Share > Whole {
			errs.add(fmt.Sprintf("pots[%d].share", i), "must be more than 0 and at most 100 %%")
		}
		whole += p.Share
		weights[i] = int64(p.Share)
	}
	if len(errs) == 0 && whole != Whole {
		errs.add("pots", "the shares add up to %s; they must add up to 100 %%", whole)
	}
	if err := errs.Err(); err != nil {
		return nil, err
	}
	return apportion(total, weights), nil
}

// apportion parts total by weights that are not negative and not all zero, by
// largest remainder.
func apportion(total Mass, weights []int64) []Mass {
	var all uint64
	for _, w := range weights {
		all += uint64(w)
	}
	parts := make([]Mass, len(weights))
	rests := make([]uint64, len(weights))
	order := make([]int, len(weights))
	left := total
	for i, w := range weights {
		hi, lo := bits.Mul64(uint64(total), uint64(w))
		q, r := bits.Div64(hi, lo, all)
		parts[i], rests[i], order[i] = Mass(q), r, i
		left -= parts[i]
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case rests[a] > rests[b]:
			return -1
		case rests[a] < rests[b]:
			return 1
		}
		return 0
	})
	for _, i := range order[:left] {
		parts[i]++
	}
	return parts
}

// Apportion is Pots for shares that add up to anything above zero: each pot
// gets its share of their sum. Nothing is parted among no pots.
func Apportion(total Mass, pots []Pot) []Mass {
	weights := make([]int64, len(pots))
	var all int64
	for i, p := range pots {
		weights[i] = int64(max(0, p.Share))
		all += weights[i]
	}
	if all == 0 || total < 0 {
		return make([]Mass, len(pots))
	}
	return apportion(total, weights)
}
