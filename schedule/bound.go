package schedule

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// supply is pieces of a design that can be wrapped by a day at the very best.
type supply struct {
	day    civil.Date
	pieces int   // poured for a filling, sound for what exists
	fill   *fill // the mold filling it comes from, nil for what exists
}

// fill is one filling of a mold in a workshop that does nothing else.
type fill struct {
	moldID          string
	make, cut, wrap Interval
}

// bound is a day before which no plan can have the enquiry ready without making
// an accepted order late, and the reasons that prove it. It relaxes the problem
// to each design alone: hands, molds and rack are free of all other work, a
// batch is as small as can be for its times and as large as can be for its
// pieces, and cure is the minimum. What is left are the hours, the supplies, the
// trial, the cut window, the cure, and that a mold holds one batch at a time.
// Each mold is refilled as early as can be, which for equal jobs on one
// machine gives the most fillings by any day.
func (a *ask) bound(ctx context.Context) (civil.Date, []Reason) {
	bound, proof := a.planner.tl.today, []Reason(nil)
	for i := range a.order.Lines {
		line := &a.order.Lines[i]
		day, reasons := a.lineBound(ctx, line)
		if day.After(bound) {
			bound, proof = day, reasons
		}
	}
	return bound, proof
}

// lineBound finds the first day on which the best possible supply covers a line
// on top of the accepted orders that are due by then and in time without it.
func (a *ask) lineBound(ctx context.Context, line *Line) (civil.Date, []Reason) {
	d := a.planner.designs[line.DesignID]
	need, have := 0, 0
	for _, l := range a.order.Lines {
		if l.DesignID == line.DesignID {
			need += l.Pieces
		}
	}
	supplies := a.existing(d)
	for _, s := range supplies {
		have += s.pieces
	}
	lacking := need + a.owed(d, a.planner.tl.horizon()) - have
	supplies = append(supplies, a.fillings(ctx, d, d.gross(max(0, lacking)))...)
	slices.SortStableFunc(supplies, func(x, y supply) int { return x.day.Compare(y.day) })
	have, poured := 0, 0
	for i, s := range supplies {
		if s.fill == nil {
			have += s.pieces
		} else {
			poured += s.pieces
		}
		if have+d.sound(poured)-a.owed(d, s.day) >= need {
			return s.day, a.proof(d, line, supplies[:i+1])
		}
	}
	return civil.Date{}, nil
}

func (tl *timeline) horizon() civil.Date { return tl.first.AddDays(len(tl.grid) - 1) }

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

// existing is what is on the shelf, in molds and on the rack already.
func (a *ask) existing(d *Design) []supply {
	tl, out := a.planner.tl, []supply(nil)
	for _, s := range a.planner.problem.Stock {
		if s.DesignID == d.ID {
			out = append(out, supply{day: tl.today, pieces: s.Pieces})
		}
	}
	for _, b := range a.planner.problem.Batches {
		if b.DesignID != d.ID || b.State == Planned {
			continue
		}
		cut := tl.today
		if b.State == Curing {
			cut = tl.day(b.Cut.From)
		}
		day := later(later(tl.today, cut.AddDays(d.CureMin)), b.CureUntil)
		out = append(out, supply{day: day, pieces: b.Sound})
	}
	return out
}

// mostFills bounds the mold fillings a bound counts.
const mostFills = 2000

// fillings lists the best possible fillings of the design's molds, as many as a
// need takes, by day.
func (a *ask) fillings(ctx context.Context, d *Design, need int) []supply {
	var out []supply
	for _, f := range d.Fits {
		i := a.planner.problem.moldIndex(f.MoldID)
		if i < 0 || d.Blocked != "" {
			continue
		}
		each := f.Full * a.planner.problem.Molds[i].Count
		out = append(out, a.refills(ctx, d, f, each, need)...)
	}
	slices.SortStableFunc(out, func(x, y supply) int {
		return cmp.Or(x.day.Compare(y.day), cmp.Compare(x.fill.moldID, y.fill.moldID))
	})
	return out
}

// refills fills all molds of one kind together, again and again.
func (a *ask) refills(ctx context.Context, d *Design, f Fit, each, need int) []supply {
	var out []supply
	m := a.lone(d, f)
	for sum := 0; sum < need && each > 0 && len(out) < mostFills; sum += each {
		s, err := solve.Solve(ctx, m.core)
		if err != nil || s.Jobs[len(s.Jobs)-1] == nil {
			break
		}
		pl := s.Jobs[len(s.Jobs)-1]
		done := fill{
			moldID: f.MoldID, make: m.tl.interval(pl.Starts[0], pl.Ends[0]),
			cut: m.tl.interval(pl.Starts[1], pl.Ends[1]), wrap: m.tl.interval(pl.Starts[2], pl.Ends[2]),
		}
		out = append(out, supply{day: m.tl.lastDay(done.wrap.To), pieces: each, fill: &done})
		m.core.Jobs[len(m.core.Jobs)-1].Release = pl.Ends[1] + a.planner.problem.Molds[a.planner.problem.moldIndex(f.MoldID)].Clean
	}
	return out
}

// lone is the problem of the smallest batch of a design in one mold, with
// nothing else in the workshop.
func (a *ask) lone(d *Design, f Fit) *model {
	p := *a.planner.problem
	p.Batches = nil
	l := &lot{key: "lone", design: d, due: a.planner.tl.today.AddDays(-1), mixes: []mix{{
		molds: []MoldUse{{MoldID: f.MoldID, Units: 1, Pieces: f.Min}}, pieces: f.Min, sound: d.sound(f.Min),
	}}}
	m := newModel(&p, a.planner.tl, []*lot{l}, policy{})
	m.core.Budget = 1
	for j := range m.core.Jobs {
		for k := range m.core.Jobs[j].Modes {
			hurry(&m.core.Jobs[j].Modes[k])
		}
	}
	return m
}

// proof tells a bound as a chain a person can check.
func (a *ask) proof(d *Design, line *Line, used []supply) []Reason {
	tl := a.planner.tl
	have, pours := 0, 0
	var last *fill
	for _, s := range used {
		if s.fill != nil {
			pours++
			last = s.fill
		} else {
			have += s.pieces
		}
	}
	var out []Reason
	if have > 0 {
		out = append(out, Reason{Kind: HoldFact, OrderID: a.order.ID, Text: fmt.Sprintf(
			"Of %s asked for, at most %d can come from what is on the shelf or curing.", count(line.Pieces, "piece"), have)})
	}
	if last == nil {
		return out
	}
	pour, cut, wrap := tl.day(last.make.From), tl.day(last.cut.From), tl.lastDay(last.wrap.To)
	text := fmt.Sprintf("The first hours in which %s can be poured, so that hours to cut follow within %s, are on %s.", d.Name, d.CutWindow, on(pour))
	kind := HoldHours
	if pours > 1 {
		kind = HoldMold
		text = fmt.Sprintf("The molds must be filled %d times; the last filling can not be poured before %s.", pours, on(pour))
	}
	return append(out,
		Reason{Kind: kind, OrderID: a.order.ID, MoldID: last.moldID, From: tl.today, To: pour, Text: text},
		Reason{Kind: HoldCut, OrderID: a.order.ID, From: pour, To: cut, Text: fmt.Sprintf("It is cut on %s.", on(cut))},
		Reason{Kind: HoldCure, OrderID: a.order.ID, From: cut, To: cut.AddDays(d.CureMin), Text: fmt.Sprintf(
			"It has to cure for at least %s, until %s.", count(d.CureMin, "day"), on(cut.AddDays(d.CureMin)))},
		Reason{Kind: HoldHours, OrderID: a.order.ID, From: cut.AddDays(d.CureMin), To: wrap, Text: fmt.Sprintf(
			"It can be wrapped on %s at the earliest, but has to be ready by %s: %s too late.",
			on(wrap), on(a.order.deadline()), count(wrap.Sub(a.order.deadline()), "day"))})
}

// reasons tells what held the best plan that was found.
func (a *ask) reasons(ans *Answer) []Reason {
	out := a.late.plan.outcome(a.order.ID)
	var reasons []Reason
	for _, r := range a.late.plan.Problems {
		if r.OrderID == a.order.ID {
			reasons = append(reasons, r)
		}
	}
	for _, key := range a.keys(a.late.plan) {
		b := a.late.plan.byKey()[key]
		if day := a.planner.tl.lastDay(b.Wrap.To); day == out.Ready {
			for _, h := range b.Holds {
				reasons = append(reasons, Reason{Kind: h.Kind, OrderID: a.order.ID, Batch: key, To: day, Text: h.Text})
			}
		}
	}
	if !out.Ready.IsZero() {
		reasons = append(reasons, Reason{Kind: HoldDue, OrderID: a.order.ID, From: ans.Deadline, To: out.Ready, Text: fmt.Sprintf(
			"Beside what is planned it is ready on %s; it has to be ready by %s. No plan can have it ready before %s.",
			on(out.Ready), on(ans.Deadline), on(ans.Bound))})
	}
	return reasons
}
