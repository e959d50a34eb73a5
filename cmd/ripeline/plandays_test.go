package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ripeline/schedule"
)

// TestPlanInDays plans a workshop given in days: told by its field, by a flag,
// or by its horizon.
func TestPlanInDays(t *testing.T) {
	t.Parallel()
	file, err := filepath.Abs(filepath.Join("..", "..", "testdata", "schedule", "days", "one-mold.json"))
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	text := mustRun(t, "", "plan", file)
	var plan schedule.DaysPlan
	if err := json.Unmarshal([]byte(text), &plan); err != nil {
		t.Fatal(err)
	}
	if plan.WeightedLate != 1 || plan.Tardiness != 4 || !plan.Proved || len(plan.Schedule) != 3 {
		t.Errorf("the plan is %s", text)
	}
	bare := strings.Replace(string(raw), `"format": "workshop-days",`, "", 1)
	if again := mustRun(t, bare, "plan", "-"); again != text {
		t.Error("without the field the plan is another")
	}
	if again := mustRun(t, bare, "plan", "--format", "workshop-days", "-"); again != text {
		t.Error("told by the flag the plan is another")
	}
	got := command(t, string(raw), "plan", "--format", "ripeline-problem/1", "-")
	if got.code != 1 || got.out != "" {
		t.Errorf("read in the other format: %+v", got)
	}
}

func TestPlanInDaysThatCanNotBe(t *testing.T) {
	t.Parallel()
	file, err := filepath.Abs(filepath.Join("..", "..", "testdata", "schedule", "days", "cut-missed.json"))
	if err != nil {
		t.Fatal(err)
	}
	got := command(t, "", "plan", file)
	if got.code != exitInfeasible || got.out != "" || !strings.Contains(got.err, "sea was made on day 1") {
		t.Errorf("a cut that was missed: %+v", got)
	}
	got = command(t, `{"horizon": 0}`, "plan", "-")
	if got.code != 1 || got.out != "" || !strings.Contains(got.err, "horizon") {
		t.Errorf("no horizon: %+v", got)
	}
}
