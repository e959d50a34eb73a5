package schedule_test

import (
	"fmt"
	"slices"
	"testing"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// obstacles are those of a problem.
func obstacles(t testing.TB, where string, p *schedule.Problem) []schedule.Obstacle {
	t.Helper()
	out, err := schedule.Obstacles(p)
	if err != nil {
		t.Fatalf("%s: %v", where, err)
	}
	return out
}

// TestNothingIsInTheWayOfWhatWasJustPlanned publishes plans of invented workshops: none
// of their batches has an obstacle, but for what the plan itself says it has to put up with.
func TestNothingIsInTheWayOfWhatWasJustPlanned(t *testing.T) {
	t.Parallel()
	for seed := range uint64(12) {
		d := newDice(seed)
		p := d.workshop()
		for round := range 3 {
			where := fmt.Sprintf("seed %d round %d", seed, round)
			plan := solved(t, where, p)
			p = publish(p, plan)
			for _, o := range obstacles(t, where, p) {
				if !slices.ContainsFunc(plan.Problems, func(r schedule.Reason) bool { return r.Batch == o.BatchID }) {
					t.Errorf("%s: %+v", where, o)
				}
			}
			p = d.advance(p)
		}
	}
}

// TestObstacleOfClosedDays closes the days of the first pour: the
// batch is in the way, whatever else the planner then moves.
func TestObstacleOfClosedDays(t *testing.T) {
	t.Parallel()
	found := 0
	for seed := range uint64(24) {
		d := newDice(seed)
		p := d.workshop()
		where := fmt.Sprintf("seed %d", seed)
		p = publish(p, solved(t, where, p))
		i := slices.IndexFunc(p.Batches, func(b schedule.Batch) bool { return b.State == schedule.Planned && !b.Pinned })
		if i < 0 {
			continue
		}
		found++
		b := p.Batches[i]
		day := civil.Of(b.Make.From.In(p.Zone))
		p.Closed = append(p.Closed, civil.Range{From: day, To: day})
		if !slices.ContainsFunc(obstacles(t, where, p), func(o schedule.Obstacle) bool { return o.BatchID == b.ID && o.Kind == schedule.HoldHours }) {
			t.Errorf("%s: nothing is in the way of %s, which is poured on a closed day", where, b.ID)
		}
	}
	if found < 20 {
		t.Errorf("only %d workshops had a pour planned", found)
	}
}
