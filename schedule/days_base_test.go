package schedule_test

import (
	"context"
	"strings"
	"testing"

	"ripeline/schedule"
)

// TestDaysBaseThatCanNotBeKept: a published plan that its own batch could not
// follow any more, or that lies past the horizon, counts as changed.
func TestDaysBaseThatCanNotBeKept(t *testing.T) {
	for name, base := range map[string]string{
		"cut too late":     `"base_make": 5, "base_cut": 8, "base_wrap": 36, "base_kind": 0, `,
		"wrapped too soon": `"base_make": 5, "base_cut": 6, "base_wrap": 30, "base_kind": 0, `,
		"past the horizon": `"base_make": 1, "base_cut": 2, "base_wrap": 900000, "base_kind": 0, `,
	} {
		t.Run(name, func(t *testing.T) {
			plan := solvedDays(t, edited(t, "one-mold.json", `"release"`, base+`"release"`))
			if plan.WeightedLate != 1 || plan.Tardiness != 4 || plan.Changes != 1 || !plan.Proved {
				t.Errorf("got %+v", plan)
			}
		})
	}
}

// TestDaysMinutesLeftOut: a null is no number of minutes.
func TestDaysMinutesLeftOut(t *testing.T) {
	for name, minutes := range map[string]string{
		"null":              `null`,
		"null in the list":  `[90` + strings.Repeat(", 90", 38) + `, null]`,
		"a list of nothing": `[null]`,
		"left out":          ``,
	} {
		field := `"maker_minutes": ` + minutes
		if minutes == "" {
			field = `"minutes": 90`
		}
		_, err := schedule.ReadDays(withMinutes(t, field))
		if err == nil || !strings.Contains(err.Error(), "maker_minutes") {
			t.Errorf("%s: %v", name, err)
		}
	}
	p, err := schedule.ReadDays(withMinutes(t, `"maker_minutes": 90`))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := schedule.SolveDays(context.Background(), p, 0); err != nil {
		t.Error(err)
	}
}

// withMinutes replaces the whole list of minutes of an example.
func withMinutes(t *testing.T, field string) []byte {
	t.Helper()
	text := string(daysExample(t, "one-mold.json"))
	from := strings.Index(text, `"maker_minutes"`)
	to := from + strings.Index(text[from:], "]") + 1
	return []byte(text[:from] + field + text[to:])
}
