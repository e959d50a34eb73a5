package solve

import "cmp"

// Objective is compared field by field; smaller is better.
type Objective struct {
	Late, Tardiness, Changes, Unplaced, Short, Mode, Finish int
}

// Compare orders objectives lexicographically.
func (o Objective) Compare(p Objective) int {
	return cmp.Or(
		cmp.Compare(o.Late, p.Late),
		cmp.Compare(o.Tardiness, p.Tardiness),
		cmp.Compare(o.Changes, p.Changes),
		cmp.Compare(o.Unplaced, p.Unplaced),
		cmp.Compare(o.Short, p.Short),
		cmp.Compare(o.Mode, p.Mode),
		cmp.Compare(o.Finish, p.Finish),
	)
}

// rate computes the objective of a schedule.
func (p *Problem) rate(s *Schedule) Objective {
	var o Objective
	for i, pl := range s.Jobs {
		if pl == nil {
			o.Unplaced++
			continue
		}
		o.Short += pl.Short
		o.Mode += p.Jobs[i].Modes[pl.Mode].Cost
		o.Finish += pl.End() - p.Start
		o.Changes += p.Jobs[i].moves(pl)
	}
	for i := range p.Goals {
		late, broken := p.goal(s, i)
		if late > 0 {
			o.Late += p.Goals[i].Weight
			o.Tardiness += p.Goals[i].Weight * late
		}
		if broken {
			o.Changes += p.Goals[i].Breach
		}
	}
	return o
}

// moves sums what it costs that tasks left their base.
func (j *Job) moves(pl *Placement) int {
	if j.Base == nil || pl.Kept {
		return 0
	}
	sum := 0
	for t, start := range pl.Starts {
		if start != j.Base.Starts[t] || t == 0 && pl.Mode != j.Base.Mode {
			sum += j.Base.Moves[t]
		}
	}
	return sum
}

// goal gives the lateness of a goal in cells, and whether its promise is broken.
func (p *Problem) goal(s *Schedule, i int) (late int, broken bool) {
	g := &p.Goals[i]
	for _, j := range g.Jobs {
		pl := s.Jobs[j]
		if pl == nil {
			return Unplaced, g.Told != Never
		}
		end := pl.End()
		if end > g.Due {
			late = max(late, p.cell(end-1)-p.cell(g.Due-1))
		}
		broken = broken || end > g.Told
	}
	return late, broken
}
