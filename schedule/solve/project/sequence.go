package project

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"
)

// oneAtATime reports whether no two activities can ever run together and nothing
// else holds them: a schedule is a sequence.
func (p *Problem) oneAtATime() bool {
	if len(p.Lags) > 0 {
		return false
	}
	return slices.ContainsFunc(p.everyResource(), func(r int) bool {
		return !slices.ContainsFunc(p.Activities, func(a Activity) bool {
			return r >= len(a.Demands) || 2*a.Demands[r] <= p.Capacities[r] || a.Duration == 0
		})
	})
}

func (p *Problem) everyResource() []int {
	all := make([]int, len(p.Capacities))
	for r := range all {
		all[r] = r
	}
	return all
}

// sequence is an order of activities that run one after the other.
type sequence struct {
	activities []Activity
	order      []int
	best       []int // least cost of the first so many places
	choice     []change
	random     *rand.Rand
}

// change is what happens to the last places of a prefix.
type change struct {
	from int // place where it begins
	kind changeKind
}

type changeKind int

const (
	stay   changeKind = iota
	swap              // the first and the last change places
	later             // the first goes behind the last
	sooner            // the last goes before the first
)

// changeKinds are tried in this order; of equals the first is taken.
var changeKinds = [...]changeKind{swap, later, sooner}

// solveSequence is iterated dynasearch: the best set of independent changes of
// the whole sequence at once, again and again; then some chance, and again.
func solveSequence(ctx context.Context, p *Problem) (*Schedule, error) {
	n := len(p.Activities)
	q := &sequence{
		activities: p.Activities, order: make([]int, n), best: make([]int, n+1), choice: make([]change, n+1),
		random: rand.New(rand.NewPCG(p.Seed, uint64(n))), //nolint:gosec // seeded on purpose: the same problem, the same schedule
	}
	for i := range q.order {
		q.order[i] = i
	}
	slices.SortStableFunc(q.order, func(a, b int) int { return cmp.Compare(p.Activities[a].Due, p.Activities[b].Due) })
	found := &Schedule{Value: math.MaxInt, Bound: q.bound()}
	kept, value := slices.Clone(q.order), math.MaxInt
	for round := 1; ; round++ {
		cost, err := q.descend(ctx, found, p.Budget)
		if err != nil {
			return nil, err
		}
		if cost < found.Value {
			found.Value, found.Starts = cost, q.startTimes()
		}
		if found.Built >= p.Budget || found.Value <= found.Bound {
			return found, nil
		}
		if cost <= value || round%100 == 0 {
			kept, value = append(kept[:0], q.order...), cost
		}
		copy(q.order, kept)
		q.kick()
	}
}

// kick exchanges a few at random.
func (q *sequence) kick() {
	n := len(q.order)
	for range 3 + q.random.IntN(4) {
		a, b := q.random.IntN(n), q.random.IntN(n)
		q.order[a], q.order[b] = q.order[b], q.order[a]
	}
}

// descend applies best sets of changes until none helps, and returns the cost.
// Each set counts as a schedule.
func (q *sequence) descend(ctx context.Context, found *Schedule, budget int) (int, error) {
	cost := math.MaxInt
	for {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		next := q.bestChanges()
		found.Built++
		q.apply()
		if next >= cost || found.Built >= budget {
			return next, nil
		}
		cost = next
	}
}

// bestChanges finds the set of changes, no two of them overlapping, that costs
// least.
func (q *sequence) bestChanges() int {
	start := 0 // of the last place
	begins := make([]int, len(q.order)+1)
	for last, a := range q.order {
		q.best[last+1] = q.best[last] + q.late(a, start+q.activities[a].Duration)
		q.choice[last+1] = change{last, stay}
		for first := last - 1; first >= 0; first-- {
			for _, kind := range changeKinds {
				limit := q.best[last+1] - q.best[first]
				if cost := q.segment(first, last, kind, begins[first], limit); cost < limit {
					q.best[last+1], q.choice[last+1] = q.best[first]+cost, change{first, kind}
				}
			}
		}
		start += q.activities[a].Duration
		begins[last+1] = start
	}
	return q.best[len(q.order)]
}

// segment is the cost of the places from first to last after a change, or
// something not below the limit.
func (q *sequence) segment(first, last int, kind changeKind, at, limit int) int {
	cost := 0
	for place := first; place <= last && cost < limit; place++ {
		a := q.order[kind.source(place, first, last)]
		at += q.activities[a].Duration
		cost += q.late(a, at)
	}
	return cost
}

// source is the place from which the change fills a place.
func (k changeKind) source(place, first, last int) int {
	switch {
	case k == later && place == last, k == swap && place == last:
		return first
	case k == sooner && place == first, k == swap && place == first:
		return last
	case k == later:
		return place + 1
	case k == sooner:
		return place - 1
	}
	return place
}

// apply makes the changes that bestChanges chose.
func (q *sequence) apply() {
	for end := len(q.order); end > 0; {
		c := q.choice[end]
		switch c.kind {
		case stay:
		case swap:
			q.order[c.from], q.order[end-1] = q.order[end-1], q.order[c.from]
		case later:
			shift(q.order, c.from, end-1)
		case sooner:
			shift(q.order, end-1, c.from)
		}
		end = c.from
	}
}

func (q *sequence) late(a, end int) int {
	return q.activities[a].Weight * max(0, end-q.activities[a].Due)
}

func (q *sequence) startTimes() []int {
	starts, at := make([]int, len(q.order)), 0
	for _, a := range q.order {
		starts[a] = at
		at += q.activities[a].Duration
	}
	return starts
}
