package schedule_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"ripeline/schedule"
)

func activitiesExample(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "schedule", "activities", "two-hands.json"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestActivities(t *testing.T) {
	t.Parallel()
	text := activitiesExample(t)
	if format := schedule.FormatOf(text); format != schedule.ActivitiesFormat {
		t.Fatalf("the format is %q", format)
	}
	p, err := schedule.ReadActivities(text)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := schedule.SolveActivities(context.Background(), p, 0)
	if err != nil {
		t.Fatal(err)
	}
	// The stove is hot for 3 and for 2, and only then there is pouring for 2.
	if plan.Value != 7 || plan.Bound != 7 || !plan.Proved || plan.Starts[3] != 5 {
		t.Errorf("the plan is %+v", plan)
	}
	again, err := schedule.SolveActivities(context.Background(), p, 0)
	if err != nil || !reflect.DeepEqual(plan, again) {
		t.Errorf("a second run gives %+v (%v)", again, err)
	}
}

func TestActivitiesThatMakeNoSense(t *testing.T) {
	t.Parallel()
	for field, text := range map[string]string{
		"y":                        `{"y": 1}`,
		"budget":                   `{"budget": -1}`,
		"resources[0].capacity":    `{"resources": [{"name": "hands"}]}`,
		"activities[0].duration":   `{"activities": [{}]}`,
		"activities[1].duration":   `{"activities": [{"duration": 1}, {"duration": -1}]}`,
		"activities[0].demands":    `{"activities": [{"duration": 1, "demands": [1]}]}`,
		"activities[0].demands[0]": `{"resources": [{"capacity": 1}], "activities": [{"duration": 1, "demands": [-1]}]}`,
		"activities[0].weight":     `{"activities": [{"duration": 1, "weight": -1}]}`,
		"activities[0].due":        `{"activities": [{"duration": 1, "due": 1000000000000}]}`,
		"activities[0].colour":     `{"activities": [{"duration": 1, "colour": "red"}]}`,
		"activities[0].name":       `{"activities": [{"name": 1}]}`,
		"lags[0].to":               `{"activities": [{"duration": 1}], "lags": [{"from": 0, "to": 1}]}`,
		"lags[0].from":             `{"activities": [{"duration": 1}], "lags": [{"to": 0}]}`,
		"lags[0].min":              `{"activities": [{"duration": 1}], "lags": [{"from": 0, "to": 0, "min": 1000000}]}`,
	} {
		_, err := schedule.ReadActivities([]byte(text))
		var at *schedule.FieldError
		if !errors.As(err, &at) || at.Field != field {
			t.Errorf("%s: %v, want an error at %s", text, err, field)
		}
	}
	many := `{"activities": [` + strings.Repeat("{},", 1000) + `{}]}`
	if _, err := schedule.ReadActivities([]byte(many)); err == nil || !strings.Contains(err.Error(), "activities") {
		t.Errorf("too many activities: %v", err)
	}
}

func TestActivitiesWithoutSchedule(t *testing.T) {
	t.Parallel()
	for _, text := range []string{
		`{"resources": [{"capacity": 1}], "activities": [{"duration": 1, "demands": [2]}]}`,
		`{"activities": [{"duration": 1}, {"duration": 1}], "lags": [{"from": 0, "to": 1, "min": 1}, {"from": 1, "to": 0, "min": 1}]}`,
	} {
		p, err := schedule.ReadActivities([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		var none *schedule.InfeasibleError
		if _, err := schedule.SolveActivities(context.Background(), p, 0); !errors.As(err, &none) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func FuzzReadActivities(f *testing.F) {
	f.Add(activitiesExample(f))
	f.Add([]byte(`{"tardiness": true, "resources": [{"capacity": 1}], "activities": [{"duration": 2, "demands": [1], "weight": 1}]}`))
	f.Add([]byte(`{"activities": [null], "lags": [null]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := schedule.ReadActivities(text)
		if err != nil || len(text) > 2000 {
			return
		}
		plan, err := schedule.SolveActivities(context.Background(), p, 20)
		if err == nil && plan.Bound > plan.Value {
			t.Errorf("bound %d above value %d", plan.Bound, plan.Value)
		}
	})
}
