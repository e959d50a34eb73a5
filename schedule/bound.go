package schedule

import (
	"cmp"
	"context"
	"slices"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// supply is pieces of a design that can be wrapped by a day at the very best.
type supply struct {
	day    civil.Date
	pieces int     // poured for a filling, sound for what exists
	fill   *fill   // the mold filling it comes from, nil for what exists
	comes  *Supply // of a filling that only shows by when what comes then can be wrapped: no pieces of its own
}

// fill is one filling of a mold in a workshop that does nothing else.
type fill struct {
	moldID          string
	make, cut, wrap Interval
}

// debts is how many pieces of a design are owed by which day in all, day by day.
type debts []supply

// by is the pieces owed by a day.
func (list debts) by(day civil.Date) int {
	i, _ := slices.BinarySearchFunc(list, day.AddDays(1), func(s supply, day civil.Date) int { return s.day.Compare(day) })
	if i == 0 {
		return 0
	}
	return list[i-1].pieces
}

// bounder finds days before which no plan can have pieces ready. It relaxes the
// problem to each design alone: hands, molds and rack are free of all other
// work, a batch is as small as can be for its times and as large as can be for
// its pieces, and cure is the minimum. What is left are the hours, the supplies,
// the trial, the cut window, the cure, and that a mold holds one batch at a
// time. Each mold is refilled as early as can be, which for equal jobs on one
// machine gives the most fillings by any day. What is wrapped before anything that
// waits for a step of the supplies could be, was poured before it: all of it
// together is no more than the steps before do for.
type bounder struct {
	planner *planner
	owed    func(*Design) debts // what others must have
	fills   map[string][]supply
	comes   map[string][]supply // by design id: the first filling after each step of the supplies that is to come
}

func newBounder(pl *planner, owed func(*Design) debts) *bounder {
	return &bounder{planner: pl, owed: owed, fills: map[string][]supply{}, comes: map[string][]supply{}}
}

// bound is the first day from which on the best possible supply covers some
// pieces of a design on top of what is owed, and the supplies it takes; the zero
// day when none covers them. What covers them on a day and is owed to others
// before more can be ready does not count: who gets it would lack it.
func (b *bounder) bound(ctx context.Context, d *Design, pieces int) (civil.Date, []supply) {
	owed := b.owed(d)
	need := d.gross(pieces + owed.by(b.planner.tl.horizon()))
	supplies := append(b.existing(d), b.fillings(ctx, d, need)...)
	supplies = append(supplies, b.arrivals(ctx, d, need)...)
	slices.SortStableFunc(supplies, func(x, y supply) int { return x.day.Compare(y.day) })
	have, poured, most := b.beyond(d), 0, d.pourable(b.planner.tl.today)
	var first civil.Date
	var used []supply
	for i, s := range supplies {
		switch {
		case s.fill == nil:
			have += s.pieces
		case s.comes != nil:
			most = s.comes.most()
		default:
			poured += s.pieces
		}
		until := b.planner.tl.horizon() // the last day with no more than this
		if i+1 < len(supplies) {
			until = supplies[i+1].day.AddDays(-1)
		}
		if until.Before(s.day) {
			continue // more is ready the same day
		}
		switch covered := have+d.sound(min(poured, most))-owed.by(until) >= pieces; {
		case !covered:
			first, used = civil.Date{}, nil
		case first.IsZero():
			first, used = s.day, supplies[:i+1]
		}
	}
	return first, used
}

func (tl *timeline) horizon() civil.Date { return tl.first.AddDays(len(tl.grid) - 1) }

// beyond is the sound pieces that published batches count on beyond what the spoil
// that is now expected leaves of them.
func (b *bounder) beyond(d *Design) int {
	sum := 0
	for _, batch := range b.planner.problem.Batches {
		if batch.DesignID == d.ID && batch.State == Planned && !batch.Pinned {
			sum += max(0, batch.Sound-d.sound(batch.Pieces))
		}
	}
	return sum
}

// existing is what is on the shelf, in molds and on the rack already, and what is
// pinned: a person may have put that outside the hours.
func (b *bounder) existing(d *Design) []supply {
	tl, out := b.planner.tl, []supply(nil)
	for _, s := range b.planner.problem.Stock {
		if s.DesignID == d.ID {
			out = append(out, supply{day: tl.today.AddDays(-historyMost), pieces: s.Pieces}) // ready already
		}
	}
	for _, batch := range b.planner.problem.Batches {
		if batch.DesignID != d.ID || batch.State == Planned && !batch.Pinned {
			continue
		}
		cut, sound := tl.today, batch.Sound
		switch batch.State {
		case Curing:
			cut = tl.day(batch.Cut.From)
		case Planned:
			cut, sound = later(cut, tl.day(batch.Make.From)), max(sound, d.sound(batch.Pieces))
		}
		day := later(later(tl.today, cut.AddDays(d.CureMin)), batch.CureUntil)
		out = append(out, supply{day: day, pieces: sound})
	}
	return out
}

// mostFills bounds the mold fillings a bound counts.
const mostFills = 2000

// fillings lists the best possible fillings of the design's molds, as many as a
// need of poured pieces takes.
func (b *bounder) fillings(ctx context.Context, d *Design, need int) []supply {
	if d.Blocked != "" {
		return nil
	}
	if known := b.fills[d.ID]; enough(known, need) {
		return slices.Clone(known)
	}
	var out []supply
	for _, f := range d.Fits {
		if i := b.planner.problem.moldIndex(f.MoldID); i >= 0 {
			out = append(out, b.refills(ctx, d, f, &b.planner.problem.Molds[i], need)...)
		}
	}
	slices.SortStableFunc(out, func(x, y supply) int {
		return cmp.Or(x.day.Compare(y.day), cmp.Compare(x.fill.moldID, y.fill.moldID))
	})
	b.fills[d.ID] = out
	return slices.Clone(out)
}

// enough reports whether each kind of mold's fillings alone cover a need, so
// that a smaller need has no use for more of them.
func enough(known []supply, need int) bool {
	sums := map[string]int{}
	for _, s := range known {
		sums[s.fill.moldID] += s.pieces
	}
	for _, sum := range sums {
		if sum < need {
			return false
		}
	}
	return len(known) > 0
}

// refills fills all molds of one kind together, again and again. Where it has to
// stop before the need is covered, all the rest counts as filled with the last:
// it could only be later, which no bound may claim without having looked.
func (b *bounder) refills(ctx context.Context, d *Design, f Fit, mold *Mold, need int) []supply {
	var out []supply
	m := b.lone(d, f)
	job := &m.core.Jobs[len(m.core.Jobs)-1]
	each := f.Full * mold.Count
	last := supply{day: m.tl.today, fill: &fill{moldID: f.MoldID}}
	for sum := 0; sum < need && each > 0; sum += each {
		s, err := solve.Solve(ctx, m.core)
		if err != nil || len(out) == mostFills {
			last.pieces = need - sum
			return append(out, last)
		}
		pl := s.Jobs[len(s.Jobs)-1]
		if pl == nil {
			break
		}
		last = m.filling(pl, f)
		last.pieces = each
		out = append(out, last)
		job.Release = pl.Ends[1] + mold.Clean
	}
	return out
}

// filling is where a filling of a mold was placed, without its pieces.
func (m *model) filling(pl *solve.Placement, f Fit) supply {
	done := fill{
		moldID: f.MoldID, make: m.tl.interval(pl.Starts[0], pl.Ends[0]),
		cut: m.tl.interval(pl.Starts[1], pl.Ends[1]), wrap: m.tl.interval(pl.Starts[2], pl.Ends[2]),
	}
	return supply{day: m.tl.lastDay(done.wrap.To), fill: &done}
}

// lone is the problem of the smallest batch of a design in one mold, with
// nothing else in the workshop.
func (b *bounder) lone(d *Design, f Fit) *model {
	p := *b.planner.problem
	p.Batches = nil
	l := &lot{key: "lone", design: d, due: b.planner.tl.today.AddDays(-1), mixes: []mix{{
		molds: []MoldUse{{MoldID: f.MoldID, Units: 1, Pieces: f.Min}}, pieces: f.Min, sound: d.sound(f.Min),
	}}}
	m := newModel(&p, b.planner.tl, []*lot{l}, policy{}, nil)
	m.core.Budget = 1
	for j := range m.core.Jobs {
		for k := range m.core.Jobs[j].Modes {
			hurry(&m.core.Jobs[j].Modes[k])
		}
	}
	return m
}

// bounded sets the bound of a plan on late orders and tardiness, order by order
// as if each were alone, and whether that proves the plan optimal in both.
func (pl *planner) bounded(ctx context.Context, plan *Plan) {
	plan.Bound = Objective{}
	if plan.Objective.Late > 0 {
		alone := newBounder(pl, func(*Design) debts { return nil })
		for i := range pl.problem.Orders {
			if o := &pl.problem.Orders[i]; o.Accepted && plan.outcome(o.ID).Missed() {
				late := alone.leastLate(ctx, o)
				plan.Bound.Tardiness += o.Weight * late
				plan.Bound.Late += o.Weight * min(1, late)
			}
		}
	}
	plan.Proved = plan.meetsBound()
}

// meetsBound reports whether no plan can have less lateness.
func (plan *Plan) meetsBound() bool {
	return plan.Bound.Late == plan.Objective.Late && plan.Bound.Tardiness == plan.Objective.Tardiness
}

// leastLate is the least days an order is late in any plan.
func (b *bounder) leastLate(ctx context.Context, o *Order) int {
	need := map[string]int{}
	late := 0
	for _, l := range o.Lines {
		need[l.DesignID] += l.Pieces
		day, _ := b.bound(ctx, b.planner.designs[l.DesignID], need[l.DesignID])
		if day.IsZero() {
			return unmadeDays
		}
		late = max(late, day.Sub(o.deadline()))
	}
	return min(late, unmadeDays)
}
