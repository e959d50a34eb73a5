package project

import "math"

// timeline holds what is free of every resource from each moment at which that
// changes, in order. The last moment is one that nothing reaches.
type timeline struct {
	words int
	guard uint64
	times []int
	free  []uint64 // words of each moment
}

// clear frees everything.
func (t *timeline) clear(g *network) {
	t.words, t.guard = g.words, g.guard
	t.times = append(t.times[:0], math.MinInt, math.MaxInt)
	t.free = append(append(t.free[:0], g.full...), g.full...)
}

// fits reports whether the demand is free from moment k to the next.
func (t *timeline) fits(k int, demand []uint64) bool {
	free := t.free[k*t.words:][:len(demand)]
	for w, d := range demand {
		if ((free[w]|t.guard)-d)&t.guard != t.guard {
			return false
		}
	}
	return true
}

// moment is the last one not after at.
func (t *timeline) moment(at int) int {
	low, high := 0, len(t.times)-1
	for high-low > 1 {
		mid := int(uint(low+high) / 2)
		if t.times[mid] <= at {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// earliest is the first time from at on at which the demand is free for the
// duration, and the moment it lies in.
func (t *timeline) earliest(at, duration int, demand []uint64) (start, moment int) {
	start, moment = at, t.moment(at)
	for k := moment; t.times[k] < start+duration; {
		if t.fits(k, demand) {
			k++
			continue
		}
		for k++; !t.fits(k, demand); {
			k++
		}
		start, moment = t.times[k], k
	}
	return start, moment
}

// take uses the demand up from start, which lies in the given moment, for the
// duration.
func (t *timeline) take(start, moment, duration int, demand []uint64) {
	from := t.split(start, moment)
	k := from
	for t.times[k] < start+duration {
		k++
	}
	if t.times[k] > start+duration {
		k = t.split(start+duration, k-1)
	}
	for at := from * t.words; at < k*t.words; at += t.words {
		for w, d := range demand {
			t.free[at+w] -= d
		}
	}
}

// split makes a moment of a time that lies in another, and gives its place.
func (t *timeline) split(at, moment int) int {
	if t.times[moment] == at {
		return moment
	}
	k := moment + 1
	t.times = append(t.times, 0)
	copy(t.times[k+1:], t.times[k:])
	t.times[k] = at
	for range t.words {
		t.free = append(t.free, 0)
	}
	copy(t.free[k*t.words:], t.free[moment*t.words:])
	return k
}
