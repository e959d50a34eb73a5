package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"ripeline/schedule"
)

// TestPlanActivities schedules a general problem, and names what is wrong with
// another.
func TestPlanActivities(t *testing.T) {
	t.Parallel()
	file, err := filepath.Abs(filepath.Join("..", "..", "testdata", "schedule", "activities", "two-hands.json"))
	if err != nil {
		t.Fatal(err)
	}
	var plan schedule.ActivitiesPlan
	if err := json.Unmarshal([]byte(mustRun(t, "", "plan", file)), &plan); err != nil {
		t.Fatal(err)
	}
	if plan.Value != 7 || !plan.Proved || len(plan.Starts) != 4 {
		t.Errorf("the plan is %+v", plan)
	}
	got := command(t, `{"activities": [{"duration": -1}]}`, "plan", "--format", "activities", "-")
	if got.code != 1 || got.out != "" || !strings.Contains(got.err, "activities[0].duration") {
		t.Errorf("a negative duration: %+v", got)
	}
	got = command(t, `{"format": "activities", "resources": [{"capacity": 0}], "activities": [{"duration": 1, "demands": [1]}]}`, "plan", "-")
	if got.code != exitInfeasible || got.out != "" {
		t.Errorf("no capacity: %+v", got)
	}
}
