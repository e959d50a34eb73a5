package schedule

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"ripeline/schedule/solve"
)

// holder is work on a batch that holds a resource for a time.
type holder struct {
	from, to time.Time
	lot      *lot
	units    int // of a mold; 1 of all else
}

// holders lists by resource, then time, which batches hold what. Each list is
// made when it is first asked for.
type holders struct {
	model *model
	plan  *Plan
	lots  map[string]*lot
	lists [][]holder
}

func (d *draft) holders(lots map[string]*lot) holders {
	return holders{d.model, d.plan, lots, make([][]holder, resourceMolds+len(d.model.problem.Molds))}
}

// of lists who holds one resource, by time.
func (h holders) of(resource int) []holder {
	if h.lists[resource] != nil {
		return h.lists[resource]
	}
	size := len(h.plan.Batches)
	if resource == resourceHands {
		size *= 4
	}
	list := make([]holder, 0, size)
	for i := range h.plan.Batches {
		b := &h.plan.Batches[i]
		l := h.lots[b.Key]
		switch resource {
		case resourceHands:
			for _, work := range [...]Interval{b.Trial, b.Make, b.Cut} {
				if !work.From.IsZero() {
					list = append(list, holder{work.From, work.To, l, 1})
				}
			}
			for _, work := range b.WrapParts {
				list = append(list, holder{work.From, work.To, l, 1})
			}
		case resourceRack:
			list = append(list, holder{b.Cut.To, b.Wrap.To, l, 1})
		default:
			list = h.molds(list, resource-resourceMolds, b, l)
		}
	}
	slices.SortStableFunc(list, func(a, b holder) int { return a.from.Compare(b.from) })
	h.lists[resource] = list
	return list
}

// molds adds what a batch holds of one kind of mold.
func (h holders) molds(list []holder, mold int, b *PlanBatch, l *lot) []holder {
	m := &h.model.problem.Molds[mold]
	for _, use := range b.Molds {
		if use.MoldID == m.ID {
			list = append(list, holder{b.Make.From, b.Cut.To.Add(time.Duration(m.Clean) * time.Minute), l, use.Units})
		}
	}
	return list
}

// at finds a batch other than one's own that holds a resource at a time; the zero
// holder for none.
func (h holders) at(resource int, t time.Time, own *lot) holder {
	list := h.of(resource)
	after, _ := slices.BinarySearchFunc(list, t, func(x holder, t time.Time) int {
		return cmp.Or(x.from.Compare(t), -1) // past all that begin at t as well
	})
	for i := after - 1; i >= 0; i-- {
		if list[i].to.After(t) && list[i].lot != own {
			return list[i]
		}
	}
	return holder{}
}

// explain says for each step of each batch why it is not earlier.
func (d *draft) explain() {
	d.explainSome(func(string) bool { return true })
}

// explainSome says so for the batches that are asked for by key.
func (d *draft) explainSome(asked func(key string) bool) {
	lots := make(map[string]*lot, len(d.model.lots))
	for _, l := range d.model.lots {
		lots[l.key] = l
	}
	h := d.holders(lots)
	for i := range d.plan.Batches {
		if b := &d.plan.Batches[i]; asked(b.Key) {
			l := lots[b.Key]
			b.Holds = d.model.holds(b, l, d.schedule.Jobs[l.job], h)
		}
	}
}

// holds lists what holds the steps of one batch.
func (m *model) holds(b *PlanBatch, l *lot, placed *solve.Placement, h holders) []Hold {
	var out []Hold
	for i, step := range [...]Step{StepMake, StepCut, StepWrap} {
		if l.running() && (i == 0 || i == 1 && b.State == Curing) {
			out = append(out, Hold{Step: step, Kind: HoldFact, Text: "It has happened."})
			continue
		}
		cause := placed.Causes[i]
		if step == StepMake && cause.Kind == solve.ByResource && l.supplied(b.Pieces).After(m.tl.today) {
			out = append(out, Hold{Step: step, Kind: HoldSupplies, Text: suppliesOn(l.supplied(b.Pieces))})
		}
		if kind := cause.Kind; kind != solve.ByMinLag && (kind != solve.ByBase || l.running()) {
			out = append(out, m.waits(b, step)...)
		}
		if cause.Kind == solve.ByCalendar {
			out = append(out, m.closed(b, l, step, h)...)
		} else {
			out = append(out, m.hold(b, l, step, cause, h))
		}
	}
	return out
}

// waits is the lag behind a step that something else delays further.
func (m *model) waits(b *PlanBatch, step Step) []Hold {
	switch step {
	case StepCut:
		return []Hold{{Step: step, Kind: HoldCut, Text: fmt.Sprintf("It can be cut from %s.", m.clock(b.CutFrom))}}
	case StepWrap:
		text := fmt.Sprintf("Its minimum cure is over on %s", on(b.CureMin))
		if b.CureTarget != b.CureMin {
			text += fmt.Sprintf(", the wished-for one on %s", on(b.CureTarget))
		}
		return []Hold{{Step: step, Kind: HoldCure, Text: text + "."}}
	}
	return nil
}

// step is when a step is.
func (b *PlanBatch) step(step Step) Interval {
	switch step {
	case StepMake:
		return b.Make
	case StepCut:
		return b.Cut
	case StepWrap:
		return b.Wrap
	}
	return b.Trial
}

// clock writes an instant for a person.
func (m *model) clock(t time.Time) string { return t.In(m.tl.zone).Format("Mon 2 Jan 15:04") }

// hold tells one cause.
func (m *model) hold(b *PlanBatch, l *lot, step Step, cause solve.Cause, h holders) Hold {
	out := Hold{Step: step}
	switch cause.Kind {
	case solve.ByBase:
		out.Kind, out.Text = HoldPlan, "It keeps the time your plan gave it."
		if l.pinned {
			out.Text = "Its time was fixed by hand."
		}
	case solve.ByResource:
		m.taken(&out, l, cause.Resource, m.tl.at(cause.At), h)
	case solve.ByMinLag:
		if step == StepWrap {
			return m.waits(b, step)[0]
		}
		out.Kind, out.Text = HoldCut, fmt.Sprintf("It can be cut from %s.", m.clock(b.CutFrom))
	case solve.ByMaxLag:
		out.Kind, out.Text = HoldCut, fmt.Sprintf("Poured earlier, it could not be cut within %s.", l.design.CutWindow)
		if step == StepCut {
			out.Kind, out.Text = HoldCure, "Cut earlier, it could not be wrapped in time."
		}
	default:
		m.released(&out, b, l)
	}
	return out
}

// taken tells which mold, rack or work of which batch is in the way at a time, and
// until when.
func (m *model) taken(out *Hold, own *lot, resource int, t time.Time, h holders) {
	by := "is not to be had"
	other := h.at(resource, t, own)
	if other.lot != nil {
		out.With = other.lot.key
		by = fmt.Sprintf("is taken by %s until %s", other.lot.called(), m.clock(other.to))
	}
	at := m.clock(t)
	switch resource {
	case resourceHands:
		out.Kind, out.Text = HoldHands, fmt.Sprintf("Nobody is free at %s: the time %s.", at, by)
	case resourceRack:
		out.Kind, out.Text = HoldRack, fmt.Sprintf("The rack has no room for it at %s: the last of it %s.", at, by)
	default:
		mold := &m.problem.Molds[resource-resourceMolds]
		if other.lot == nil {
			out.With = mold.ID
		}
		out.Kind, out.Text = HoldMold, fmt.Sprintf("No %s is free at %s: the last %s.", mold.called(), at, by)
	}
}

// released tells what a pour waited for.
func (m *model) released(out *Hold, b *PlanBatch, l *lot) {
	_, trial := m.trials[l.design.ID]
	switch {
	case l.running():
		out.Kind, out.Text = HoldFact, "It follows from what has happened."
	case trial:
		out.Kind, out.Text = HoldTrial, "Its trial has to be judged first."
	case l.supplied(b.Pieces).After(m.tl.today):
		out.Kind, out.Text = HoldSupplies, suppliesOn(l.supplied(b.Pieces))
	default:
		out.Kind, out.Text = HoldNow, "It is as early as can be."
	}
}
