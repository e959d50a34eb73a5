package schedule_test

import (
	"context"
	"fmt"
	"reflect"
	"runtime"
	"testing"

	"ripeline/schedule"
	"ripeline/schedule/plancheck"
)

// solved plans a problem twice, once on one processor, checks the plan by the
// independent checker, and returns it.
func solved(t *testing.T, name string, p *schedule.Problem) *schedule.Plan {
	t.Helper()
	plan, err := schedule.Solve(context.Background(), p)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for _, finding := range plancheck.Check(p, plan) {
		t.Errorf("%s: %s", name, finding)
	}
	if plan.Objective.Late < plan.Bound.Late || plan.Objective.Tardiness < plan.Bound.Tardiness {
		t.Errorf("%s: objective %+v is better than its bound %+v", name, plan.Objective, plan.Bound)
	}
	before := runtime.GOMAXPROCS(1)
	again, err := schedule.Solve(context.Background(), p)
	runtime.GOMAXPROCS(before)
	if err != nil || !reflect.DeepEqual(plan, again) {
		t.Errorf("%s: a second run gives another plan (%v)", name, err)
	}
	return plan
}

// TestRandomWorkshops lives through a few weeks in each of many workshops: plan,
// publish, let time pass, upset something, and plan again.
func TestRandomWorkshops(t *testing.T) {
	for seed := range uint64(200) {
		d := newDice(seed)
		p := d.workshop()
		for round := range 4 {
			name := fmt.Sprintf("workshop %d, round %d", seed, round)
			plan := solved(t, name, p)
			p = d.advance(publish(p, plan))
			d.upset(p)
		}
	}
}

// TestPublishedStays: a plan in which all is in time, once published, is planned
// again as it is.
func TestPublishedStays(t *testing.T) {
	kept := 0
	for seed := range uint64(120) {
		d := newDice(seed)
		p := d.workshop()
		plan := solved(t, fmt.Sprintf("workshop %d", seed), p)
		if plan.Objective.Late > 0 || plan.Objective.Changes > 0 {
			continue
		}
		kept++
		p = publish(p, plan)
		diff := schedule.DiffPublished(p, solved(t, fmt.Sprintf("workshop %d again", seed), p))
		if len(diff.Moves)+len(diff.Added)+len(diff.Dropped)+len(diff.Late) > 0 {
			t.Errorf("workshop %d: once published, the plan changes by %+v", seed, diff)
		}
	}
	if kept < 20 {
		t.Errorf("only %d workshops have all in time", kept)
	}
}
