package schedule

import (
	"fmt"
	"slices"

	"ripeline/schedule/civil"
	"ripeline/schedule/solve"
)

// plenty is the pieces of an endless supply: more than any sum of batches takes.
const plenty = 1 << 40

// never is a day on which what has no supplies, now or to come, would have them.
var never = civil.Date{Year: 9999, Month: 12, Day: 31}

// pieces is what each step of a design's supplies does for, in all planned batches.
func (d *Design) pieces() []int {
	out := make([]int, len(d.Supplies))
	for k, s := range d.Supplies {
		out[k] = s.most()
	}
	return out
}

func (s Supply) most() int {
	if s.Endless {
		return plenty
	}
	return s.Pieces
}

// stepAt is the last step of a design's supplies that has come by a time, -1
// before the first.
func (tl *timeline) stepAt(d *Design, t solve.Time) int {
	k := len(d.Supplies) - 1
	for k >= 0 && tl.dayStart(d.Supplies[k].From) > t {
		k--
	}
	return k
}

// pour takes pieces that are poured at a time out of what is left of each step of a
// design's supplies: of that which has come by then, and so of all later ones.
func (tl *timeline) pour(left []int, d *Design, t solve.Time, pieces int) {
	for k := max(0, tl.stepAt(d, t)); k < len(left); k++ {
		left[k] -= pieces
	}
}

// ration gives each lot, before those after it, what it can use of the supplies of
// its design, step by step: with how many pieces it may be poured from then on. What
// all lots may use of a step is no more than it does for, wherever they are poured.
// What is firm or fixed by hand and can stay where it is comes before all else, which
// must not push it out. A published lot first takes only what it needs to stay, so that
// what is there before is left to others; and larger fills than the first of a lot are
// only served when every lot has had that.
func (m *model) ration(lots []*lot) {
	var rest []*lot
	for _, l := range lots {
		if l.running() || len(l.design.Supplies) == 0 {
			continue
		}
		l.rations = make([]int, len(l.design.Supplies))
		if m.stays(l) {
			m.serve(l, l.mixes[0].pieces, m.publishedStep(l))
		} else {
			rest = append(rest, l)
		}
	}
	for _, l := range rest {
		m.serve(l, l.mixes[0].pieces, m.publishedStep(l))
	}
	for _, l := range lots {
		if l.rations != nil {
			m.serve(l, plenty, 0)
		}
	}
}

// stays reports whether a lot is fixed by hand or firm, and what is left of the
// supplies does for it where it is.
func (m *model) stays(l *lot) bool {
	if l.batch == nil || l.batch.Make.From.IsZero() {
		return false
	}
	start := m.tl.floor(l.batch.Make.From)
	if start < m.tl.now || !l.pinned && start >= m.firmEnd {
		return false
	}
	left := m.supplies.of(l.design)[m.publishedStep(l):]
	return !slices.ContainsFunc(left, func(n int) bool { return n < l.mixes[0].pieces })
}

// publishedStep is the step of the supplies that has come when a lot is poured as
// published, 0 for a new one.
func (m *model) publishedStep(l *lot) int {
	if l.batch == nil || l.batch.Make.From.IsZero() {
		return 0
	}
	return max(0, m.tl.stepAt(l.design, max(m.tl.now, m.tl.floor(l.batch.Make.From))))
}

// serve gives a lot the most it can be poured with, up to a limit, of what is left
// of each step from a first one on.
func (m *model) serve(l *lot, limit, first int) {
	left := m.supplies.of(l.design)
	for k := len(left) - 1; k >= first; k-- {
		has := l.rations[k]
		limit = l.mostOf(min(limit, left[k]+has))
		l.rations[k] = limit
		left[k] -= limit - has
	}
}

// mostOf is the most pieces that a lot can be poured with of what does for so many,
// 0 when it can not be poured at all.
func (l *lot) mostOf(pieces int) int {
	most := 0
	for _, x := range l.mixes {
		if x.pieces <= pieces {
			most = max(most, x.pieces)
		}
	}
	return most
}

// settle leaves of the supplies what none of some lots is poured of where it is
// placed.
func (m *model) settle(lots []*lot, s *solve.Schedule) {
	for _, l := range lots {
		if l.rations == nil {
			continue
		}
		left, place := m.supplies.of(l.design), s.Jobs[l.job]
		for k, n := range l.rations {
			left[k] += n
		}
		if place != nil {
			m.tl.pour(left, l.design, place.Starts[0], l.mixes[place.Mode].pieces)
		}
	}
}

// leftovers is, by design id, the pieces that what is left of each step of its
// supplies does for.
type leftovers map[string][]int

// of is what is left for one design, for whoever takes of it to change.
func (list leftovers) of(d *Design) []int {
	left, begun := list[d.ID]
	if !begun {
		left = d.pieces()
		list[d.ID] = left
	}
	return left
}

func (list leftovers) clone() leftovers {
	out := make(leftovers, len(list))
	for id, left := range list {
		out[id] = slices.Clone(left)
	}
	return out
}

// lend gives lots of one design that are only thought of what they could be poured
// of, the others being poured when they are, and leaves the supplies as they are.
func (m *model) lend(lots []*lot) {
	if len(lots) == 0 || len(lots[0].design.Supplies) == 0 {
		return
	}
	own := *m
	own.supplies = m.supplies.clone()
	own.ration(lots)
}

// without is the model with what a lot is poured of given back to the supplies.
func (m *model) without(l *lot, s *solve.Schedule) *model {
	if l.rations == nil {
		return m
	}
	out := *m
	out.supplies = m.supplies.clone()
	place := s.Jobs[l.job]
	m.tl.pour(out.supplies.of(l.design), l.design, place.Starts[0], -l.mixes[place.Mode].pieces)
	return &out
}

// step is the first step of its design's supplies that lets a lot be poured with so
// many pieces: -1 when it waits for none, and one beyond the last when none does.
func (l *lot) step(pieces int) int {
	if l.rations == nil {
		return -1
	}
	k := slices.IndexFunc(l.rations, func(n int) bool { return n >= pieces })
	if k < 0 {
		k = len(l.rations)
	}
	return k
}

// supplied is the first day on which a lot can be poured with so many pieces; the
// zero day when it waits for no supplies, never when there will be none for it.
func (l *lot) supplied(pieces int) civil.Date {
	switch k := l.step(pieces); {
	case k < 0:
		return civil.Date{}
	case k == len(l.design.Supplies):
		return never
	default:
		return l.design.Supplies[k].From
	}
}

// supplied is the first day from which what is left of each step of a design's
// supplies does for so many pieces: the zero day when it waits for none, never when
// there will be none.
func (d *Design) supplied(left []int, pieces int) civil.Date {
	first := never
	for k := len(left) - 1; k >= 0 && left[k] >= pieces; k-- {
		first = d.Supplies[k].From
	}
	if len(left) == 0 {
		return civil.Date{}
	}
	return first
}

// unsupplied reports whether there are not enough supplies for a lot, now or to come.
func (l *lot) unsupplied() bool {
	return l.rations != nil && l.rations[len(l.rations)-1] == 0
}

// suppliesOn tells from which day on there are supplies.
func suppliesOn(day civil.Date) string {
	if day == never {
		return "There are not enough supplies for it, now or to come."
	}
	return fmt.Sprintf("Its supplies are there on %s.", on(day))
}

// supplied is the first day on which a batch of a plan can be poured, the others of
// its design being poured when they are; the zero day when it waits for no supplies.
func (plan *Plan) supplied(b *PlanBatch, d *Design, tl *timeline) civil.Date {
	if len(d.Supplies) == 0 {
		return civil.Date{}
	}
	left := d.pieces()
	for i := range plan.Batches {
		x := &plan.Batches[i]
		if x.State == Planned && x.DesignID == d.ID && x.Key != b.Key {
			tl.pour(left, d, tl.floor(x.Make.From), x.Pieces)
		}
	}
	return d.supplied(left, b.Pieces)
}
