package orders

import (
	"fmt"

	"ripeline/schedule"
)

const (
	minutesADay  = 24 * 60
	minutesAWeek = 7 * minutesADay
)

// holds reports whether the window may hold the step.
func (w Window) holds(s schedule.Step) bool {
	for _, have := range w.Steps {
		if have == s {
			return true
		}
	}
	return len(w.Steps) == 0
}

// start is the window's first minute, counted from Sunday 00:00.
func (w Window) start() int { return int(w.Weekday)*minutesADay + int(w.From) }

func (w Window) minutes() int { return int(w.To - w.From) }

// canBeCut reports whether, in a usual week of these hours, some pour of the
// recipe has its cut window inside working time: a pour that ends within a
// make window and a cut that starts within a cut window, r.CutMin to r.CutMax
// later. Extra hours and closed days are not looked at. Clock changes shift a
// pair by an hour twice a year; the planner looks at the real days.
func (r Recipe) canBeCut(hours []Window) bool {
	for _, m := range hours {
		if !m.holds(schedule.StepMake) || m.minutes() < r.MakeFixed {
			continue
		}
		for _, c := range hours {
			if c.holds(schedule.StepCut) && c.minutes() >= r.CutFixed && r.reaches(m, c) {
				return true
			}
		}
	}
	return false
}

// reaches reports whether a cut in window c can follow a pour in window m.
func (r Recipe) reaches(m, c Window) bool {
	low, high := r.CutMin*60, r.CutMax*60
	first := c.start() - (m.start() + m.minutes())                           // shortest time between
	last := c.start() + c.minutes() - r.CutFixed - (m.start() + r.MakeFixed) // longest
	if r.CutInDays {
		low, high = r.CutMin*minutesADay, r.CutMax*minutesADay
		first = (int(c.Weekday) - int(m.Weekday)) * minutesADay
		last = first
	}
	for week := -minutesAWeek; first+week <= high; week += minutesAWeek {
		if last+week >= low && last+week >= 0 {
			return true
		}
	}
	return false
}

// cutWindowMessage says why no pour can ever be cut.
func (r Recipe) cutWindowMessage() string {
	unit := "hours"
	if r.CutInDays {
		unit = "days"
	}
	return fmt.Sprintf("no working hour lies %d to %d %s after any pour your weekly hours allow; widen the cut window or add hours for cutting", r.CutMin, r.CutMax, unit)
}
