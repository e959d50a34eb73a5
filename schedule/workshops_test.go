package schedule_test

import (
	"context"
	"fmt"
	"reflect"
	"runtime"
	"slices"
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

// TestNewKeys: a plan's own keys may come back as the ids of the book, and what
// is new beside them is called otherwise.
func TestNewKeys(t *testing.T) {
	p := eveningShop()
	p.Orders = []schedule.Order{asking(p, 20, 90)}
	p.Orders[0].Accepted = true
	first := solved(t, "an empty book", p).Batches[0]
	p.Batches = []schedule.Batch{{
		ID: first.Key, DesignID: "oat", State: first.State, Molds: first.Molds, Pieces: first.Pieces, Sound: first.Sound,
		Make: first.Make, Cut: first.Cut, Wrap: first.Wrap,
	}}
	p.Stock = []schedule.Stock{{ID: "new-2", DesignID: "oat", Pieces: 1}}
	more := asking(p, 40, 95)
	more.ID, more.Accepted, more.Lines[0].ID = "r", true, "r1"
	p.Orders = append(p.Orders, more)
	var keys []string
	for _, b := range solved(t, "a book with its own plan's keys", p).Batches {
		keys = append(keys, b.Key)
	}
	slices.Sort(keys)
	if !slices.Equal(keys, []string{"new-1", "new-3"}) {
		t.Errorf("the batches are called %v", keys)
	}
}
