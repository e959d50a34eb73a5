package schedule

import (
	"context"
	"fmt"
	"slices"

	"ripeline/schedule/civil"
)

// bound is a day before which no plan can have the enquiry ready without making
// an accepted order late, and the reasons that prove it.
func (a *ask) bound(ctx context.Context) (civil.Date, []Reason) {
	bound, proof := a.planner.tl.today, []Reason(nil)
	b := newBounder(a.planner, a.owed)
	need := map[string]int{}
	for i := range a.order.Lines {
		line := &a.order.Lines[i]
		d := a.planner.designs[line.DesignID]
		need[d.ID] += line.Pieces
		if day, used := b.bound(ctx, d, need[d.ID]); day.After(bound) {
			bound, proof = day, a.proof(d, need[d.ID], used)
		}
	}
	return bound, proof
}

// owed lists the pieces of a design that accepted orders, in time without the
// enquiry, need by their days.
func (a *ask) owed(d *Design) debts {
	var out debts
	for i := range a.planner.problem.Orders {
		o := &a.planner.problem.Orders[i]
		if o == a.order || !o.Accepted || a.before.outcome(o.ID).Missed() {
			continue
		}
		for _, l := range o.Lines {
			if l.DesignID == d.ID {
				out = append(out, supply{day: o.deadline(), pieces: l.Pieces})
			}
		}
	}
	slices.SortStableFunc(out, func(x, y supply) int { return x.day.Compare(y.day) })
	for i := range out[min(1, len(out)):] {
		out[i+1].pieces += out[i].pieces
	}
	return out
}

// proof tells a bound as a chain a person can check: the first filling that is
// too late, from the hours to the wrap. Where others are owed pieces as well, it is
// the first of those that all together have to wait for.
func (a *ask) proof(d *Design, need int, used []supply) []Reason {
	day := used[len(used)-1].day
	owed, late := a.owed(d).by(day.AddDays(-1)), a.order.deadline().AddDays(1)
	if owed > 0 {
		late = day
	}
	there, ripening, poured, pours, most := 0, supply{}, 0, 0, d.pourable(a.planner.tl.today)
	var shown supply
	for _, s := range used {
		switch before := s.day.Before(late); {
		case s.fill == nil && before:
			there += s.pieces
		case s.fill == nil && ripening.pieces == 0:
			ripening = s
		case s.fill == nil:
			ripening.pieces += s.pieces
		case shown.fill != nil:
		case before && s.comes != nil:
			most = s.comes.most()
		case before:
			poured, pours = poured+s.pieces, pours+1
		case (most <= poured) == (s.comes != nil): // it lifts what limits the pieces that are in time
			shown = s
		}
	}
	if shown.fill == nil {
		return []Reason{{Kind: HoldCure, OrderID: a.order.ID, From: a.order.deadline(), To: day, Text: fmt.Sprintf(
			"What is there already or fixed by hand covers the %s, beyond what others are owed, on %s at the earliest, but they have to be ready by %s.",
			count(need, "piece"), on(day), on(a.order.deadline()))}}
	}
	return slices.Concat(a.there(need, there, ripening, owed > 0), a.owing(owed, day),
		a.awaited(d, shown, most), a.chain(d, shown, pours, d.sound(poured)))
}

// there tells how much of what is asked for, by others as well or not, can come
// from what is there already, and what of that is not ready in time.
func (a *ask) there(need, pieces int, ripening supply, others bool) []Reason {
	var out []Reason
	switch {
	case pieces == 0:
	case others:
		out = append(out, Reason{Kind: HoldFact, OrderID: a.order.ID, Text: fmt.Sprintf(
			"What is there already or fixed by hand gives at most %s.", count(pieces, "piece"))})
	default:
		out = append(out, Reason{Kind: HoldFact, OrderID: a.order.ID, Text: fmt.Sprintf(
			"Of %s asked for, at most %d can come from what is there already or fixed by hand.", count(need, "piece"), min(pieces, need))})
	}
	if ripening.pieces > 0 {
		out = append(out, Reason{Kind: HoldCure, OrderID: a.order.ID, To: ripening.day, Text: fmt.Sprintf(
			"Of what is there already or fixed by hand, %s can not be ready before %s.", count(ripening.pieces, "piece"), on(ripening.day))})
	}
	return out
}

// owing tells what others need before a day.
func (a *ask) owing(pieces int, day civil.Date) []Reason {
	if pieces == 0 {
		return nil
	}
	return []Reason{{Kind: HoldDue, OrderID: a.order.ID, To: day, Text: fmt.Sprintf(
		"Other orders that are in time need %s before %s.", count(pieces, "piece"), on(day))}}
}

// chain follows one filling, with so many before it and what these give.
func (a *ask) chain(d *Design, s supply, pours, before int) []Reason {
	tl, f := a.planner.tl, s.fill
	pour, cut, wrap := tl.day(f.make.From), tl.day(f.cut.From), tl.lastDay(f.wrap.To)
	first := Reason{
		Kind: HoldHours, OrderID: a.order.ID, From: tl.today, To: pour,
		Text: fmt.Sprintf("The first hours in which %s can be poured, so that hours to cut follow within %s, are on %s.", d.called(), d.CutWindow, on(pour)),
	}
	if pours > 0 && s.comes == nil {
		first.Kind, first.MoldID = HoldMold, f.moldID
		first.Text = fmt.Sprintf("All molds filled before give %s; the next filling can not be poured before %s.", count(before, "piece"), on(pour))
	}
	return []Reason{
		first,
		{Kind: HoldCut, OrderID: a.order.ID, From: pour, To: cut, Text: fmt.Sprintf("It is cut on %s.", on(cut))},
		{Kind: HoldCure, OrderID: a.order.ID, From: cut, To: cut.AddDays(d.CureMin), Text: fmt.Sprintf(
			"It has to cure for at least %s, until %s.", count(d.CureMin, "day"), on(cut.AddDays(d.CureMin)))},
		{Kind: HoldDue, OrderID: a.order.ID, From: a.order.deadline(), To: wrap, Text: fmt.Sprintf(
			"It can be wrapped on %s at the earliest, but has to be ready by %s: %s too late.",
			on(wrap), on(a.order.deadline()), count(wrap.Sub(a.order.deadline()), "day"))},
	}
}

// awaited is what a filling of a design has to wait for: a step of the supplies that
// it shows, before which there are some for so many pieces, or the first step; and
// the trial.
func (a *ask) awaited(d *Design, s supply, before int) []Reason {
	today := a.planner.tl.today
	var out []Reason
	awaits := func(day civil.Date, text string) {
		out = append(out, Reason{Kind: HoldSupplies, OrderID: a.order.ID, From: today, To: day, Text: text})
	}
	switch {
	case s.comes != nil && before > 0:
		awaits(s.comes.From, fmt.Sprintf("Before %s there are supplies for %s in all.", on(s.comes.From), count(before, "piece")))
	case len(d.Supplies) > 0 && d.Supplies[0].From.After(today):
		awaits(d.Supplies[0].From, suppliesOn(d.Supplies[0].From))
	}
	if d.NeedsTrial {
		out = append(out, Reason{Kind: HoldTrial, OrderID: a.order.ID, Text: sentence(d.called()) + " needs a trial that is judged on a later day, before it is poured."})
	}
	return out
}

// reasons tells what held the best plan that was found.
func (a *ask) reasons(ans *Answer) []Reason {
	best := a.closest().plan
	out := best.outcome(a.order.ID)
	var reasons []Reason
	for _, r := range best.Problems {
		if r.OrderID == a.order.ID {
			reasons = append(reasons, r)
		}
	}
	if last := a.lastWrapped(best); last != nil {
		reasons = append(reasons, a.held(last)...)
	}
	switch {
	case out.Ready.IsZero():
	case out.Missed():
		reasons = append(reasons, Reason{Kind: HoldDue, OrderID: a.order.ID, From: ans.Deadline, To: out.Ready, Text: fmt.Sprintf(
			"Beside what is planned it is ready on %s; it has to be ready by %s. No plan can have it ready before %s.",
			on(out.Ready), on(ans.Deadline), on(ans.Bound))})
	case out.CureLess > 0:
		reasons = append(reasons, Reason{Kind: HoldCure, OrderID: a.order.ID, From: ans.Deadline, To: out.Ready, Text: fmt.Sprintf(
			"To be ready by %s it has to be wrapped %s before the wished-for cure.", on(ans.Deadline), count(out.CureLess, "day"))})
	}
	return reasons
}

// held tells which batch an answer turns on, and what held each of its steps where
// it is; steps that the same held are told of together.
func (a *ask) held(b *PlanBatch) []Reason {
	wrapped := a.planner.tl.lastDay(b.Wrap.To)
	reason := func(kind HoldKind, text string) Reason {
		return Reason{Kind: kind, OrderID: a.order.ID, Batch: b.Key, To: wrapped, Text: text}
	}
	out := []Reason{reason(HoldDue, fmt.Sprintf("What is ready last comes from %s, which is wrapped on %s.",
		a.planner.problem.calledBatch(b), on(wrapped)))}
	for i, h := range b.Holds {
		same := func(o Hold) bool { return o.Text == h.Text }
		if slices.ContainsFunc(b.Holds[:i], same) {
			continue
		}
		var steps []string
		for _, o := range b.Holds[i:] {
			if same(o) && !slices.Contains(steps, o.Step.called()) {
				steps = append(steps, o.Step.called())
			}
		}
		out = append(out, reason(h.Kind, sentence(together(steps))+": "+h.Text))
	}
	return out
}

// lastWrapped is the batch of the enquiry that is wrapped last.
func (a *ask) lastWrapped(plan *Plan) *PlanBatch {
	var last *PlanBatch
	batches := plan.byKey()
	for _, key := range a.keys(plan) {
		if b := batches[key]; last == nil || b.Wrap.To.After(last.Wrap.To) {
			last = b
		}
	}
	return last
}
