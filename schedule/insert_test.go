package schedule_test

import (
	"fmt"
	"slices"
	"testing"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// TestAcceptedAsPromised accepts what is promised, in workshops that are published
// or not, and in which something was upset: the plan that follows has nobody
// later, by weight, and moves no more, than the one that was promised.
func TestAcceptedAsPromised(t *testing.T) {
	promises := 0
	for seed := range uint64(90) {
		d := newDice(560 + seed)
		p := d.workshop()
		if seed%3 > 0 {
			p = d.advance(publish(p, solved(t, "published", p)))
		}
		if seed%3 > 1 {
			d.upset(p)
		}
		p.Orders = p.Orders[:min(len(p.Orders), 7)]
		enquiry := d.order(p, "q")
		a := promised(t, p, enquiry)
		if a.Verdict != schedule.Yes {
			continue
		}
		promises++
		enquiry.Accepted, enquiry.Told = true, civil.Date{}
		p.Orders = append(slices.Clip(p.Orders), enquiry)
		felt := func(o schedule.Objective) []int { return []int{o.Late, o.Tardiness, o.Changes} }
		now := solved(t, fmt.Sprintf("workshop %d, accepted", seed), p)
		if was, is := felt(a.Plan.Objective), felt(now.Objective); slices.Compare(is, was) > 0 {
			t.Errorf("workshop %d: late, tardiness and changes are %v once accepted, and were promised as %v", seed, is, was)
		}
	}
	if promises < 30 {
		t.Errorf("only %d promises", promises)
	}
}
