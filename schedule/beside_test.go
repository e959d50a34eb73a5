package schedule_test

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"

	"ripeline/schedule"
)

// TestBesideSaysWhatReadingSays: a plan into which an enquiry was put says what
// reading its schedule from scratch says. What bounds it is that of the plan without
// the enquiry, and proves it only where the enquiry adds nothing to what is late.
func TestBesideSaysWhatReadingSays(t *testing.T) {
	compared := 0
	for seed := range uint64(400) {
		d := newDice(seed)
		p := d.workshop()
		p.Budget = 1
		p = publish(p, solved(t, fmt.Sprint(seed), p))
		if d.chance(50) {
			p = d.advance(p)
		}
		enquiry := d.order(p, "o3b")
		merged, read, err := schedule.Beside(context.Background(), p, enquiry)
		if err != nil {
			t.Fatal(err)
		}
		if merged == nil {
			continue
		}
		compared++
		if late := merged.Objective.Late; merged.Proved && late > merged.Bound.Late {
			t.Errorf("seed %d: %d late is called proved, but the bound is %d", seed, late, merged.Bound.Late)
		}
		merged.Bound, merged.Proved = read.Bound, read.Proved
		if m, r := told(t, merged), told(t, read); m != r {
			t.Errorf("seed %d: put in:\n%s\nread:\n%s", seed, m, r)
		}
	}
	if compared < 50 {
		t.Errorf("only %d plans were compared", compared)
	}
}

// told is all that a plan says.
func told(t *testing.T, plan *schedule.Plan) string {
	t.Helper()
	text, err := json.MarshalIndent(plan, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
