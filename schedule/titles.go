package schedule

import (
	"fmt"
	"slices"

	"ripeline/schedule/civil"
)

// entitle gives a candidate a title that none before it has, with as much detail
// as that takes; false when nothing tells it apart.
func (c *candidate) entitle(taken map[string]bool) bool {
	late := c.consequences.lateWords()
	for _, detail := range append([]string{""}, c.consequences.details()...) {
		title := c.consequences.action() + detail + late
		if !taken[title] {
			taken[title] = true
			c.Title = title
			return true
		}
	}
	return false
}

// action says what is done.
func (c *consequences) action() string {
	text := "Leave the plan as it is"
	switch {
	case len(c.swaps) > 0:
		text = "Swap pieces with " + together(c.losers())
	case len(c.added) > 0:
		text = c.again()
		if c.other {
			text += " in " + c.molds()
		}
	case c.taken() > 0:
		text = fmt.Sprintf("Use %s", count(c.taken(), "free piece"))
	case len(c.diff.Moves) == 1:
		m := c.diff.Moves[0]
		called := c.problem.calledBatch(c.plan.byKey()[m.BatchKey])
		text = fmt.Sprintf("%s %s on %s", sentence(m.Step.verb()), called, on(civil.Of(m.To.From.In(c.problem.Zone))))
	case len(c.diff.Moves) > 0:
		text = c.moving()
	case len(c.diff.Dropped) > 0:
		text = "Leave out " + together(c.dropped())
	case len(c.short) > 0:
		return fmt.Sprintf("Wrap %s before the wished-for cure", count(c.mostCureLess(), "day"))
	}
	if len(c.short) > 0 {
		text += fmt.Sprintf(", cured %s less than wished", count(c.mostCureLess(), "day"))
	}
	return text
}

// moving names the steps of the one batch that moves, or counts those of many.
func (c *consequences) moving() string {
	first := c.diff.Moves[0]
	var parts []string
	for _, m := range c.diff.Moves {
		if m.BatchKey != first.BatchKey {
			return fmt.Sprintf("Move %s of planned work", count(len(c.diff.Moves), "step"))
		}
		parts = append(parts, "the "+map[Step]string{StepTrial: "trial", StepMake: "pour", StepCut: "cut", StepWrap: "wrapping"}[m.Step])
	}
	return fmt.Sprintf("Move %s of %s", together(parts), c.problem.calledBatch(c.plan.byKey()[first.BatchKey]))
}

// again says that pieces are made anew: again, where some were promised.
func (c *consequences) again() string {
	text := "Pour another batch"
	if n := len(c.added); n > 1 {
		text = fmt.Sprintf("Pour %d more batches", n)
	}
	if !c.promised {
		return text
	}
	text = "Pour it again"
	if n := len(c.added); n > 1 {
		text += fmt.Sprintf(" in %d batches", n)
	}
	return text
}

// dropped names the published batches that are not needed.
func (c *consequences) dropped() []string {
	var out []string
	for i := range c.problem.Batches {
		if b := &c.problem.Batches[i]; slices.Contains(c.diff.Dropped, b.ID) {
			l := lot{batch: b, design: c.problem.design(b.DesignID)}
			out = append(out, l.called())
		}
	}
	if more := len(out) - namedAtMost; more > 0 {
		out = append(out[:namedAtMost], fmt.Sprintf("%d more", more))
	}
	return out
}

// losers is who gives up pieces, each once.
func (c *consequences) losers() []string {
	var out []string
	for _, s := range c.swaps {
		if name := c.problem.name(s.from); !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

// molds names the molds that are poured anew.
func (c *consequences) molds() string {
	var out []string
	for _, b := range c.added {
		for _, use := range b.Molds {
			name := c.problem.Molds[c.problem.moldIndex(use.MoldID)].called()
			if !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	}
	return together(out)
}

func (c *consequences) mostCureLess() int {
	most := 0
	for _, b := range c.short {
		most = max(most, b.cureLess(c.problem.Zone))
	}
	return most
}

// namedAtMost is how many orders or batches a sentence names.
const namedAtMost = 2

// lateWords says for a title who waits how long.
func (c *consequences) lateWords() string {
	var out []string
	for _, o := range c.late {
		text := fmt.Sprintf("%s %s late", c.problem.name(o.OrderID), count(o.LateDays, "day"))
		if o.Short > 0 {
			text = fmt.Sprintf("%s lacks %s", c.problem.name(o.OrderID), count(o.Short, "piece"))
		}
		out = append(out, text)
	}
	if more := len(out) - namedAtMost; more > 0 {
		out = append(out[:namedAtMost], fmt.Sprintf("%d more", more))
	}
	if len(out) == 0 {
		return ""
	}
	return ": " + together(out)
}

// details is what may tell two proposals of one action apart, the plainest first.
func (c *consequences) details() []string {
	var out []string
	if n := len(c.diff.Moves); n > 0 {
		out = append(out, fmt.Sprintf(", moving %s of planned work", count(n, "step")))
	}
	if len(c.added) == 0 {
		return out
	}
	day := on(civil.Of(c.added[0].Make.From.In(c.problem.Zone)))
	return append(out,
		", in "+c.molds(),
		", poured on "+day,
		", in "+c.molds()+", poured on "+day)
}
