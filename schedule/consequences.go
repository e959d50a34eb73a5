package schedule

import (
	"fmt"
	"slices"
	"time"

	"ripeline/schedule/civil"
)

// consequences is what a plan means beside the published one.
type consequences struct {
	problem  *Problem
	plan     *Plan
	diff     Diff
	was      map[string]civil.Date // when orders would have been ready
	late     []OrderOutcome        // orders missed that were not known to be
	added    []*PlanBatch
	other    bool         // they avoid the molds that come first to mind
	promised bool         // some of the pieces to be found were promised to a customer
	short    []*PlanBatch // new or moved batches that cure less than wished
	swaps    []swap
	takes    []take
}

// take is free pieces of the shelf or of a running batch that an order gets.
type take struct {
	pieces int
	from   string // what a person calls where they are
	to     string // order
}

// swap is pieces that one order had from a source and another gets.
type swap struct {
	pieces   int
	from, to string // orders
}

func (r *reshuffle) consequences(plan *Plan, diff Diff, po policy) *consequences {
	p := r.planner.problem
	c := &consequences{problem: p, plan: plan, diff: diff, was: r.was}
	for _, o := range plan.Orders {
		was := r.was[o.OrderID]
		knownLate := !was.IsZero() && was.After(o.Deadline) && o.Short == 0 && !o.Ready.After(was)
		if o.Missed() && !knownLate {
			c.late = append(c.late, o)
		}
	}
	for i := range plan.Batches {
		b := &plan.Batches[i]
		if b.New {
			c.added = append(c.added, b)
		}
		if b.cureLess(p.Zone) > p.publishedCureLess(b) {
			c.short = append(c.short, b)
		}
	}
	c.other = len(po.avoid) > 0 && len(c.added) > 0
	lacking := p.lacking()
	c.promised = slices.ContainsFunc(p.Orders, func(o Order) bool { return lacking[o.ID] && !o.Told.IsZero() })
	c.reallocate()
	return c
}

// publishedCureLess is the days of its wished cure a batch was to give up as
// published; none for a new one.
func (p *Problem) publishedCureLess(b *PlanBatch) int {
	for i := range p.Batches {
		if old := &p.Batches[i]; old.ID == b.Key && !old.Cut.From.IsZero() && !old.Wrap.From.IsZero() {
			was := PlanBatch{Wrap: old.Wrap, CureTarget: civil.Of(old.Cut.From.In(p.Zone)).AddDays(p.design(b.DesignID).CureTarget)}
			return was.cureLess(p.Zone)
		}
	}
	return 0
}

// reallocate compares who gets the pieces of each source with who was to.
func (c *consequences) reallocate() {
	now := map[string]map[string]int{} // pieces by source, then order
	orderOf := c.problem.orderOfLine()
	for _, a := range c.plan.Allocations {
		key := a.BatchKey + a.StockID
		if now[key] == nil {
			now[key] = map[string]int{}
		}
		now[key][orderOf[a.LineID]] += a.Pieces
	}
	compare := func(key, called string, sound int, shares []Share) {
		was, free := map[string]int{}, sound
		for _, s := range shares {
			if o := orderOf[s.LineID]; o != "" {
				was[o] += s.Pieces
				free -= s.Pieces
			}
		}
		c.compare(called, was, now[key], max(0, free))
	}
	for _, s := range c.problem.Stock {
		compare(s.ID, "from the shelf", s.Pieces, s.For)
	}
	for i := range c.problem.Batches {
		b := &c.problem.Batches[i]
		l := lot{batch: b, design: c.problem.design(b.DesignID)}
		compare(b.ID, "of "+l.called(), b.Sound, b.For)
	}
}

// compare notes what orders gain from one source: first from its free pieces,
// then from what others lose.
func (c *consequences) compare(called string, was, now map[string]int, free int) {
	var losers []string
	for _, o := range c.problem.Orders {
		if was[o.ID] > now[o.ID] {
			losers = append(losers, o.ID)
		}
	}
	for _, o := range c.problem.Orders {
		gain := now[o.ID] - was[o.ID]
		if gain <= 0 {
			continue
		}
		fromFree := min(gain, free)
		c.take(take{fromFree, called, o.ID})
		free -= fromFree
		for _, loser := range losers {
			n := min(gain-fromFree, was[loser]-now[loser])
			if n > 0 {
				c.swaps = append(c.swaps, swap{n, loser, o.ID})
				fromFree += n
				was[loser] -= n
			}
		}
	}
}

// take notes free pieces that are given, those from one place to one order
// together.
func (c *consequences) take(t take) {
	for i := range c.takes {
		if known := &c.takes[i]; known.from == t.from && known.to == t.to {
			known.pieces += t.pieces
			return
		}
	}
	if t.pieces > 0 {
		c.takes = append(c.takes, t)
	}
}

// taken is all free pieces that are given.
func (c *consequences) taken() int {
	sum := 0
	for _, t := range c.takes {
		sum += t.pieces
	}
	return sum
}

// kind names the way out by what matters most about it.
func (c *consequences) kind() ProposalKind {
	switch {
	case len(c.late) > 0:
		return ProposeTell
	case c.other:
		return ProposeOther
	case len(c.swaps) > 0:
		return ProposeSwap
	case len(c.short) > 0:
		return ProposeShorter
	case len(c.added) > 0:
		return ProposeRemake
	case c.taken() > 0:
		return ProposeStock
	}
	return ProposeReplan
}

// costs says what a proposal costs whom, the worst first.
func (c *consequences) costs() []string {
	var out []string
	for _, o := range c.late {
		if o.Short > 0 {
			out = append(out, fmt.Sprintf("%s lacks %s.", sentence(c.problem.name(o.OrderID)), count(o.Short, "piece")))
		} else {
			out = append(out, fmt.Sprintf("%s is ready on %s, %s late.", sentence(c.problem.name(o.OrderID)), on(o.Ready), count(o.LateDays, "day")))
		}
	}
	out = append(out, c.laterInTime()...)
	for _, s := range c.swaps {
		out = append(out, fmt.Sprintf("%s meant for %s %s to %s.", count(s.pieces, "piece"), c.problem.name(s.from), goOrGoes(s.pieces), c.problem.name(s.to)))
	}
	out = append(out, c.work()...)
	for _, b := range c.short {
		out = append(out, fmt.Sprintf("%s is wrapped %s before its wished-for cure, but not before the minimum.",
			sentence(c.problem.calledBatch(b)), count(b.cureLess(c.problem.Zone), "day")))
	}
	for _, t := range c.takes {
		out = append(out, fmt.Sprintf("%s gets %s %s.", sentence(c.problem.name(t.to)), count(t.pieces, "free piece"), t.from))
	}
	if len(out) == 0 {
		out = append(out, "It costs nobody anything.")
	}
	return out
}

// laterInTime tells of orders that are ready later than before, and still in
// time.
func (c *consequences) laterInTime() []string {
	var out []string
	for _, o := range c.diff.Late {
		known := slices.ContainsFunc(c.late, func(l OrderOutcome) bool { return l.OrderID == o.OrderID })
		if known || o.NewReady.IsZero() || !o.NewReady.After(o.OldReady) {
			continue
		}
		was := "as planned"
		if o.Promised {
			was = "as the customer was told"
		}
		out = append(out, fmt.Sprintf("%s is ready on %s, in time, but not on %s %s.", sentence(c.problem.name(o.OrderID)), on(o.NewReady), on(o.OldReady), was))
	}
	return out
}

// work tells what there is to do more, less, or at other times.
func (c *consequences) work() []string {
	var out []string
	for _, b := range c.added {
		out = append(out, fmt.Sprintf("One more batch to pour: %s of %s on %s.",
			count(b.Pieces, "piece"), c.problem.design(b.DesignID).called(), on(civil.Of(b.Make.From.In(c.problem.Zone)))))
	}
	if n := len(c.diff.Moves); n == 1 {
		out = append(out, c.moved())
	} else if n > 1 {
		text := fmt.Sprintf("%d steps of planned work move to other times or molds", n)
		if firm := c.firmMoves(); firm > 0 {
			text += fmt.Sprintf(", %d of them within the next %s", firm, count(c.problem.Firm, "day"))
		}
		out = append(out, text+".")
	}
	if n := len(c.diff.Dropped); n > 0 {
		out = append(out, fmt.Sprintf("%s %s not needed any more.", sentence(together(c.dropped())), areOrIs(n)))
	}
	return out
}

// moved tells of the only step that moves.
func (c *consequences) moved() string {
	m := c.diff.Moves[0]
	done := map[Step]string{StepTrial: "tried", StepMake: "poured", StepCut: "cut", StepWrap: "wrapped"}[m.Step]
	text := sentence(c.problem.calledBatch(c.plan.byKey()[m.BatchKey])) + " is " + done
	was, now := m.From.From.In(c.problem.Zone), m.To.From.In(c.problem.Zone)
	till, until := m.From.To.In(c.problem.Zone), m.To.To.In(c.problem.Zone)
	day := on(civil.Of(now))
	switch {
	case civil.Of(was) != civil.Of(now):
		return fmt.Sprintf("%s on %s instead of %s.", text, day, on(civil.Of(was)))
	case !was.Truncate(time.Minute).Equal(now.Truncate(time.Minute)):
		return fmt.Sprintf("%s at %s instead of %s on %s.", text, now.Format(clockOnly), was.Format(clockOnly), day)
	case !till.Truncate(time.Minute).Equal(until.Truncate(time.Minute)):
		return fmt.Sprintf("%s until %s instead of %s on %s.", text, until.Format(clockOnly), till.Format(clockOnly), day)
	}
	return text + " in other molds."
}

const clockOnly = "15:04"

func goOrGoes(n int) string {
	if n == 1 {
		return "goes"
	}
	return "go"
}
