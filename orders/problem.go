package orders

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"strings"
	"time"

	"ripeline/calc"
	"ripeline/schedule"
	"ripeline/schedule/civil"
)

// problem is the snapshot as the planner takes it. The same snapshot and
// clock always give the same problem; its seed is the workshop's own.
func (s *Snapshot) problem(now time.Time) (*schedule.Problem, error) {
	zone, err := s.Workshop.location()
	if err != nil {
		return nil, err
	}
	p := &schedule.Problem{
		Now: now, Zone: zone,
		Hands: s.Workshop.Hands, Firm: s.Workshop.FirmDays,
		Seed: seedOf(s.Workshop.ID), Risks: risks(s.Failures),
	}
	today := civil.Of(now.In(zone))
	s.addHours(p, today)
	s.addMolds(p)
	for _, r := range s.Racks {
		if !r.Retired {
			p.Rack += r.area()
		}
	}
	for _, d := range s.Designs {
		p.Designs = append(p.Designs, s.design(d))
	}
	for _, o := range s.Orders {
		p.Orders = append(p.Orders, o.asked())
	}
	s.addPieces(p)
	s.stockDesigns(p, today)
	return p, nil
}

// seedOf turns an id into a seed.
func seedOf(id string) uint64 {
	h := fnv.New64a()
	_, _ = h.Write([]byte(id)) // a hash never fails to write
	return h.Sum64()
}

// addHours adds the weekly hours, and of what is dated what is not past.
func (s *Snapshot) addHours(p *schedule.Problem, today civil.Date) {
	for _, w := range s.Workshop.Hours {
		p.Hours = append(p.Hours, schedule.Window(w))
	}
	for _, x := range s.Extras {
		if !x.Date.Before(today) {
			p.Extra = append(p.Extra, schedule.ExtraWindow{Date: x.Date, From: x.From, To: x.To, Steps: x.Steps})
		}
	}
	for _, c := range s.Closed {
		if !c.To.Before(today) {
			p.Closed = append(p.Closed, civil.Range{From: c.From, To: c.To})
		}
	}
}

// addMolds lists retired molds too: a batch may still stand in one. No design
// fits them any more.
func (s *Snapshot) addMolds(p *schedule.Problem) {
	for _, m := range s.Molds {
		kind := schedule.Mold{ID: m.ID, Name: m.Name, Count: m.Count, Clean: m.CleanMinutes}
		for _, out := range s.MoldOuts {
			if out.MoldID == m.ID {
				kind.Out = append(kind.Out, schedule.MoldOut{Days: civil.Range{From: out.From, To: out.To}, Units: out.Units})
			}
		}
		p.Molds = append(p.Molds, kind)
	}
}

// addPieces adds what there is of soap, and whom it is for.
func (s *Snapshot) addPieces(p *schedule.Problem) {
	given := make(map[string][]schedule.Share)
	for _, a := range s.Allocations {
		given[a.source()] = append(given[a.source()], schedule.Share{LineID: a.LineID, Pieces: a.Pieces})
	}
	for _, b := range s.Batches {
		out := schedule.Batch{
			ID: b.ID, Lot: b.Lot, DesignID: b.DesignID, State: schedule.BatchState(b.State),
			Molds: b.Molds, Pieces: b.Pieces, Sound: b.Sound, Pinned: b.Pinned,
			Trial: s.trial(b), Make: b.Make, Cut: b.Cut, Wrap: b.Wrap, CureUntil: b.CureUntil,
			For: given[b.ID],
		}
		if b.State != BatchPlanned {
			out.Make = happened(b.Make, p.Now)
		}
		if b.State == BatchCuring {
			out.Cut = happened(b.Cut, p.Now)
		}
		p.Batches = append(p.Batches, out)
	}
	for _, k := range s.Stocks {
		if k.Pieces > 0 {
			p.Stock = append(p.Stock, schedule.Stock{ID: k.ID, DesignID: k.DesignID, Pieces: k.Pieces, For: given[k.ID]})
		}
	}
}

// happened is what happened, by now at the latest where it was written down by a
// clock that was wrong by days: the planner would refuse the whole book.
func happened(at schedule.Interval, now time.Time) schedule.Interval {
	ahead := at.To.Sub(now)
	if ahead <= schedule.ClockSlack {
		return at
	}
	return schedule.Interval{From: at.From.Add(-ahead), To: now}
}

// trial is the published trial that b waits for, zero when there is none.
func (s *Snapshot) trial(b Batch) schedule.Interval {
	for _, t := range s.Tasks {
		if t.Kind == TaskTrial && t.DesignID == b.DesignID && t.Status == TaskOpen && b.State == BatchPlanned {
			return schedule.Interval{From: t.From, To: t.To}
		}
	}
	return schedule.Interval{}
}

// source is the id of the batch or stock the pieces come from.
func (a Allocation) source() string { return a.BatchID + a.StockID }

// asked is the order as the planner takes it.
func (o Order) asked() schedule.Order {
	out := schedule.Order{
		ID: o.ID, Name: o.called(), Accepted: o.Status == Accepted,
		NeededBy: o.NeededBy, HandOver: o.HandOver, Weight: max(1, o.Weight), Told: o.Told,
	}
	for _, l := range o.Lines {
		out.Lines = append(out.Lines, schedule.Line{ID: l.ID, DesignID: l.DesignID, Pieces: l.Total()})
	}
	return out
}

// called is what a person calls the order.
func (o Order) called() string {
	if title := strings.TrimSpace(o.Title); title != "" {
		return title
	}
	return fmt.Sprintf("order %d", o.Number)
}

// deadline is the last day on which all of the order may be wrapped.
func (o Order) deadline() civil.Date { return o.NeededBy.AddDays(-o.HandOver) }

// design is d as far as time and capacity care.
func (s *Snapshot) design(d Design) schedule.Design {
	recipe, _ := find(s.Recipes, d.RecipeID, func(r Recipe) string { return r.ID })
	out := schedule.Design{
		ID: d.ID, Name: d.Name,
		MakeFixed: recipe.MakeFixed, CutFixed: recipe.CutFixed, WrapFixed: recipe.WrapFixed,
		MakePer: recipe.MakePer, CutPer: recipe.CutPer, WrapPer: recipe.WrapPer,
		CutWindow: schedule.CutWindow{Min: recipe.CutMin, Max: recipe.CutMax, Days: recipe.CutInDays},
		CureMin:   recipe.CureMin, CureTarget: recipe.CureTarget,
		TrialMinutes: recipe.TrialMinutes,
	}
	trial := s.trialOf(d)
	if out.NeedsTrial = trial.Needed; trial.Needed {
		out.TrialMinutes = cmp.Or(recipe.TrialMinutes, usualTrialMinutes)
	}
	out.Spoil, out.FailRate = rates(d, s.history(d.ID))
	out.Fits, out.Footprint = s.fits(d)
	if bar := s.bar(d); bar != nil {
		out.Blocked = bar.Text
	}
	return out
}

// fits is how d sits in each of its molds, and the rack area of its largest
// piece.
func (s *Snapshot) fits(d Design) (fits []schedule.Fit, footprint calc.Area) {
	for _, id := range d.MoldIDs {
		m, ok := find(s.Molds, id, func(m Mold) string { return m.ID })
		if !ok || m.Retired {
			continue
		}
		cut, err := calc.Yield(m.calcMold(), calc.CutPlan(d.Cut))
		if err != nil || cut.Pieces > maxPieces {
			continue // a mold changed since: it no longer suits the cut plan
		}
		fits = append(fits, m.fit(cut))
		footprint = max(footprint, cut.Footprint)
	}
	return fits, footprint
}

// find is the first of all that has the id.
func find[T any](all []T, id string, idOf func(T) string) (T, bool) {
	for _, r := range all {
		if idOf(r) == id {
			return r, true
		}
	}
	var none T
	return none, false
}
