package schedule_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"ripeline/schedule"
)

// daysExample reads an example of the day-grained format.
func daysExample(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "schedule", "days", name))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// solvedDays plans a day-grained problem, twice, once on one processor, and
// checks the plan.
func solvedDays(t *testing.T, text []byte) *schedule.DaysPlan {
	t.Helper()
	p, err := schedule.ReadDays(text)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := schedule.SolveDays(context.Background(), p, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, finding := range checkDays(text, plan) {
		t.Error(finding)
	}
	before := runtime.GOMAXPROCS(1)
	again, err := schedule.SolveDays(context.Background(), p, 0)
	runtime.GOMAXPROCS(before)
	if err != nil || !reflect.DeepEqual(plan, again) {
		t.Errorf("a second run gives another plan (%v)", err)
	}
	return plan
}

// dayOptima are the proved values of the outside instances.
func dayOptima(t testing.TB) (folder string, optima map[string]schedule.DaysPlan) {
	t.Helper()
	data := os.Getenv("RIPELINE_DATA")
	if data == "" {
		data = filepath.Join("..", "..", "shared", "data")
	}
	folder = filepath.Join(data, "or", "workshop")
	text, err := os.ReadFile(filepath.Join(folder, "optima.json"))
	if errors.Is(err, os.ErrNotExist) {
		t.Skipf("no instances in %s: set RIPELINE_DATA", folder)
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &optima); err != nil {
		t.Fatal(err)
	}
	return folder, optima
}

// TestWorkshopDays holds the plans of the outside instances against the values
// that two independent models proved.
func TestWorkshopDays(t *testing.T) {
	folder, optima := dayOptima(t)
	proved := 0
	for _, name := range slices.Sorted(maps.Keys(optima)) {
		want := optima[name]
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile(filepath.Join(folder, name+".json"))
			if err != nil {
				t.Fatal(err)
			}
			plan := solvedDays(t, text)
			if plan.WeightedLate != want.WeightedLate || plan.Tardiness != want.Tardiness || plan.Changes != want.Changes {
				t.Errorf("%d, %d, %d instead of %d, %d, %d", plan.WeightedLate, plan.Tardiness, plan.Changes, want.WeightedLate, want.Tardiness, want.Changes)
			}
			if plan.Proved {
				proved++
			}
		})
	}
	if 4*proved < 3*len(optima) {
		t.Errorf("%d of %d are proved", proved, len(optima))
	}
}

// BenchmarkWorkshopDays plans all outside instances once a round, and reports how
// many reach the proved optimum, how many are said to be proved, and the slowest.
func BenchmarkWorkshopDays(b *testing.B) {
	folder, optima := dayOptima(b)
	var problems []*schedule.DaysProblem
	names := slices.Sorted(maps.Keys(optima))
	for _, name := range names {
		text, err := os.ReadFile(filepath.Join(folder, name+".json"))
		if err != nil {
			b.Fatal(err)
		}
		p, err := schedule.ReadDays(text)
		if err != nil {
			b.Fatal(err)
		}
		problems = append(problems, p)
	}
	b.ReportAllocs()
	var reached, proved int
	var slowest time.Duration
	for b.Loop() {
		reached, proved = 0, 0
		for i, p := range problems {
			at := time.Now()
			plan, err := schedule.SolveDays(context.Background(), p, 0)
			if err != nil {
				b.Fatal(err)
			}
			slowest = max(slowest, time.Since(at))
			if want := optima[names[i]]; plan.WeightedLate == want.WeightedLate && plan.Tardiness == want.Tardiness && plan.Changes == want.Changes {
				reached++
			}
			if plan.Proved {
				proved++
			}
		}
	}
	b.ReportMetric(float64(len(problems)), "instances")
	b.ReportMetric(float64(reached), "optimal")
	b.ReportMetric(float64(proved), "proved")
	b.ReportMetric(float64(slowest.Microseconds())/1000, "slowest-ms")
}

// TestDaysExamples plans the examples, whose values can be found by hand.
func TestDaysExamples(t *testing.T) {
	for name, want := range map[string]schedule.DaysPlan{
		"one-mold.json":  {WeightedLate: 1, Tardiness: 4},
		"replanned.json": {Changes: 1},
	} {
		t.Run(name, func(t *testing.T) {
			plan := solvedDays(t, daysExample(t, name))
			if plan.WeightedLate != want.WeightedLate || plan.Tardiness != want.Tardiness || plan.Changes != want.Changes || !plan.Proved {
				t.Errorf("got %+v", plan)
			}
		})
	}
}

// edited replaces one piece of an example.
func edited(t *testing.T, name, old, changed string) []byte {
	t.Helper()
	text := daysExample(t, name)
	if !bytes.Contains(text, []byte(old)) {
		t.Fatalf("%s holds no %q", name, old)
	}
	return bytes.Replace(text, []byte(old), []byte(changed), 1)
}

// TestDaysWithoutAPlan wants the reason named: the batch, the fact, the resource.
func TestDaysWithoutAPlan(t *testing.T) {
	for name, c := range map[string]struct {
		text  []byte
		words []string
	}{
		"cut missed":           {daysExample(t, "cut-missed.json"), []string{"sea", "made on day 1", "from day 6"}},
		"rack too small":       {daysExample(t, "rack-too-small.json"), []string{"sea, oat, rose", "rack"}},
		"cut too early":        {edited(t, "replanned.json", `"fix_cut": 2`, `"fix_cut": 1`), []string{"oat", "made on day 1 and cut on day 1"}},
		"wrapped too early":    {edited(t, "replanned.json", `"fix_wrap": null`, `"fix_wrap": 9`), []string{"oat", "cut on day 2 and wrapped on day 9"}},
		"a kind it can not be": {edited(t, "replanned.json", `"moulds": [0]`, `"moulds": []`), []string{"oat", "kind"}},
		"mold out":             {edited(t, "replanned.json", `"from": 3`, `"from": 0`), []string{"oat", "mold time"}},
		"no minutes":           {edited(t, "one-mold.json", `"make_minutes": 60`, `"make_minutes": 91`), []string{"sea", "hands-on time"}},
		"no open day":          {edited(t, "one-mold.json", `"release": 0`, `"release": 39`), []string{"sea", "can not be made", "from day 39"}},
		"past the horizon":     {edited(t, "one-mold.json", `"release": 0`, `"release": 20`), []string{"sea", "horizon"}},
		"two facts, one day":   {edited(t, "replanned.json", `"base_make": 3`, `"fix_make": 1, "fix_cut": 2, "fix_kind": 0, "base_make": 3`), []string{"oat, sea", "hands-on time"}},
	} {
		t.Run(name, func(t *testing.T) {
			p, err := schedule.ReadDays(c.text)
			if err != nil {
				t.Fatal(err)
			}
			plan, err := schedule.SolveDays(context.Background(), p, 0)
			var none *schedule.InfeasibleError
			if !errors.As(err, &none) {
				t.Fatalf("got %+v, %v", plan, err)
			}
			for _, word := range c.words {
				if !strings.Contains(none.Reason, word) {
					t.Errorf("the reason names no %q: %s", word, none.Reason)
				}
			}
		})
	}
}

// TestReadDaysRefuses wants the field named, and nothing planned.
func TestReadDaysRefuses(t *testing.T) {
	for field, text := range map[string][]byte{
		"horizon":               edited(t, "one-mold.json", `"horizon": 40`, `"horizon": 0`),
		"rack_capacity":         edited(t, "one-mold.json", `"rack_capacity"`, `"rack"`),
		"make_open":             edited(t, "one-mold.json", `"make_open": "0`, `"make_open": "00`),
		"cut_open":              edited(t, "one-mold.json", `"cut_open": "0`, `"cut_open": "x`),
		"maker_minutes":         edited(t, "one-mold.json", `"maker_minutes": [90`, `"maker_minutes": [90, 90`),
		"moulds":                edited(t, "one-mold.json", `[{"kind": "loaf", "bars": 24, "count": 1}]`, `[]`),
		"moulds[0].count":       edited(t, "one-mold.json", `"count": 1`, `"count": -1`),
		"moulds[0].size":        edited(t, "one-mold.json", `"count": 1`, `"size": 1`),
		"mould_out[0].kind":     edited(t, "replanned.json", `"mould_out": [{"kind": 0`, `"mould_out": [{"kind": 1`),
		"batches[0].bars":       edited(t, "one-mold.json", `"bars": 24, "release"`, `"bars": "x", "release"`),
		"batches[1].id":         edited(t, "one-mold.json", `"id": "oat"`, `"id": "sea"`),
		"batches[0].cut_max":    edited(t, "one-mold.json", `"cut_max": 2`, `"cut_max": 0`),
		"batches[0].weight":     edited(t, "one-mold.json", `"weight": 1`, `"weight": null`),
		"batches[0].fix_mak":    edited(t, "replanned.json", `"fix_make"`, `"fix_mak"`),
		"batches[0].fix_kind":   edited(t, "replanned.json", `"fix_kind": 0`, `"fix_kind": 1`),
		"batches[0].moulds[0]":  edited(t, "one-mold.json", `"moulds": [0]`, `"moulds": [1]`),
		"batches[0].fix_wrap":   edited(t, "replanned.json", `"fix_wrap": null`, `"fix_wrap": 40`),
		"batches[0].cure":       edited(t, "one-mold.json", `"cure": 28`, `"cure": "28"`),
		"the problem ends":      []byte(`{"horizon": 3`),
		"the problem is not JS": []byte(`{"horizon": 3]`),
	} {
		_, err := schedule.ReadDays(text)
		if err == nil || !strings.Contains(err.Error(), field) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// TestFormatOf tells the two formats apart, with and without the field.
func TestFormatOf(t *testing.T) {
	for text, want := range map[string]string{
		string(daysExample(t, "one-mold.json")):          schedule.DaysFormat,
		`{"name": "w", "horizon": 9}`:                    schedule.DaysFormat,
		`{"format": "ripeline-problem/1", "horizon": 9}`: schedule.ProblemFormat,
		`{"now": "2026-03-02T09:00:00Z"}`:                schedule.ProblemFormat,
		`{`:                                              schedule.ProblemFormat,
	} {
		if got := schedule.FormatOf([]byte(text)); got != want {
			t.Errorf("%.40s is %q, not %q", text, got, want)
		}
	}
}

// TestWriteDaysPlan holds the answer's fields still: others read them.
func TestWriteDaysPlan(t *testing.T) {
	var out bytes.Buffer
	plan := &schedule.DaysPlan{WeightedLate: 1, Tardiness: 2, Changes: 3, Bound: schedule.DaysBound{WeightedLate: 1}, Proved: true, Schedule: map[string]schedule.DaysPlace{"B01": {Make: 4, Cut: 5, Wrap: 33, Kind: 1}}}
	if err := schedule.WriteDaysPlan(&out, plan); err != nil {
		t.Fatal(err)
	}
	want := `{"weighted_late":1,"tardiness":2,"changes":3,"bound":{"weighted_late":1},"proved":true,"schedule":{"B01":{"make":4,"cut":5,"wrap":33,"kind":1}}}`
	if got := strings.Join(strings.Fields(out.String()), ""); got != want {
		t.Errorf("got %s", got)
	}
}
