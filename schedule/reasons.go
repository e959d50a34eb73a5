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
	b := &bounder{planner: a.planner, owed: a.owed, fills: map[string][]supply{}}
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

// owed counts the pieces of a design that accepted orders, in time without the
// enquiry, need by a day.
func (a *ask) owed(d *Design, by civil.Date) int {
	sum := 0
	for i := range a.planner.problem.Orders {
		o := &a.planner.problem.Orders[i]
		if o == a.order || !o.Accepted || o.deadline().After(by) || a.before.outcome(o.ID).Missed() {
			continue
		}
		for _, l := range o.Lines {
			if l.DesignID == d.ID {
				sum += l.Pieces
			}
		}
	}
	return sum
}

// proof tells a bound as a chain a person can check: the first filling that is
// too late, from the hours to the wrap.
func (a *ask) proof(d *Design, need int, used []supply) []Reason {
	have, poured, pours := 0, 0, 0
	var shown *fill
	for _, s := range used {
		if s.fill == nil {
			have += s.pieces
			continue
		}
		if shown == nil {
			pours++
			if s.day.After(a.order.deadline()) {
				shown = s.fill
			} else {
				poured += s.pieces
			}
		}
	}
	var out []Reason
	if shown == nil {
		day := used[len(used)-1].day
		return append(out, Reason{Kind: HoldCure, OrderID: a.order.ID, From: a.order.deadline(), To: day, Text: fmt.Sprintf(
			"What is there already or fixed by hand covers the %s, beyond what others are owed, on %s at the earliest, but they have to be ready by %s.",
			count(need, "piece"), on(day), on(a.order.deadline()))})
	}
	if have > 0 {
		out = append(out, Reason{Kind: HoldFact, OrderID: a.order.ID, Text: fmt.Sprintf(
			"Of %s asked for, at most %d can come from what is there already or fixed by hand.", count(need, "piece"), min(have, need))})
	}
	return append(out, a.chain(d, shown, pours, d.sound(poured))...)
}

// chain follows one filling.
func (a *ask) chain(d *Design, f *fill, pours, before int) []Reason {
	tl := a.planner.tl
	pour, cut, wrap := tl.day(f.make.From), tl.day(f.cut.From), tl.lastDay(f.wrap.To)
	first := Reason{
		Kind: HoldHours, OrderID: a.order.ID, From: tl.today, To: pour,
		Text: fmt.Sprintf("The first hours in which %s can be poured, so that hours to cut follow within %s, are on %s.", d.called(), d.CutWindow, on(pour)),
	}
	if pours > 1 {
		first.Kind, first.MoldID = HoldMold, f.moldID
		first.Text = fmt.Sprintf("All molds filled in time give %s; the next filling can not be poured before %s.", count(before, "piece"), on(pour))
	}
	return append(a.awaited(d),
		first,
		Reason{Kind: HoldCut, OrderID: a.order.ID, From: pour, To: cut, Text: fmt.Sprintf("It is cut on %s.", on(cut))},
		Reason{Kind: HoldCure, OrderID: a.order.ID, From: cut, To: cut.AddDays(d.CureMin), Text: fmt.Sprintf(
			"It has to cure for at least %s, until %s.", count(d.CureMin, "day"), on(cut.AddDays(d.CureMin)))},
		Reason{Kind: HoldDue, OrderID: a.order.ID, From: a.order.deadline(), To: wrap, Text: fmt.Sprintf(
			"It can be wrapped on %s at the earliest, but has to be ready by %s: %s too late.",
			on(wrap), on(a.order.deadline()), count(wrap.Sub(a.order.deadline()), "day"))})
}

// awaited is what a first pour of a design has to wait for.
func (a *ask) awaited(d *Design) []Reason {
	today := a.planner.tl.today
	var out []Reason
	if d.SuppliesReady.After(today) && d.SuppliesPieces == 0 {
		out = append(out, Reason{Kind: HoldSupplies, OrderID: a.order.ID, From: today, To: d.SuppliesReady, Text: supplied(d)})
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
