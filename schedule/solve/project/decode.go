package project

import "slices"

// builder makes schedules of one network, one activity after the other, each as
// early as lags and free resources allow.
type builder struct {
	*network
	line timeline
	keys []uint64
}

// unplaced marks an activity that has no start yet.
const unplaced = -1

// build places the activities in the given order and returns the makespan. An
// activity whose predecessors come later in the order draws them forward.
func (b *builder) build(order, starts []int) int {
	b.line.clear(b.network)
	for i := range starts {
		starts[i] = unplaced
	}
	makespan := 0
	for _, i := range order {
		if starts[i] == unplaced {
			makespan = max(makespan, b.place(i, starts))
		}
	}
	return makespan
}

// place gives an activity its start and returns the latest end of what it placed.
func (b *builder) place(i int, starts []int) int {
	at, last := 0, 0
	for k := b.first[i]; k < b.first[i+1]; k++ {
		from := b.from[k]
		if starts[from] == unplaced {
			last = max(last, b.place(from, starts))
		}
		at = max(at, starts[from]+b.lag[k])
	}
	duration := b.duration[i]
	if duration > 0 {
		demand := b.demand[i*b.words:][:b.words]
		start, moment := b.line.earliest(at, duration, demand)
		b.line.take(start, moment, duration, demand)
		at = start
	}
	starts[i] = at
	return max(last, at+duration)
}

// byStart writes the activities into order by their starts, ties by number.
func (b *builder) byStart(starts, order []int) {
	b.keys = b.keys[:0]
	for i, s := range starts {
		b.keys = append(b.keys, uint64(s)<<32|uint64(i)) //nolint:gosec // starts and numbers are never negative
	}
	slices.Sort(b.keys)
	for k, key := range b.keys {
		order[k] = int(key & (1<<32 - 1)) //nolint:gosec // it was put in there
	}
}

// turn writes the starts of a schedule as those of the mirrored network.
func (g *network) turn(starts []int, makespan int, into []int) {
	for i, s := range starts {
		into[g.n-1-i] = makespan - s - g.duration[i]
	}
}
