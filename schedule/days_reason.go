package schedule

import (
	"fmt"
	"strings"

	"ripeline/schedule/solve/chain"
)

// daysSteps says what each step does to a batch.
var daysSteps = [chain.Steps]string{"made", "cut", "wrapped"}

// daysShared names what batches share.
var daysShared = map[chain.Shared]string{chain.Units: "too little mold time", chain.Store: "too little room on the rack", chain.Effort: "too little hands-on time"}

// reason says in words why a problem has no plan.
func (p *DaysProblem) reason(e *chain.InfeasibleError) string {
	var short []string
	for _, share := range e.Lacking {
		short = append(short, daysShared[share])
	}
	if len(e.Chains) == 1 {
		c := &p.core.Chains[e.Chains[0]]
		if len(short) > 0 {
			return fmt.Sprintf("%s can not be done even by itself: there is, for it, %s", c.Name, strings.Join(short, " and "))
		}
		return c.Name + " " + p.alone(c)
	}
	var names []string
	for _, i := range e.Chains {
		names = append(names, p.ids[i])
	}
	why := "their days and facts leave no way"
	if len(short) > 0 {
		why = "there is " + strings.Join(short, " and ") + " within the horizon and the facts"
	}
	return fmt.Sprintf("%s can not all be done: %s", strings.Join(names, ", "), why)
}

// alone says why a batch can not be done although it shares nothing.
func (p *DaysProblem) alone(c *chain.Chain) string {
	if !usesKind(c) {
		return "has no kind of mold: its fixed kind is not one of those it may use, or it lists none"
	}
	if why := factsClash(c); why != "" {
		return why
	}
	for step := range chain.Steps {
		if c.Fixed.At[step] == chain.None && !p.opens(c, step) {
			return fmt.Sprintf("can not be %s: no day from day %d on is open to it", daysSteps[step], p.firstDay(c, step))
		}
	}
	for step := range chain.Steps {
		if day := c.Fixed.At[step]; day != chain.None {
			return fmt.Sprintf("was %s on day %d, and no open days from day %d on fit its lags (cut %d to %d days after the pour, wrap at least %d days after the cut)",
				daysSteps[step], day, p.core.Today, c.LagMin, c.LagMax, c.Rest)
		}
	}
	return fmt.Sprintf("finds no open days from day %d to the horizon at day %d for its lags (cut %d to %d days after the pour, wrap at least %d days after the cut)",
		p.firstDay(c, chain.Start), p.core.Days, c.LagMin, c.LagMax, c.Rest)
}

func usesKind(c *chain.Chain) bool {
	for _, k := range c.Kinds {
		if c.Fixed.Kind == chain.None || c.Fixed.Kind == k {
			return true
		}
	}
	return false
}

// factsClash says which two facts of a batch contradict its lags.
func factsClash(c *chain.Chain) string {
	at := c.Fixed.At
	if at[chain.Start] != chain.None && at[chain.Shift] != chain.None {
		if lag := at[chain.Shift] - at[chain.Start]; lag < c.LagMin || lag > c.LagMax {
			return fmt.Sprintf("is said to be made on day %d and cut on day %d, but is cut %d to %d days after the pour", at[chain.Start], at[chain.Shift], c.LagMin, c.LagMax)
		}
	}
	if at[chain.Shift] != chain.None && at[chain.End] != chain.None && at[chain.End]-at[chain.Shift] < c.Rest {
		return fmt.Sprintf("is said to be cut on day %d and wrapped on day %d, but cures %d days", at[chain.Shift], at[chain.End], c.Rest)
	}
	return ""
}

func (p *DaysProblem) firstDay(c *chain.Chain, step int) int {
	if step == chain.Start {
		return max(p.core.Today, c.Release)
	}
	return p.core.Today
}

func (p *DaysProblem) opens(c *chain.Chain, step int) bool {
	for d := max(p.firstDay(c, step), 0); d < p.core.Days; d++ {
		if p.core.Open[step][d] {
			return true
		}
	}
	return false
}
