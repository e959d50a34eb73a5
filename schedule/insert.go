package schedule

import "context"

// mostInserted is how many orders are tried to be inserted. A book that gives more
// of them too little was hardly planned before.
const mostInserted = 8

// inserted looks for a better plan by planning each order that the book gives less
// than it asks for the way a promise does, beside what stands without it. A search
// with the order among all others may miss what was promised that way, and make
// somebody late, or move what is published, when the order is accepted.
func (pl *planner) inserted(ctx context.Context, best *draft) (*draft, error) {
	lacking := pl.problem.lacking()
	if best.plan.Proved && best.plan.Objective.Changes == 0 || len(lacking) > mostInserted {
		return best, nil
	}
	for _, o := range pl.problem.Orders {
		if !lacking[o.ID] {
			continue
		}
		found, err := pl.inserting(ctx, o)
		if err != nil {
			return nil, err
		}
		if found != nil && found.plan.Objective.felt().Compare(best.plan.Objective.felt()) < 0 {
			found.complete(pl)
			pl.bounded(ctx, found.plan)
			best = found
		}
	}
	return best, nil
}

// inserting plans one order beside what stands without it; nil where that is no
// plain yes.
func (pl *planner) inserting(ctx context.Context, o Order) (*draft, error) {
	a, err := newAsk(ctx, pl.problem, o)
	if err != nil {
		return nil, err
	}
	d, err := a.plainly(ctx)
	if err != nil || d == nil {
		return nil, err
	}
	d.fill()
	d.plan.Objective = rate(pl.problem, d.plan, pl.ready)
	return d, nil
}

// felt is what of an objective others feel: who is late, and what moves.
func (o Objective) felt() Objective {
	return Objective{Late: o.Late, Tardiness: o.Tardiness, Changes: o.Changes}
}

// complete fills in what takes long to find, and is only wanted of a plan that is
// shown: the remake margins, and what holds each step.
func (d *draft) complete(pl *planner) {
	d.margins()
	d.explain()
	d.plan.Objective = rate(pl.problem, d.plan, pl.ready)
}
