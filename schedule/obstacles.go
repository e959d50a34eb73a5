package schedule

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"ripeline/calc"
	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// Obstacle is why a published batch can not go on as it was published.
type Obstacle struct {
	BatchID string   `json:"batch_id"`
	Step    Step     `json:"step"` // the first that can not be done as published
	Kind    HoldKind `json:"kind"`
	Text    string   `json:"text"` // one sentence for a person
}

// Obstacles says which batches can not go on as they were published, and why: their
// mold is out, their supplies are gone, the workshop is closed, their time has passed. No
// other plan is looked for. Running batches keep what they hold, then those whose times
// a person fixed, then who pours first; what stands on what is gone holds nothing.
// They come in that order, each once. The error is that of a problem that makes no sense.
func Obstacles(p *Problem) ([]Obstacle, error) {
	pl, err := newPlanner(p)
	if err != nil {
		return nil, err
	}
	w := &watch{planner: pl, trials: map[string]Interval{}, left: leftovers{}, molds: make([]uses, len(p.Molds))}
	for i := range p.Batches {
		if b := &p.Batches[i]; b.State == Planned && !b.Trial.From.IsZero() && (w.trials[b.DesignID].From.IsZero() || b.Trial.From.Before(w.trials[b.DesignID].From)) {
			w.trials[b.DesignID] = b.Trial
		}
	}
	var out []Obstacle
	for _, b := range p.standingFirst() {
		if o, found := w.look(b); found {
			o.BatchID = b.ID
			out = append(out, o)
			if b.State == Planned {
				continue
			}
		}
		w.take(b)
	}
	return out, nil
}

// standingFirst is the published batches by who keeps what they hold.
func (p *Problem) standingFirst() []*Batch {
	class := func(b *Batch) int {
		switch {
		case b.State != Planned:
			return 0
		case b.Pinned:
			return 1
		}
		return 2
	}
	out := make([]*Batch, len(p.Batches))
	for i := range p.Batches {
		out[i] = &p.Batches[i]
	}
	slices.SortFunc(out, func(a, b *Batch) int {
		return cmp.Or(cmp.Compare(class(a), class(b)), a.Make.From.Compare(b.Make.From), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// watch goes through the published batches and keeps what those hold that can go on.
type watch struct {
	*planner
	trials map[string]Interval // the published one, by design
	left   leftovers           // of the supplies
	molds  []uses              // by place in Problem.Molds
	rack   uses
	hands  uses
}

// use is so much of something held over a span of time.
type use struct {
	from, to time.Time
	amount   int
	batch    *Batch
}

type uses []use

// clash is the first moment of a span at which an amount more than is held already is
// above the capacity, and who holds some of it then; turns are moments at which the
// capacity changes.
func (u uses) clash(of use, capacity func(time.Time) int, turns ...time.Time) (at time.Time, by *Batch, found bool) {
	moments, beside := []time.Time{of.from}, uses(nil)
	for _, t := range turns {
		if t.After(of.from) && t.Before(of.to) {
			moments = append(moments, t)
		}
	}
	for _, x := range u {
		if !x.from.Before(of.to) || !x.to.After(of.from) {
			continue
		}
		if beside = append(beside, x); x.from.After(of.from) {
			moments = append(moments, x.from)
		}
	}
	slices.SortFunc(moments, time.Time.Compare)
	for _, t := range moments {
		sum, holder := of.amount, (*Batch)(nil)
		for _, x := range beside {
			if !x.from.After(t) && x.to.After(t) {
				sum, holder = sum+x.amount, x.batch
			}
		}
		if sum > capacity(t) {
			return t, holder, true
		}
	}
	return time.Time{}, nil, false
}

// look finds what is in the way of a batch.
func (w *watch) look(b *Batch) (Obstacle, bool) {
	checks := []func(*Batch, *Design) (Obstacle, bool){w.barred, w.missed, w.unsupplied, w.untried, w.unripe, w.shut, w.moldless, w.crowded, w.alone}
	for _, check := range checks {
		if o, found := check(b, w.designs[b.DesignID]); found {
			return o, true
		}
	}
	return Obstacle{}, false
}

// take notes what a batch holds.
func (w *watch) take(b *Batch) {
	d := w.designs[b.DesignID]
	if b.State == Planned {
		w.tl.pour(w.left.of(d), d, w.tl.floor(b.Make.From), b.Pieces)
	}
	for _, x := range b.Molds {
		if i := w.problem.moldIndex(x.MoldID); i >= 0 {
			w.molds[i] = append(w.molds[i], b.inMold(x, &w.problem.Molds[i]))
		}
	}
	w.rack = append(w.rack, b.onRack(d))
	for _, at := range b.handsOn() {
		w.hands = append(w.hands, use{at.From, at.To, 1, b})
	}
}

func (b *Batch) inMold(x MoldUse, m *Mold) use {
	return use{b.Make.From, b.Cut.To.Add(time.Duration(m.Clean) * time.Minute), x.Units, b}
}

func (b *Batch) onRack(d *Design) use {
	return use{b.Cut.To, b.Wrap.To, int(calc.Area(b.Sound) * d.Footprint), b}
}

// handsOn is the pour and the cut, as far as they are still to come. Wrapping may be
// split over windows, which the book does not tell.
func (b *Batch) handsOn() []Interval {
	switch b.State {
	case Planned:
		return []Interval{b.Make, b.Cut}
	case Poured:
		return []Interval{b.Cut}
	case Curing:
	}
	return nil
}

// toCome is the steps of a batch that are still to be done, in order.
func (b *Batch) toCome() []Step {
	switch b.State {
	case Planned:
		return []Step{StepMake, StepCut, StepWrap}
	case Poured:
		return []Step{StepCut, StepWrap}
	case Curing:
	}
	return []Step{StepWrap}
}

func (b *Batch) at(s Step) Interval {
	return b.published()[slices.Index([]Step{StepMake, StepCut, StepWrap}, s)]
}

// barred tells of a batch that may not be poured at all, or not in its molds.
func (w *watch) barred(b *Batch, d *Design) (Obstacle, bool) {
	switch {
	case b.State != Planned:
		return Obstacle{}, false
	case d.Blocked != "":
		return obstacle(StepMake, HoldBlocked, "%s may not be poured: %s.", sentence(d.called()), d.Blocked)
	case w.problem.pourable(d, b):
		return Obstacle{}, false
	}
	for _, x := range b.Molds {
		if i := w.problem.moldIndex(x.MoldID); i >= 0 && w.problem.Molds[i].Count < x.Units {
			m := &w.problem.Molds[i]
			return obstacle(StepMake, HoldMold, "It needs %d × %s, and the workshop has %d.", x.Units, m.called(), m.Count)
		}
	}
	return obstacle(StepMake, HoldMold, "%s does not fit its molds any more.", sentence(d.called()))
}

// missed tells of a step whose day has passed.
func (w *watch) missed(b *Batch, _ *Design) (Obstacle, bool) {
	s := b.toCome()[0]
	if at := b.at(s).From; !at.IsZero() && w.tl.day(at).Before(w.tl.today) {
		return obstacle(s, HoldNow, "It was to be %s on %s, and was not.", s.done(), on(w.tl.day(at)))
	}
	return Obstacle{}, false
}

func (w *watch) unsupplied(b *Batch, d *Design) (Obstacle, bool) {
	pour := w.tl.day(b.Make.From)
	ready := d.supplied(w.left.of(d), b.Pieces)
	if b.State != Planned || !ready.After(pour) {
		return Obstacle{}, false
	}
	return obstacle(StepMake, HoldSupplies, "%s It was to be poured on %s.", suppliesOn(ready), on(pour))
}

func (w *watch) untried(b *Batch, d *Design) (Obstacle, bool) {
	trial := w.trials[d.ID]
	judged := w.tl.day(trial.From).AddDays(1)
	if b.State != Planned || !d.NeedsTrial || !trial.From.IsZero() && w.tl.day(b.Make.From).After(judged) {
		return Obstacle{}, false
	}
	return obstacle(StepMake, HoldTrial, "%s needs a trial that is judged on a day before it is poured.", sentence(d.called()))
}

// unripe tells of a cut or a wrap that what came before it does not allow.
func (w *watch) unripe(b *Batch, d *Design) (Obstacle, bool) {
	if b.State == Planned {
		from, to := d.CutWindow.bounds(b.Make, w.tl.zone)
		if b.Cut.From.Before(from.Truncate(time.Minute)) || b.Cut.From.After(to) {
			return obstacle(StepCut, HoldCut, "Poured as planned, it can be cut from %s to %s.", w.clock(from), w.clock(to))
		}
	}
	ripe := later(w.tl.day(b.Cut.From).AddDays(d.CureMin), b.CureUntil)
	if wrap := w.tl.day(b.Wrap.From); !b.Wrap.From.IsZero() && wrap.Before(ripe) {
		return obstacle(StepWrap, HoldCure, "It cures until %s, and was to be wrapped on %s.", on(ripe), on(wrap))
	}
	return Obstacle{}, false
}

func (w *watch) clock(t time.Time) string { return t.In(w.tl.zone).Format("Mon 2 Jan 2006 15:04") }

// shut tells of the first step to come that has no working hours; a person may have
// fixed one outside them.
func (w *watch) shut(b *Batch, _ *Design) (Obstacle, bool) {
	for _, s := range b.toCome() {
		at := b.at(s)
		if b.Pinned || at.From.IsZero() || w.open(s, at) {
			continue
		}
		return obstacle(s, HoldHours, "There are no hours in which it could be %s on %s.", s.done(), w.clock(at.From))
	}
	return Obstacle{}, false
}

// open reports whether a step lies in working hours. Wrapping may be split over several.
func (w *watch) open(s Step, at Interval) bool {
	within := func(from, to solve.Time) bool {
		return slices.ContainsFunc(w.tl.open[s], func(x solve.Window) bool { return x.From <= from && to <= x.To })
	}
	from, to := w.tl.floor(at.From), w.tl.ceil(at.To)
	if s == StepWrap {
		return within(from, from+1) && within(to-1, to)
	}
	return within(from, to)
}

// moldless tells of a mold that is out, or that others hold.
func (w *watch) moldless(b *Batch, _ *Design) (Obstacle, bool) {
	if b.State != Planned {
		return Obstacle{}, false
	}
	for _, x := range b.Molds {
		i := w.problem.moldIndex(x.MoldID)
		m := &w.problem.Molds[i]
		var turns []time.Time
		for _, out := range m.Out {
			turns = append(turns, civil.StartOfDay(out.Days.From, w.tl.zone))
		}
		there := func(t time.Time) int { return m.in(w.tl.day(t)) }
		at, by, found := w.molds[i].clash(b.inMold(x, m), there, turns...)
		switch {
		case !found:
		case there(at) < x.Units:
			return obstacle(StepMake, HoldMold, "On %s it needs %d × %s, and %s there.", on(w.tl.day(at)), x.Units, m.called(), howMany(there(at)))
		default:
			return obstacle(StepMake, HoldMold, "On %s it needs %d × %s, which %s holds.", on(w.tl.day(at)), x.Units, m.called(), w.called(by))
		}
	}
	return Obstacle{}, false
}

func howMany(n int) string {
	switch {
	case n <= 0:
		return "none is"
	case n == 1:
		return "only 1 is"
	}
	return fmt.Sprintf("only %d are", n)
}

func (w *watch) called(b *Batch) string {
	return (&lot{design: w.designs[b.DesignID], batch: b}).called()
}

func (w *watch) crowded(b *Batch, d *Design) (Obstacle, bool) {
	if b.State != Planned {
		return Obstacle{}, false
	}
	at, _, found := w.rack.clash(b.onRack(d), func(time.Time) int { return int(w.problem.Rack) })
	if !found {
		return Obstacle{}, false
	}
	return obstacle(StepCut, HoldRack, "The rack has no room for it on %s.", on(w.tl.day(at)))
}

// alone tells of a step to which nobody can come.
func (w *watch) alone(b *Batch, _ *Design) (Obstacle, bool) {
	for i, at := range b.handsOn() {
		_, by, found := w.hands.clash(use{at.From, at.To, 1, b}, func(time.Time) int { return w.problem.Hands })
		if s := b.toCome()[i]; found && by != nil {
			return obstacle(s, HoldHands, "Nobody is free to %s it on %s: %s needs them then.", s.verb(), w.clock(at.From), w.called(by))
		}
	}
	return Obstacle{}, false
}

func obstacle(s Step, kind HoldKind, format string, args ...any) (Obstacle, bool) {
	return Obstacle{Step: s, Kind: kind, Text: fmt.Sprintf(format, args...)}, true
}

// done is what a step that happened is called.
func (s Step) done() string {
	switch s {
	case StepMake:
		return "poured"
	case StepWrap:
		return "wrapped"
	case StepTrial:
		return "tried"
	case StepCut:
	}
	return "cut"
}
