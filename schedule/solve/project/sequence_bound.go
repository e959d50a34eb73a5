package project

import (
	"cmp"
	"slices"
)

// Prices of lateness are multiples of 1/fine of a weight; rounds are how often
// they are mended.
const (
	fine        = 64
	priceRounds = 400
)

// bound is a weighted tardiness that no sequence undercuts. Each activity's
// lateness, early or late alike, is given a price of at most its weight; the
// cheapest sequence is then the one by price per duration, and no schedule can
// have less tardiness than that costs. Prices rise for what that sequence has
// late and fall for what it has early.
func (q *sequence) bound() int {
	n := len(q.activities)
	prices, order, best := make([]int, n), make([]int, n), 0
	for i, a := range q.activities {
		prices[i], order[i] = a.Weight*fine, i
	}
	for round := range priceRounds {
		slices.SortFunc(order, func(a, b int) int {
			return cmp.Or(cmp.Compare(prices[b]*q.activities[a].Duration, prices[a]*q.activities[b].Duration), cmp.Compare(a, b))
		})
		cost, at := 0, 0
		for _, i := range order {
			a := &q.activities[i]
			at += a.Duration
			cost += prices[i] * (at - a.Due)
			step := max(1, a.Weight*fine/(4+round/4))
			if at < a.Due {
				step = -step
			}
			prices[i] = max(0, min(a.Weight*fine, prices[i]+step))
		}
		best = max(best, (cost+fine-1)/fine)
	}
	return best
}
