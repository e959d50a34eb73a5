package chain

import "fmt"

// check holds a schedule against the problem, day by day, in the plainest way
// and with nothing of the solver's.
func check(p *Problem, places []Place) error {
	if len(places) != len(p.Chains) {
		return fmt.Errorf("%d places for %d chains", len(places), len(p.Chains))
	}
	for i := range p.Chains {
		if err := checkChain(p, &p.Chains[i], places[i]); err != nil {
			return fmt.Errorf("%s: %w", p.Chains[i].Name, err)
		}
	}
	for day := range p.Days {
		if err := checkDay(p, places, day); err != nil {
			return fmt.Errorf("day %d: %w", day, err)
		}
	}
	return nil
}

func checkChain(p *Problem, c *Chain, at Place) error {
	for step, day := range at.At {
		switch fixed := c.Fixed.At[step]; {
		case day < 0 || day >= p.Days:
			return fmt.Errorf("step %d on day %d", step, day)
		case fixed >= 0 && fixed != day:
			return fmt.Errorf("step %d moved from its fact", step)
		case fixed < 0 && (day < p.Today || !p.Open[step][day]):
			return fmt.Errorf("step %d on day %d, which is closed or over", step, day)
		case fixed < 0 && step == 0 && day < c.Release:
			return fmt.Errorf("starts before its release")
		}
	}
	if c.Fixed.Kind >= 0 && c.Fixed.Kind != at.Kind {
		return fmt.Errorf("kind moved from its fact")
	}
	known := false
	for _, k := range c.Kinds {
		known = known || k == at.Kind
	}
	if !known {
		return fmt.Errorf("kind %d will not do", at.Kind)
	}
	if lag := at.At[1] - at.At[0]; lag < c.LagMin || lag > c.LagMax {
		return fmt.Errorf("shifts %d days after its start", lag)
	}
	if rest := at.At[2] - at.At[1]; rest < c.Rest {
		return fmt.Errorf("rests %d days", rest)
	}
	return nil
}

func checkDay(p *Problem, places []Place, day int) error {
	units, stored, effort := make([]int, len(p.Kinds)), 0, 0
	for i, at := range places {
		if at.At[0] <= day && day < at.At[1] {
			units[at.Kind]++
		}
		if at.At[1] <= day && day < at.At[2] {
			stored += p.Chains[i].Load
		}
		for step, d := range at.At {
			if d == day {
				effort += p.Chains[i].Effort[step]
			}
		}
	}
	for k, n := range units {
		if n > p.Kinds[k].Units[day] {
			return fmt.Errorf("%d units of kind %d", n, k)
		}
	}
	if stored > p.Store {
		return fmt.Errorf("%d in store", stored)
	}
	if effort > p.Effort[day] {
		return fmt.Errorf("%d of effort", effort)
	}
	return nil
}

// worth values a schedule, apart from the solver's own reckoning.
func worth(p *Problem, places []Place) Value {
	var v Value
	for i, at := range places {
		c := &p.Chains[i]
		if at.At[2] > c.Due {
			v.Late += c.Weight
			v.Tardy += at.At[2] - c.Due
		}
		differs := c.Base.Kind >= 0 && c.Base.Kind != at.Kind
		for step, d := range at.At {
			differs = differs || c.Base.At[step] >= 0 && c.Base.At[step] != d
		}
		if differs {
			v.Changes++
		}
	}
	return v
}
