package schedule

import (
	"math"
	"slices"
)

// sizes splits a need into as few batches as can be, each of at most units
// molds, the full ones first. Where that leaves a surplus, the batches are sized
// so that it is as small as that many batches allow; for a large need the last two
// only. Empty when nothing can be poured.
func (ls *lotsizer) sizes(need, units int) []int {
	most := ls.most(units)
	if most <= 0 {
		return nil
	}
	var out []int
	for left := need; left > 0; left -= most {
		out = append(out, min(left, most))
	}
	if n := len(out); n > 1 && ls.surplus(out[n-1]) > 0 {
		if exact := ls.exact(need, n, ls.wholes(units)); exact != nil {
			return exact
		}
		out[n-2], out[n-1] = ls.even(out[n-2], out[n-1])
	}
	return out
}

// even moves pieces between two batches to where the surplus of both is least.
func (ls *lotsizer) even(a, b int) (int, int) {
	best, moved := ls.surplus(a)+ls.surplus(b), 0
	for k := 1; best > 0 && k < a; k++ {
		if s := ls.surplus(a-k) + ls.surplus(b+k); b+k <= a && s < best {
			best, moved = s, k
		}
	}
	return a - moved, b + moved
}

// surplus is how many sound pieces beyond need its best mix gives.
func (ls *lotsizer) surplus(need int) int {
	if mixes := ls.mixes(need); len(mixes) > 0 {
		return mixes[0].sound - need
	}
	return math.MaxInt32
}

// mostSums bounds the sums tried to split a need.
const mostSums = 1 << 20

// exact splits a need into n batches with the least surplus there is, by dynamic
// programming over the sums of their sizes; nil where that would take long. The
// last batch is the smallest, and bears the surplus.
func (ls *lotsizer) exact(need, n int, sizes []int) []int {
	if len(sizes) == 0 || n*(need+sizes[len(sizes)-1])*len(sizes) > mostSums {
		return nil
	}
	sums := make([][]bool, n+1) // by batches, the sums they can have
	for k := range sums {
		sums[k] = make([]bool, need+sizes[len(sizes)-1])
	}
	sums[0][0] = true
	for k := range n {
		for sum, can := range sums[k] {
			for _, size := range sizes {
				if can && sum < need && sum+size < len(sums[k+1]) {
					sums[k+1][sum+size] = true
				}
			}
		}
	}
	total := need
	for total < len(sums[n]) && !sums[n][total] {
		total++
	}
	if total == len(sums[n]) {
		return nil
	}
	out := make([]int, 0, n)
	for k, left := n, total; k > 0; k-- {
		for _, size := range slices.Backward(sizes) {
			if left >= size && sums[k-1][left-size] {
				out = append(out, size)
				left -= size
				break
			}
		}
	}
	slices.SortFunc(out, func(a, b int) int { return b - a })
	out[n-1] -= total - need
	return out
}

// wholes lists what a batch of at most units molds can give with nothing over,
// ascending.
func (ls *lotsizer) wholes(units int) []int {
	if out, ok := ls.whole[units]; ok {
		return out
	}
	can := map[int]bool{}
	for _, s := range ls.sets {
		if s.total() <= units {
			ls.mark(can, s, 0, 0)
		}
	}
	out := make([]int, 0, len(can))
	for pieces := range can {
		out = append(out, ls.design.sound(pieces))
	}
	slices.Sort(out)
	out = slices.Compact(out)
	if len(out) > 0 && out[0] == 0 {
		out = out[1:]
	}
	ls.whole[units] = out
	return out
}

// mark notes all pieces that a set of molds can hold, from its i-th kind on.
func (ls *lotsizer) mark(can map[int]bool, s set, i, pieces int) {
	if i == len(s.fits) {
		if pieces <= ls.limit {
			can[pieces] = true
		}
		return
	}
	f, units := s.fits[i], s.units[i]
	for n := units * f.Min; n <= units*f.Full; n++ {
		if f.attainable(units, n) {
			ls.mark(can, s, i+1, pieces+n)
		}
	}
}
