package schedule_test

import (
	"context"
	"testing"

	"ripeline/schedule"
	"ripeline/schedule/plancheck"
)

// FuzzWorkshop plans, publishes, lets time pass and upsets random workshops, and
// checks every plan, promise and proposal.
func FuzzWorkshop(f *testing.F) {
	for seed := range uint64(8) {
		f.Add(seed, byte(seed))
	}
	f.Fuzz(func(t *testing.T, seed uint64, rounds byte) {
		d := newDice(seed)
		p := d.workshop()
		for range rounds%4 + 1 {
			plan, err := schedule.Solve(context.Background(), p)
			if err != nil {
				t.Fatal(err)
			}
			for _, finding := range plancheck.Check(p, plan) {
				t.Error(finding)
			}
			p = d.advance(publish(p, plan))
			d.upset(p)
		}
		promised(t, p, d.order(p, "q"))
		reshuffled(t, p)
	})
}
