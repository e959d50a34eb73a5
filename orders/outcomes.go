package orders

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ripeline/schedule"
	"ripeline/schedule/civil"
)

func (r *round) replanProposal(d draft, diff schedule.Diff) schedule.Proposal {
	title := "Plan again"
	if slow := r.slow(d); len(slow) == 1 {
		title = fmt.Sprintf("Let %s cure until %s", slow[0].Lot, slow[0].CureUntil)
	} else if len(slow) > 1 {
		title = fmt.Sprintf("Let %s cure longer", count(len(slow), "batch"))
	}
	return schedule.Proposal{Kind: schedule.ProposeReplan, Title: title, Costs: r.costs(diff), Plan: d.plan, Diff: diff}
}

// costs says in sentences what a difference costs.
func (r *round) costs(diff schedule.Diff) []string {
	out := []string{}
	firm := 0
	for _, m := range diff.Moves {
		if m.Firm {
			firm++
		}
	}
	switch n := len(diff.Moves); {
	case n > 0 && firm > 0:
		out = append(out, fmt.Sprintf("Moves %s of work, %d within the days that were firm.", count(n, "step"), firm))
	case n > 0:
		out = append(out, fmt.Sprintf("Moves %s of work.", count(n, "step")))
	}
	if n := len(diff.Added); n > 0 {
		out = append(out, fmt.Sprintf("Adds %s.", count(n, "batch")))
	}
	if n := len(diff.Dropped); n > 0 {
		out = append(out, fmt.Sprintf("Drops %s.", count(n, "batch")))
	}
	for _, c := range diff.Late {
		if text := r.costOf(c); text != "" {
			out = append(out, text)
		}
	}
	return out
}

// costOf says what a plan costs one order, "" when nothing.
func (r *round) costOf(c schedule.OrderChange) string {
	o, _ := find(r.snap.Orders, c.OrderID, func(o Order) string { return o.ID })
	switch {
	case c.NewReady.IsZero():
		return o.called() + " can not be made in full."
	case c.Promised && c.NewReady.After(c.OldReady):
		late := ""
		if c.NewLate > 0 {
			late = fmt.Sprintf(", %s late,", count(c.NewLate, "day"))
		}
		day := func(d civil.Date) string { return civil.StartOfDay(d, time.UTC).Format("Mon 2 Jan 2006") }
		return fmt.Sprintf("%s is ready on %s%s instead of %s, which the customer was told; tell them.", o.called(), day(c.NewReady), late, day(c.OldReady))
	case c.NewLate > c.OldLate:
		return fmt.Sprintf("%s becomes %s late.", o.called(), count(c.NewLate, "day"))
	}
	return ""
}

// count writes n with its noun.
func count(n int, noun string) string {
	switch {
	case n == 1:
		return "1 " + noun
	case strings.HasSuffix(noun, "ch"):
		return fmt.Sprintf("%d %ses", n, noun)
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// sameOutcomes reports whether two plans mean the same for every order. What
// was ready before today and what is ready today are both on the shelf.
func (r *round) sameOutcomes(a, b []schedule.OrderOutcome) bool {
	today := civil.Of(r.now.In(r.problem.Zone))
	shelved := func(x schedule.OrderOutcome) bool { return !x.Ready.IsZero() && !x.Ready.After(today) }
	return slices.EqualFunc(a, b, func(x, y schedule.OrderOutcome) bool {
		return x.OrderID == y.OrderID && (x.Ready == y.Ready || shelved(x) && shelved(y)) && x.Deadline == y.Deadline &&
			x.LateDays == y.LateDays && x.Short == y.Short && x.CureLess == y.CureLess && x.RemakeBy.Equal(y.RemakeBy)
	})
}

// outcomes is what a plan means for each accepted order, by order id.
func (r *round) outcomes(plan *schedule.Plan) []schedule.OrderOutcome {
	return r.snap.accepted(plan.Orders)
}

// before is what the published plan meant for each order that is still
// accepted.
func (r *round) before() []schedule.OrderOutcome { return r.snap.accepted(r.last.Outcomes) }

// accepted is the outcomes of orders that are accepted now.
func (s *Snapshot) accepted(all []schedule.OrderOutcome) []schedule.OrderOutcome {
	out := make([]schedule.OrderOutcome, 0, len(all))
	for _, x := range all {
		if o, ok := find(s.Orders, x.OrderID, func(o Order) string { return o.ID }); ok && o.Status == Accepted {
			out = append(out, x)
		}
	}
	return out
}

// standing is what the published plan means for each accepted order, by order
// id, when no new plan is published although something happened: an order that
// lost pieces is short of them, and one whose batch was late is ready later. How
// safe it is then is as in the new plan, where that has it ready on the same day.
func (r *round) standing(plan *schedule.Plan) []schedule.OrderOutcome {
	out := []schedule.OrderOutcome{}
	for _, o := range r.snap.Orders {
		if o.Status != Accepted {
			continue
		}
		now := schedule.OrderOutcome{OrderID: o.ID, Deadline: o.deadline(), Short: r.snap.short(o)}
		was, known := find(r.last.Outcomes, o.ID, outcomeOrder)
		if now.Short == 0 {
			now.Ready = r.ready(o, was)
			now.LateDays = max(0, now.Ready.Sub(now.Deadline))
		}
		if known && now.Short == was.Short && now.Ready == was.Ready {
			now.RemakeBy, now.CureLess = was.RemakeBy, was.CureLess
		} else if next, ok := find(plan.Orders, o.ID, outcomeOrder); ok && now.Short == next.Short && now.Ready == next.Ready {
			now.RemakeBy, now.CureLess = next.RemakeBy, next.CureLess
		}
		out = append(out, now)
	}
	slices.SortFunc(out, func(a, b schedule.OrderOutcome) int { return strings.Compare(a.OrderID, b.OrderID) })
	return out
}

func outcomeOrder(x schedule.OrderOutcome) string { return x.OrderID }

// rated is the published objective with the lateness of these outcomes.
func (r *round) rated(outcomes []schedule.OrderOutcome) schedule.Objective {
	out := r.last.Objective
	out.Late, out.Tardiness = 0, 0
	for _, x := range outcomes {
		o, _ := find(r.snap.Orders, x.OrderID, func(o Order) string { return o.ID })
		if x.Missed() {
			out.Late += o.Weight
		}
		out.Tardiness += o.Weight * x.LateDays
	}
	return out
}

// short is how many pieces of an order are allocated from nowhere.
func (s *Snapshot) short(o Order) int {
	short := 0
	for _, l := range o.Lines {
		lacks := l.Total()
		for _, a := range s.Allocations {
			if a.LineID == l.ID {
				lacks -= a.Pieces
			}
		}
		short += max(0, lacks)
	}
	return short
}

// ready is the day the last batch that serves the order is wrapped; when all
// comes from the shelf, what was published, else today.
func (r *round) ready(o Order, was schedule.OrderOutcome) civil.Date {
	var ready civil.Date
	for _, a := range r.snap.Allocations {
		if b, ok := find(r.snap.Batches, a.BatchID, func(b Batch) string { return b.ID }); ok && a.OrderID == o.ID {
			if day := civil.Of(b.Wrap.To.In(r.problem.Zone)); day.After(ready) {
				ready = day
			}
		}
	}
	if !ready.IsZero() {
		return ready
	}
	if !was.Ready.IsZero() {
		return was.Ready
	}
	return civil.Of(r.now.In(r.problem.Zone))
}
