package schedule

import (
	"cmp"
	"slices"
	"time"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// The resources of the core, in order: hands, rack, then the molds by place in
// Problem.Molds.
const (
	resourceHands = iota
	resourceRack
	resourceMolds
)

// lot is one batch the plan has to place: running, published or new.
type lot struct {
	key    string
	design *Design
	batch  *Batch // nil for a new one
	pinned bool
	// unpinned: a person fixed its times, but what was learnt since forbids them.
	unpinned bool
	mixes    []mix // by mode of the job; new and planned lots only
	rations  []int // by step of its design's supplies: with how many pieces it may be poured from then on; nil where there is no end of them
	due      civil.Date
	expected solve.Time // when its pieces would be ready as published; only of lots with a batch
	served   []*claim
	shares   []Share // who is to get its pieces
	job      int     // index in the core's problem, -1 while it has none
}

// model is the core's problem together with what its parts mean.
type model struct {
	problem   *Problem
	tl        *timeline
	sizers    map[string]*lotsizer
	core      *solve.Problem
	lots      []*lot
	policy    policy
	trials    map[string]int // job by design id
	supplies  leftovers
	firsts    map[string]*lot       // the lot of each design that is poured first, once placed
	published map[string]civil.Date // when orders are ready as published
	firmEnd   solve.Time
	prices    movePrices
	hand      []solve.Use // of whoever does a step
}

// newModel states the placing of the lots as a problem for the core.
func newModel(p *Problem, tl *timeline, lots []*lot, po policy, ready map[string]civil.Date) *model {
	m := &model{
		problem: p, tl: tl, lots: lots, policy: po, trials: map[string]int{}, supplies: leftovers{},
		published: ready, prices: p.movePrices(), hand: []solve.Use{{Resource: resourceHands, Amount: 1}},
	}
	m.firmEnd = tl.ceil(m.prices.firm)
	m.core = &solve.Problem{Start: tl.now, Grid: tl.grid, Seed: p.Seed, Resources: resources(p, tl)}
	m.core.Calendars = tl.calendars()
	slices.SortStableFunc(m.lots, m.compare)
	m.addJobs(m.lots)
	m.core.Goals = m.goals()
	return m
}

// addJobs states lots, the trials they wait for first.
func (m *model) addJobs(lots []*lot) {
	m.core.Jobs = slices.Grow(m.core.Jobs, len(lots))
	for _, l := range lots {
		m.addTrial(l)
	}
	m.ration(lots)
	for _, l := range lots {
		l.job = len(m.core.Jobs)
		m.core.Jobs = append(m.core.Jobs, m.job(l))
	}
}

// compare puts first what already runs, then what a person fixed, then what is
// published, then the rest, the lots of the order named last at the end; each
// by due date, then key.
func (m *model) compare(a, b *lot) int {
	return cmp.Or(
		cmp.Compare(m.class(a), m.class(b)),
		compareDue(a.due, b.due),
		cmp.Compare(a.key, b.key))
}

func (m *model) class(l *lot) int {
	switch {
	case l.running():
		return 0
	case l.pinned:
		return 1
	case l.batch != nil:
		return 2
	case m.policy.last != "" && len(l.served) > 0 && !slices.ContainsFunc(l.served, func(c *claim) bool { return c.order.ID != m.policy.last }):
		return 4
	}
	return 3
}

// compareDue orders due dates, no date last.
func compareDue(a, b civil.Date) int {
	if a.IsZero() != b.IsZero() {
		if a.IsZero() {
			return 1
		}
		return -1
	}
	return a.Compare(b)
}

func (l *lot) running() bool { return l.batch != nil && l.batch.State != Planned }

// resources lists hands, rack and molds, molds without those that are out.
func resources(p *Problem, tl *timeline) []solve.Resource {
	out := []solve.Resource{{Capacity: p.Hands}, {Capacity: int(p.Rack)}}
	for _, mold := range p.Molds {
		r := solve.Resource{Capacity: mold.Count}
		for _, o := range mold.Out {
			r.Taken = append(r.Taken, solve.Reservation{
				From: tl.dayStart(o.Days.From), To: tl.dayStart(o.Days.To.AddDays(1)), Amount: o.Units,
			})
		}
		out = append(out, r)
	}
	return out
}

// addTrial adds the one trial of a design when the lot is the first to need it.
func (m *model) addTrial(l *lot) {
	if !l.design.NeedsTrial || l.running() {
		return
	}
	if _, done := m.trials[l.design.ID]; done {
		return
	}
	m.trials[l.design.ID] = len(m.core.Jobs)
	job := solve.Job{Due: solve.Never, Modes: []solve.Mode{{Tasks: []solve.Task{{
		Calendar: StepTrial.index(), Duration: l.design.TrialMinutes, Uses: m.hand,
	}}}}}
	if at := m.publishedTrial(l.design); !at.IsZero() {
		start := m.tl.floor(at)
		job.Base = &solve.Base{Starts: []solve.Time{start}, Moves: []int{m.prices.of(at)}}
		if start < m.firmEnd {
			job.Base.Firm = 1
		}
	}
	m.core.Jobs = append(m.core.Jobs, job)
}

// publishedTrial is when the published plan has the trial of a design.
func (m *model) publishedTrial(d *Design) time.Time {
	var first time.Time
	for _, b := range m.problem.Batches {
		at := b.Trial.From
		if b.State == Planned && b.DesignID == d.ID && !at.IsZero() && (first.IsZero() || at.Before(first)) {
			first = at
		}
	}
	return first
}

// trialCells is the days from a trial to the first pour after it: it is judged
// the next day, and the pour is not before the day after.
const trialCells = 2

// job states one lot.
func (m *model) job(l *lot) solve.Job {
	j := solve.Job{Due: solve.Never, Release: m.tl.now}
	if !l.due.IsZero() {
		j.Due = m.tl.dayStart(l.due.AddDays(1))
	}
	if l.running() {
		j.Release = -solve.Never
		j.Modes = m.runningModes(l)
	} else {
		if t, ok := m.trials[l.design.ID]; ok {
			j.After = []solve.Link{{Job: t, Cells: trialCells}}
		}
		j.Modes = m.plannedModes(l)
	}
	j.Base = m.base(l)
	return j
}

// plannedModes is one mode for each mold mix. For a pinned lot the first mode
// holds it where the person put it, and the others are the last resort; it is not
// held where it would be poured before its supplies are there.
func (m *model) plannedModes(l *lot) []solve.Mode {
	if l.pinned && civil.Of(l.batch.Make.From.In(m.tl.zone)).Before(l.supplied(l.mixes[0].pieces)) {
		l.pinned, l.unpinned = false, true
	}
	out := make([]solve.Mode, 0, len(l.mixes))
	least := l.mixes[0].sound
	for _, x := range l.mixes {
		least = min(least, x.sound)
	}
	for _, x := range l.mixes {
		mode := m.mode(l.design, x)
		mode.Cost = x.sound - least
		if l.rations != nil {
			mode.Tasks[0].Earliest = m.tl.dayStart(l.supplied(x.pieces))
		}
		mode.LastResort = l.pinned
		if m.policy.ripe && l.batch == nil {
			mode.Lags[1].Min = l.design.CureTarget
		}
		if m.policy.hurried && l.batch == nil {
			hurry(&mode)
		}
		out = append(out, mode)
	}
	if l.pinned {
		out = slices.Insert(out, 0, m.pin(l, m.mode(l.design, l.mixes[0])))
		l.mixes = slices.Insert(l.mixes, 0, l.mixes[0])
	}
	return out
}

// mode is a batch from pour to wrap in the given molds.
func (m *model) mode(d *Design, x mix) solve.Mode {
	mode := solve.Mode{
		Tasks: []solve.Task{
			{Calendar: StepMake.index(), Duration: minutesFor(d.MakeFixed, d.MakePer, x.pieces), Uses: m.hand},
			{Calendar: StepCut.index(), Duration: minutesFor(d.CutFixed, d.CutPer, x.pieces), Uses: m.hand},
			m.wrapTask(d, x.sound),
		},
		Lags:  []solve.Lag{cutLag(d.CutWindow), {From: 1, To: 2, Cells: true, Min: d.CureMin, Max: -1, Wish: d.CureTarget}},
		Spans: m.moldSpans(x.molds, false),
	}
	return withRack(mode, d, x.sound, false)
}

// withRack holds the rack from the cut to the wrap.
func withRack(mode solve.Mode, d *Design, sound int, forced bool) solve.Mode {
	mode.Spans = append(mode.Spans, solve.Span{
		Resource: resourceRack, Amount: sound * int(d.Footprint), From: 1, FromEnd: true, To: 2, Forced: forced,
	})
	return mode
}

func (m *model) wrapTask(d *Design, sound int) solve.Task {
	t := solve.Task{Calendar: StepWrap.index(), Duration: d.WrapFixed, Uses: m.hand}
	if d.WrapPer > 0 {
		t.Units, t.UnitSeconds = sound, d.WrapPer
	}
	return t
}

// cutLag bounds the time from the pour to the cut.
func cutLag(w CutWindow) solve.Lag {
	if w.Days {
		return solve.Lag{From: 0, To: 1, Cells: true, Min: w.Min, Max: w.Max}
	}
	return solve.Lag{From: 0, To: 1, Min: w.Min * 60, Max: w.Max * 60}
}

// moldSpans holds molds from the start of the pour to the end of the cut and
// their cleaning.
func (m *model) moldSpans(molds []MoldUse, forced bool) []solve.Span {
	out := make([]solve.Span, 0, 1+len(molds)) // the rack is added
	for _, use := range molds {
		i := m.problem.moldIndex(use.MoldID)
		if i < 0 {
			continue
		}
		out = append(out, solve.Span{
			Resource: resourceMolds + i, Amount: use.Units, From: 0, To: 1,
			Tail: m.problem.Molds[i].Clean, Forced: forced,
		})
	}
	return out
}

func (p *Problem) moldIndex(id string) int {
	return slices.IndexFunc(p.Molds, func(m Mold) bool { return m.ID == id })
}

// published is the times of make, cut and wrap as the book has them.
func (b *Batch) published() [3]Interval { return [3]Interval{b.Make, b.Cut, b.Wrap} }

// goals is one goal for each order that waits for a batch.
func (m *model) goals() []solve.Goal {
	index := make(map[string]int, len(m.problem.Orders))
	out := make([]solve.Goal, 0, len(m.problem.Orders))
	for _, l := range m.lots {
		for _, c := range l.served {
			i, ok := index[c.order.ID]
			if !ok {
				i = len(out)
				index[c.order.ID] = i
				out = append(out, m.goal(c.order))
			}
			if !slices.Contains(out[i].Jobs, l.job) {
				out[i].Jobs = append(out[i].Jobs, l.job)
			}
		}
	}
	return out
}

func (m *model) goal(o *Order) solve.Goal {
	g := solve.Goal{Due: m.tl.dayStart(o.deadline().AddDays(1)), Weight: o.Weight, Told: solve.Never}
	if !o.Told.IsZero() {
		g.Told, g.Breach = m.tl.dayStart(later(o.Told, m.published[o.ID]).AddDays(1)), changeTold
	}
	return g
}
