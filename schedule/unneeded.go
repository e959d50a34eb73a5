package schedule

import (
	"cmp"
	"slices"

	"ripeline/schedule/solve"
)

// dropUnneeded leaves out published batches, the last first, without which no
// deadline that was covered lacks pieces. A pinned batch stays.
func (pl *planner) dropUnneeded(b *book, planned []*lot, open []*claim) []*lot {
	byLast := slices.Clone(planned)
	slices.SortStableFunc(byLast, func(x, y *lot) int {
		return cmp.Or(cmp.Compare(y.expected, x.expected), cmp.Compare(y.key, x.key))
	})
	covers := pl.covers(planned, open)
	dropped := map[*lot]bool{}
	for _, l := range byLast {
		if !l.pinned && covers[l.design.ID].spares(l.mixes[0].sound, l.expected) {
			dropped[l] = true
			b.dropped = append(b.dropped, l.key)
		}
	}
	return slices.DeleteFunc(planned, func(l *lot) bool { return dropped[l] })
}

// cover is what the supply of a design is to its demand, deadline by deadline.
type cover struct {
	spare int    // pieces beyond what all claims ask for
	steps []step // in the order of the claims
}

// step is one deadline: how many pieces more are ready by then than it needs, or
// than there were, where those are fewer.
type step struct {
	by    solve.Time
	slack int
}

// spares takes pieces that are ready at a time out of the supply, unless some
// deadline that was covered then lacks them.
func (c *cover) spares(pieces int, ready solve.Time) bool {
	if c == nil {
		return true
	}
	if c.spare < pieces || slices.ContainsFunc(c.steps, func(s step) bool { return s.by >= ready && s.slack < pieces }) {
		return false
	}
	c.spare -= pieces
	for i := range c.steps {
		if c.steps[i].by >= ready {
			c.steps[i].slack -= pieces
		}
	}
	return true
}

// covers sums up supply and demand by design: stock, running batches and the
// given lots against the open claims.
func (pl *planner) covers(planned []*lot, open []*claim) map[string]*cover {
	supply := pl.supplies(planned)
	out := map[string]*cover{}
	demand := map[string]int{}
	for _, c := range open {
		id := c.line.DesignID
		if out[id] == nil {
			out[id] = &cover{}
		}
		demand[id] += c.line.Pieces
		by := pl.tl.dayStart(c.deadline.AddDays(1))
		ready := supply[id].by(by)
		out[id].steps = append(out[id].steps, step{by: by, slack: ready - min(demand[id], ready)})
	}
	for id, c := range out {
		c.spare = supply[id].by(solve.Never) - demand[id]
	}
	return out
}

// ripening is pieces of a design by when they are ready, earliest first, each
// with all before it.
type ripening []ripe

type ripe struct {
	ready solve.Time
	sum   int
}

// by counts the pieces that are ready by a time.
func (r ripening) by(t solve.Time) int {
	low, high := 0, len(r)
	for low < high {
		if middle := (low + high) / 2; r[middle].ready <= t {
			low = middle + 1
		} else {
			high = middle
		}
	}
	if low == 0 {
		return 0
	}
	return r[low-1].sum
}

func (pl *planner) supplies(planned []*lot) map[string]ripening {
	out := map[string]ripening{}
	add := func(designID string, ready solve.Time, pieces int) {
		out[designID] = append(out[designID], ripe{ready, pieces})
	}
	for _, s := range pl.problem.Stock {
		add(s.DesignID, -solve.Never, s.Pieces)
	}
	for i := range pl.problem.Batches {
		if b := &pl.problem.Batches[i]; b.State != Planned {
			add(b.DesignID, pl.expected(b), b.Sound)
		}
	}
	for _, l := range planned {
		add(l.design.ID, l.expected, l.mixes[0].sound)
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b ripe) int { return cmp.Compare(a.ready, b.ready) })
		for i := 1; i < len(list); i++ {
			list[i].sum += list[i-1].sum
		}
	}
	return out
}
