package schedule_test

import (
	"encoding/json"
	"fmt"

	"ripeline/schedule"
)

// dayFile is a day-grained problem as the checker reads it, by itself.
type dayFile struct {
	Horizon, Today int
	Make           string `json:"make_open"`
	Cut            string `json:"cut_open"`
	Wrap           string `json:"wrap_open"`
	Minutes        []int  `json:"maker_minutes"`
	Moulds         []struct{ Count int }
	Out            []struct{ Kind, From, To, Units int } `json:"mould_out"`
	Rack           int                                   `json:"rack_capacity"`
	Batches        []map[string]any
}

// checkDays holds a plan of a day-grained problem against the problem's text,
// and returns what it finds.
func checkDays(text []byte, plan *schedule.DaysPlan) []string {
	var f dayFile
	if err := json.Unmarshal(text, &f); err != nil {
		return []string{err.Error()}
	}
	c := &dayChecker{file: f, minutes: make([]int, f.Horizon), rack: make([]int, f.Horizon), molds: map[[2]int]int{}}
	if len(plan.Schedule) != len(f.Batches) {
		c.say("%d batches are planned of %d", len(plan.Schedule), len(f.Batches))
	}
	for _, b := range f.Batches {
		at, ok := plan.Schedule[b["id"].(string)]
		if !ok {
			c.say("%v is not planned", b["id"])
			continue
		}
		c.batch(b, at)
	}
	c.shared()
	if c.late != plan.WeightedLate || c.tardy != plan.Tardiness || c.changes != plan.Changes {
		c.say("it says %d, %d, %d and is %d, %d, %d", plan.WeightedLate, plan.Tardiness, plan.Changes, c.late, c.tardy, c.changes)
	}
	if plan.Bound.WeightedLate > plan.WeightedLate {
		c.say("its bound %d is above its value %d", plan.Bound.WeightedLate, plan.WeightedLate)
	}
	return c.findings
}

type dayChecker struct {
	file                 dayFile
	minutes, rack        []int
	molds                map[[2]int]int // by kind and day
	late, tardy, changes int
	findings             []string
}

func (c *dayChecker) say(format string, args ...any) {
	c.findings = append(c.findings, fmt.Sprintf(format, args...))
}

// number reads a whole number of a batch; null and absent are none.
func number(b map[string]any, field string) (int, bool) {
	v, ok := b[field].(float64)
	return int(v), ok
}

func (c *dayChecker) batch(b map[string]any, at schedule.DaysPlace) {
	id := b["id"]
	get := func(field string) int { n, _ := number(b, field); return n }
	changed := false
	for _, step := range []struct {
		name, open string
		day        int
	}{{"make", c.file.Make, at.Make}, {"cut", c.file.Cut, at.Cut}, {"wrap", c.file.Wrap, at.Wrap}} {
		if step.day < 0 || step.day >= c.file.Horizon {
			c.say("%v: %s on day %d", id, step.name, step.day)
			return
		}
		fixed, isFixed := number(b, "fix_"+step.name)
		if isFixed && fixed != step.day {
			c.say("%v: %s happened on day %d, not %d", id, step.name, fixed, step.day)
		}
		if !isFixed && (step.open[step.day] != '1' || step.day < c.file.Today || step.name == "make" && step.day < get("release")) {
			c.say("%v: %s can not be on day %d", id, step.name, step.day)
		}
		base, published := number(b, "base_"+step.name)
		changed = changed || published && base != step.day
		c.minutes[step.day] += get(step.name + "_minutes")
	}
	if lag := at.Cut - at.Make; lag < get("cut_min") || lag > get("cut_max") || at.Wrap-at.Cut < get("cure") {
		c.say("%v: cut after %d days, wrapped after %d", id, lag, at.Wrap-at.Cut)
	}
	c.kind(b, at.Kind)
	base, published := number(b, "base_kind")
	if changed || published && base != at.Kind {
		c.changes++
	}
	for d := at.Make; d < at.Cut; d++ {
		c.molds[[2]int{at.Kind, d}]++
	}
	for d := at.Cut; d < at.Wrap; d++ {
		c.rack[d] += get("rack")
	}
	if at.Wrap > get("due") {
		c.late += get("weight")
		c.tardy += at.Wrap - get("due")
	}
}

func (c *dayChecker) kind(b map[string]any, kind int) {
	allowed := false
	for _, k := range b["moulds"].([]any) {
		allowed = allowed || int(k.(float64)) == kind
	}
	if fixed, isFixed := number(b, "fix_kind"); !allowed || isFixed && fixed != kind {
		c.say("%v: kind %d", b["id"], kind)
	}
}

// shared checks what the batches share, day by day.
func (c *dayChecker) shared() {
	for d := range c.file.Horizon {
		if c.minutes[d] > c.file.Minutes[d] || c.rack[d] > c.file.Rack {
			c.say("day %d: %d minutes, %d on the rack", d, c.minutes[d], c.rack[d])
		}
		for k, m := range c.file.Moulds {
			count := m.Count
			for _, o := range c.file.Out {
				if o.Kind == k && o.From <= d && d <= o.To {
					count -= o.Units
				}
			}
			if used := c.molds[[2]int{k, d}]; used > 0 && used > count {
				c.say("day %d: %d molds of kind %d of %d", d, used, k, count)
			}
		}
	}
}
