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
}

// holders lists by resource, then time, which batches hold what.
type holders [][]holder

func (m *model) holders(plan *Plan, lots map[string]*lot) holders {
	out := make(holders, resourceMolds+len(m.problem.Molds))
	add := func(resource int, from, to time.Time, l *lot) {
		out[resource] = append(out[resource], holder{from, to, l})
	}
	for i := range plan.Batches {
		b := &plan.Batches[i]
		l := lots[b.Key]
		add(resourceHands, b.Trial.From, b.Trial.To, l)
		add(resourceHands, b.Make.From, b.Make.To, l)
		add(resourceHands, b.Cut.From, b.Cut.To, l)
		for _, part := range b.WrapParts {
			add(resourceHands, part.From, part.To, l)
		}
		add(resourceRack, b.Cut.To, b.Wrap.To, l)
		for _, use := range b.Molds {
			if j := m.problem.moldIndex(use.MoldID); j >= 0 {
				add(resourceMolds+j, b.Make.From, b.Cut.To.Add(time.Duration(m.problem.Molds[j].Clean)*time.Minute), l)
			}
		}
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b holder) int { return a.from.Compare(b.from) })
	}
	return out
}

// at finds a batch other than one's own that holds a resource at a time, nil for
// none.
func (h holders) at(resource int, t time.Time, own *lot) *lot {
	list := h[resource]
	after, _ := slices.BinarySearchFunc(list, t, func(x holder, t time.Time) int {
		return cmp.Or(x.from.Compare(t), -1) // past all that begin at t as well
	})
	for i := after - 1; i >= 0; i-- {
		if list[i].to.After(t) && list[i].lot != own {
			return list[i].lot
		}
	}
	return nil
}

// explain says for each step of each batch why it is not earlier.
func (d *draft) explain() {
	lots := make(map[string]*lot, len(d.model.lots))
	for _, l := range d.model.lots {
		lots[l.key] = l
	}
	h := d.model.holders(d.plan, lots)
	for i := range d.plan.Batches {
		b := &d.plan.Batches[i]
		l := lots[b.Key]
		b.Holds = d.model.holds(b, l, d.schedule.Jobs[l.job], h)
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
		if kind := cause.Kind; kind != solve.ByMinLag && kind != solve.ByBase {
			out = append(out, m.waits(b, step)...)
		}
		out = append(out, m.hold(b, l, step, cause, h))
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
		out.Kind, out.Text = HoldPlan, "It stays where it is published."
		if l.pinned {
			out.Text = "Its time was fixed by hand."
		}
	case solve.ByCalendar:
		out.Kind, out.Text = HoldHours, fmt.Sprintf("There are no hours to %s it before %s.", step, m.clock(b.step(step).From))
	case solve.ByResource:
		m.resource(&out, l, cause, h)
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
		m.released(&out, l)
	}
	return out
}

// resource tells which mold, rack or work of which batch was in the way.
func (m *model) resource(out *Hold, own *lot, cause solve.Cause, h holders) {
	other := h.at(cause.Resource, m.tl.at(cause.At), own)
	by := "is not to be had"
	if other != nil {
		out.With = other.key
		by = "is taken by " + other.called()
	}
	at := m.clock(m.tl.at(cause.At))
	switch cause.Resource {
	case resourceHands:
		out.Kind, out.Text = HoldHands, fmt.Sprintf("Nobody is free: the time at %s %s.", at, by)
	case resourceRack:
		out.Kind, out.Text = HoldRack, fmt.Sprintf("The rack has no room for it at %s: the last of it %s.", at, by)
	default:
		mold := &m.problem.Molds[cause.Resource-resourceMolds]
		if other == nil {
			out.With = mold.ID
		}
		out.Kind, out.Text = HoldMold, fmt.Sprintf("No %s is free at %s: the last %s.", mold.called(), at, by)
	}
}

// released tells what a pour waited for.
func (m *model) released(out *Hold, l *lot) {
	_, trial := m.trials[l.design.ID]
	switch {
	case l.running():
		out.Kind, out.Text = HoldFact, "It follows from what has happened."
	case trial:
		out.Kind, out.Text = HoldTrial, "Its trial has to be judged first."
	case l.design.SuppliesReady.After(m.tl.today):
		out.Kind, out.Text = HoldSupplies, fmt.Sprintf("Its supplies are there on %s.", on(l.design.SuppliesReady))
	default:
		out.Kind, out.Text = HoldNow, "It is as early as can be."
	}
}
