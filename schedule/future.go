package schedule

import (
	"cmp"
	"container/heap"
	"math"
	"math/rand/v2"
	"slices"

	"ripeline/schedule/solve"
)

// future is one course of events in progress.
type future struct {
	*forecast
	dice    *rand.Rand
	sizers  map[string]*lotsizer // of the worker alone, since they remember
	live    *solve.Live
	batches []batchToBe
	events  mishaps
	touched []bool         // by goods: whether anything happened to it
	late    [][]solve.Time // by goods, then step of its supplies: when that comes, where it is late, else 0
}

// batchToBe is a batch in one future.
type batchToBe struct {
	begun
	ready solve.Time
	gone  bool
}

// mishap is something that becomes known at a time.
type mishap struct {
	at    solve.Time
	batch int
	kind  mishapKind
	sound int        // pieces counted at the cut
	until solve.Time // the day a slow cure ends
}

type mishapKind int

const (
	counted mishapKind = iota // the cut leaves fewer or more sound pieces
	slow                      // it is not ready to be wrapped
	lost                      // all of it is lost
)

// mishaps is a heap by time, then batch, then kind.
type mishaps []mishap

func (m mishaps) Len() int      { return len(m) }
func (m mishaps) Swap(i, j int) { m[i], m[j] = m[j], m[i] }
func (m mishaps) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(m[i].at, m[j].at), cmp.Compare(m[i].batch, m[j].batch), cmp.Compare(m[i].kind, m[j].kind)) < 0
}
func (m *mishaps) Push(x any) { *m = append(*m, x.(mishap)) }
func (m *mishaps) Pop() any {
	last := (*m)[len(*m)-1]
	*m = (*m)[:len(*m)-1]
	return last
}

// imagine begins a future; without dice nothing is to happen in it.
func (f *forecast) imagine(dice *rand.Rand, sizers map[string]*lotsizer) *future {
	u := &future{forecast: f, dice: dice, sizers: sizers, touched: make([]bool, len(f.goods)), late: make([][]solve.Time, len(f.goods))}
	u.batches = make([]batchToBe, len(f.batches), len(f.batches)+16)
	for i, b := range f.batches {
		u.batches[i] = batchToBe{begun: b, ready: b.place.End()}
	}
	return u
}

// play draws what happens, and lets the maker act on it in the order it happens.
func (u *future) play() {
	u.live = u.stands.schedule.Live()
	u.supplies()
	for i := range u.batches {
		u.draw(i)
	}
	for u.events.Len() > 0 {
		u.happen(heap.Pop(&u.events).(mishap))
	}
}

// supplies draws which deliveries are late, and puts off the batches that wait
// for them.
func (u *future) supplies() {
	tl := u.planner.tl
	for g := range u.goods {
		d := u.goods[g].design
		for k, s := range d.Supplies {
			if !s.From.After(tl.today) || u.dice.Float64() >= u.risks.LateSupplies {
				continue
			}
			late := tl.dayStart(s.From.AddDays(1 + u.dice.IntN(u.risks.LateDays)))
			if u.late[g] == nil {
				u.late[g] = make([]solve.Time, len(d.Supplies)+1) // the last for what no step does for
			}
			u.late[g][k] = late
			for i := range u.batches {
				if b := &u.batches[i]; b.goods == g && b.waitsFor(k) && b.place.Starts[0] < late {
					u.putOff(i, late)
				}
			}
		}
	}
}

// waitsFor reports whether a batch is poured of what comes with a step of the
// supplies.
func (b *begun) waitsFor(step int) bool {
	return !b.lot.running() && b.lot.step(b.lot.mixes[b.place.Mode].pieces) == step
}

// putOff moves a whole batch to after a time.
func (u *future) putOff(i int, after solve.Time) {
	b := &u.batches[i]
	u.touched[b.goods] = true
	u.live.Remove(b.job, b.place)
	job := *b.job
	job.Release, job.Base = after, nil
	place := u.live.Place(&job)
	if place == nil {
		b.gone = true
		return
	}
	b.job, b.place, b.ready, b.sound = &job, place, place.End(), b.lot.sound(place)
}

// draw draws what happens to a batch, from where it is now.
func (u *future) draw(i int) {
	b := &u.batches[i]
	if b.gone {
		return
	}
	d, starts := u.goods[b.goods].design, b.place.Starts
	curing := b.lot.running() && b.lot.batch.State == Curing
	before := d.FailRate * u.risks.BeforeCut
	onRack := (d.FailRate - before) / max(1-before, 1e-9) // of those that came so far
	if !curing {
		if u.dice.Float64() < before {
			u.add(mishap{at: starts[1], batch: i, kind: lost})
			return
		}
		if n := u.sound(b, d); n != b.sound {
			u.add(mishap{at: b.place.Ends[1], batch: i, kind: counted, sound: n})
		}
	}
	from, to := max(u.planner.tl.now, b.place.Ends[1]), starts[2]
	if curing && to > b.place.Ends[1] { // part of its time on the rack is over
		onRack *= float64(max(0, to-from)) / float64(to-b.place.Ends[1])
	}
	if u.dice.Float64() < onRack {
		u.add(mishap{at: from + int(u.dice.Float64()*float64(max(0, to-from))), batch: i, kind: lost})
		return
	}
	u.drawCure(i, d)
}

// drawCure draws whether a batch cures slowly; one that was weighed is known.
func (u *future) drawCure(i int, d *Design) {
	b := &u.batches[i]
	if b.lot.running() && !b.lot.batch.CureUntil.IsZero() || u.dice.Float64() >= u.risks.SlowCure {
		return
	}
	tl := u.planner.tl
	cut := tl.day(tl.at(b.place.Starts[1]))
	until := tl.dayStart(cut.AddDays(d.CureMin + 1 + u.dice.IntN(u.risks.SlowDays)))
	if until > b.place.Starts[2] {
		u.add(mishap{at: b.place.Starts[2], batch: i, kind: slow, until: until})
	}
}

// sound draws how many pieces of a batch the cut leaves.
func (u *future) sound(b *batchToBe, d *Design) int {
	var pieces int
	if b.lot.running() {
		pieces = b.lot.batch.Pieces
	} else {
		pieces = b.lot.mixes[b.place.Mode].pieces
	}
	return max(0, b.sound-(u.spoiled(pieces, d.Spoil)-(pieces-d.sound(pieces))))
}

// spoiled draws how many of so many pieces are spoiled, each with the same
// chance. It leaps from one to the next: the sound pieces between are geometric.
func (u *future) spoiled(pieces int, chance float64) int {
	if chance <= 0 {
		return 0
	}
	n := 0
	for at := 0; ; n++ {
		leap := math.Log(1-u.dice.Float64()) / math.Log1p(-chance)
		if leap >= float64(pieces-at) {
			return n
		}
		at += int(leap) + 1
	}
}

func (u *future) add(m mishap) { heap.Push(&u.events, m) }

// happen lets a mishap happen, and the maker answer to it.
func (u *future) happen(m mishap) {
	b := &u.batches[m.batch]
	u.touched[b.goods] = true
	switch m.kind {
	case counted:
		b.sound = m.sound
	case lost:
		u.live.Remove(b.job, b.place)
		b.gone = true
	case slow:
		if place, ok := u.live.Delay(b.job, b.place, m.until); ok {
			b.place, b.ready = place, place.End()
		} else {
			b.gone = true
		}
	}
	u.again(b.goods, m.at)
}

// mostRemakes bounds what is poured again of one design in one future.
const mostRemakes = 50

// again pours what a design lacks, for the first who would go without.
func (u *future) again(g int, now solve.Time) {
	lacking, by := u.lacking(g)
	d := u.goods[g].design
	if lacking <= 0 || d.Blocked != "" || len(u.batches) > len(u.forecast.batches)+mostRemakes {
		return
	}
	for _, size := range u.sizers[d.ID].sizes(lacking, mostUnits*len(d.Fits)) {
		l := &lot{design: d, mixes: u.sizers[d.ID].mixes(size)}
		if len(l.mixes) == 0 {
			return
		}
		u.stands.model.lend([]*lot{l})
		job := u.stands.model.job(l)
		job.Release, job.Due, job.After = max(now, job.Release), by, nil
		if late := u.late[g]; late != nil {
			for i, x := range l.mixes {
				first := &job.Modes[i].Tasks[0]
				first.Earliest = max(first.Earliest, late[l.step(x.pieces)])
			}
		}
		place := u.live.Place(&job)
		if place == nil {
			return
		}
		u.batches = append(u.batches, batchToBe{begun: begun{g, l, &job, place, l.sound(place)}, ready: place.End()})
		u.draw(len(u.batches) - 1)
	}
}

// sources lists what there is of a design by when it is ready.
func (u *future) sources(g int) []pile {
	out := []pile{{-solve.Never, u.goods[g].stock}}
	for i := range u.batches {
		if b := &u.batches[i]; b.goods == g && !b.gone {
			out = append(out, pile{b.ready, b.sound})
		}
	}
	slices.SortStableFunc(out, func(a, b pile) int { return cmp.Compare(a.ready, b.ready) })
	return out
}

// pile is pieces that are ready at a time.
type pile struct {
	ready  solve.Time
	pieces int
}

// lacking is how many pieces of a design there are too few in all, and the date of
// the first order that does not get all of its pieces in time.
func (u *future) lacking(g int) (pieces int, by solve.Time) {
	by = solve.Never
	u.share(g, func(w want, ready solve.Time) {
		if ready > w.by {
			by = min(by, w.by)
		}
	})
	for _, w := range u.goods[g].wanted {
		pieces += w.pieces
	}
	for _, s := range u.sources(g) {
		pieces -= s.pieces
	}
	return pieces, by
}

// missed lists the orders that do not get all of a design in time.
func (u *future) missed(g int) []int {
	var out []int
	u.share(g, func(w want, ready solve.Time) {
		if ready > w.by {
			out = append(out, w.order)
		}
	})
	return out
}

// share gives the pieces of a design to the earliest dates first, from what is
// ready first, and tells when each has its last: Never when pieces lack.
func (u *future) share(g int, tell func(w want, ready solve.Time)) {
	sources := u.sources(g)
	for _, w := range u.goods[g].wanted {
		ready, open := -solve.Never, w.pieces
		for open > 0 && len(sources) > 0 {
			n := min(open, sources[0].pieces)
			open -= n
			sources[0].pieces -= n
			if n > 0 {
				ready = sources[0].ready
			}
			if sources[0].pieces == 0 {
				sources = sources[1:]
			}
		}
		if open > 0 {
			ready = solve.Never
		}
		tell(w, ready)
	}
}
