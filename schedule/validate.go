package schedule

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"ripeline/schedule/civil"
)

// FieldError says which field of a problem is wrong, and what to do about it.
type FieldError struct {
	Field   string // such as designs[oat].cut_window
	Message string
}

func (e *FieldError) Error() string { return e.Field + ": " + e.Message }

// faults collects field errors.
type faults []error

func (f *faults) add(field, format string, args ...any) {
	*f = append(*f, &FieldError{Field: field, Message: fmt.Sprintf(format, args...)})
}

// need adds a fault unless ok holds.
func (f *faults) need(ok bool, field, format string, args ...any) {
	if !ok {
		f.add(field, format, args...)
	}
}

// place is an element of a list in a problem, such as orders[7], or of a list
// within that. It is written out only where something is wrong.
type place struct{ list, id, inner, innerID string }

func (at place) String() string {
	if at.inner == "" {
		return fmt.Sprintf("%s[%s]", at.list, at.id)
	}
	return fmt.Sprintf("%s[%s].%s[%s]", at.list, at.id, at.inner, at.innerID)
}

// needAt adds a fault at a place, or at one of its fields such as .pieces,
// unless ok holds.
func (f *faults) needAt(ok bool, at place, field, format string, args ...any) {
	if !ok {
		f.add(at.String()+field, format, args...)
	}
}

// Validate joins all that is wrong with a problem as FieldErrors: what makes no
// sense, and what could never be planned, such as a cut window that no working
// hour can meet. Solve refuses only the first kind; for the second it has
// reasons in the plan.
func (p *Problem) Validate() error {
	if err := p.check(); err != nil {
		return err
	}
	var f faults
	for i := range p.Designs {
		p.checkPlannable(&f, &p.Designs[i])
	}
	return errors.Join(f...)
}

// Limits of what a workshop may ask for; beyond them a number is surely a slip.
const (
	mostHands  = 100
	mostCount  = 1000
	mostPieces = 100_000
	mostDays   = 3650
	mostTask   = 24 * 60
	mostPer    = 24 * 60 * 60
	mostArea   = 100_000_000 // mm2 for a piece, so that no sum over batches can overflow
)

// check reports what makes no sense.
func (p *Problem) check() error {
	var f faults
	f.need(!p.Now.IsZero(), "now", "say what time it is")
	f.need(p.Zone != nil, "zone", "name the workshop's time zone, like Europe/Lisbon")
	f.need(p.Hands >= 1 && p.Hands <= mostHands, "hands", "%d people can not share the work; use 1 to %d", p.Hands, mostHands)
	f.need(p.Rack >= 0, "rack", "a rack can not have a negative area")
	f.need(p.Firm >= 0 && p.Firm <= mostDays, "firm", "use 0 to %d days", mostDays)
	f.need(p.Budget >= 0, "budget", "use 0 for the usual budget, or a number of schedules")
	p.checkHours(&f)
	p.checkRisks(&f)
	p.checkMolds(&f)
	p.checkDesigns(&f)
	p.checkOrders(&f)
	p.checkBatches(&f)
	return errors.Join(f...)
}

func (p *Problem) checkHours(f *faults) {
	for i, w := range p.Hours {
		field := fmt.Sprintf("hours[%d]", i)
		f.need(w.Weekday >= 0 && w.Weekday <= 6, field, "there is no such weekday")
		checkWindow(f, field, w.From, w.To, w.Steps)
	}
	for i, w := range p.Extra {
		field := fmt.Sprintf("extra[%d]", i)
		f.need(w.Date.Valid(), field, "give the date of the extra window")
		checkWindow(f, field, w.From, w.To, w.Steps)
	}
	for i, r := range p.Closed {
		f.need(r.From.Valid() && r.To.Valid() && !r.Empty(), fmt.Sprintf("closed[%d]", i), "the last closed day must not be before the first")
	}
	for i, b := range p.Busy {
		f.need(!b.To.Before(b.From), fmt.Sprintf("busy[%d]", i), "it ends before it begins")
	}
}

func checkWindow(f *faults, field string, from, to civil.Minute, allowed []Step) {
	f.need(from.Valid() && to.Valid() && from < to, field, "hours must begin before they end, between 00:00 and 24:00")
	for _, s := range allowed {
		f.need(s.index() >= 0, field, "%q is not a step; use trial, make, cut or wrap", s)
	}
}

func (p *Problem) checkMolds(f *faults) {
	seen := map[string]bool{}
	for _, m := range p.Molds {
		field := fmt.Sprintf("molds[%s]", m.ID)
		f.need(m.ID != "" && !seen[m.ID], field, "each kind of mold needs its own id")
		seen[m.ID] = true
		f.need(m.Count >= 0 && m.Count <= mostCount, field+".count", "use 0 to %d", mostCount)
		f.need(m.Clean >= 0 && m.Clean <= mostTask*7, field+".clean", "use 0 minutes to a week")
		for i, o := range m.Out {
			f.need(o.Units >= 0 && o.Days.From.Valid() && !o.Days.Empty(), fmt.Sprintf("%s.out[%d]", field, i),
				"give the first and last day and how many are missing")
		}
	}
}

func (p *Problem) checkDesigns(f *faults) {
	seen := map[string]bool{}
	for i := range p.Designs {
		d := &p.Designs[i]
		field := fmt.Sprintf("designs[%s]", d.ID)
		f.need(d.ID != "" && !seen[d.ID], field, "each design needs its own id")
		seen[d.ID] = true
		d.check(f, field)
	}
}

func (d *Design) check(f *faults, field string) {
	for _, m := range []int{d.MakeFixed, d.CutFixed, d.WrapFixed, d.TrialMinutes} {
		f.need(m >= 0 && m <= mostTask, field+".minutes", "a step can not take %d minutes; use 0 to %d", m, mostTask)
	}
	for _, s := range []int{d.MakePer, d.CutPer, d.WrapPer} {
		f.need(s >= 0 && s <= mostPer, field+".minutes", "a piece can not take %d seconds", s)
	}
	w := d.CutWindow
	f.need(w.Min >= 0 && w.Min <= w.Max && w.Max <= mostDays*24, field+".cut_window", "the cut window must open before it closes")
	f.need(d.CureMin >= 0 && d.CureMin <= mostDays, field+".cure_min", "use 0 to %d days", mostDays)
	f.need(d.CureTarget >= d.CureMin && d.CureTarget <= mostDays, field+".cure_target", "the wished-for cure can not be shorter than the minimum of %d days", d.CureMin)
	f.need(d.Spoil >= 0 && d.Spoil <= 0.5, field+".spoil", "use a share from 0 to 0.5")
	f.need(d.FailRate >= 0 && d.FailRate <= 1, field+".fail_rate", "use a share from 0 to 1")
	d.checkSupplies(f, field)
	f.need(d.Footprint >= 0 && d.Footprint <= mostArea, field+".footprint", "a piece can not take %d mm2 of the rack; use 0 to %d", d.Footprint, mostArea)
	seen := map[string]bool{}
	for _, fit := range d.Fits {
		f.need(!seen[fit.MoldID], fmt.Sprintf("%s.fits[%s]", field, fit.MoldID), "the mold is listed twice; keep one of them")
		seen[fit.MoldID] = true
		ok := fit.Min >= 1 && fit.Min <= fit.Full && fit.Full <= mostPieces && (fit.Step >= 1 || fit.Min == fit.Full)
		f.need(ok, fmt.Sprintf("%s.fits[%s]", field, fit.MoldID), "a mold holds from its smallest to its full number of pieces, in steps of at least 1")
	}
}

// checkSupplies checks that the supplies rise by day.
func (d *Design) checkSupplies(f *faults, field string) {
	var before Supply
	for i, s := range d.Supplies {
		at := fmt.Sprintf("%s.supplies[%d]", field, i)
		f.need(i == 0 && s.From.IsZero() || s.From.Valid(), at+".from", "give the day; only what is there already, which comes first, has none")
		f.need(i == 0 || s.From.After(before.From), at+".from", "it does not come after the step before; put the steps in order of their days")
		if s.Endless {
			f.need(i == len(d.Supplies)-1, at+".endless", "nothing can come after what does for as many pieces as are wanted; take out the steps after it")
			f.need(s.Pieces == 0, at+".pieces", "leave the pieces out where there is no end of them")
		} else {
			f.need(s.Pieces > before.Pieces && s.Pieces <= mostPieces, at+".pieces", "it counts all pieces that can be poured by then; use more than the %d of the step before, and up to %d", before.Pieces, mostPieces)
		}
		before = s
	}
}

func (p *Problem) checkOrders(f *faults) {
	seen, lines := make(map[string]bool, len(p.Orders)), make(map[string]bool, len(p.Orders))
	for i := range p.Orders {
		o := &p.Orders[i]
		f.needAt(o.ID != "" && !seen[o.ID], o.place(), "", "each order needs its own id")
		seen[o.ID] = true
		p.checkOrder(f, o, lines)
	}
}

func (o *Order) place() place { return place{list: "orders", id: o.ID} }

func (p *Problem) checkOrder(f *faults, o *Order, lines map[string]bool) {
	at := o.place()
	f.needAt(o.NeededBy.Valid(), at, ".needed_by", "say by which day it is needed")
	f.needAt(o.HandOver >= 0 && o.HandOver <= mostDays, at, ".hand_over", "use 0 to %d days", mostDays)
	f.needAt(o.Weight >= 1 && o.Weight <= mostCount, at, ".weight", "use 1 to %d", mostCount)
	f.needAt(len(o.Lines) > 0, at, ".lines", "an order needs at least one line")
	for i := range o.Lines {
		l := &o.Lines[i]
		at.inner, at.innerID = "lines", l.ID
		f.needAt(l.ID != "" && !lines[l.ID], at, "", "each line needs its own id")
		lines[l.ID] = true
		if l.Pieces < 1 || l.Pieces > mostPieces {
			f.add(at.String()+".pieces", "%d pieces can not be planned; use 1 to %d", l.Pieces, mostPieces)
		}
		p.checkDesignID(f, at, l.DesignID)
	}
}

func (p *Problem) checkDesignID(f *faults, at place, id string) {
	if p.design(id) == nil {
		f.add(at.String()+".design_id", "there is no design %q", id)
	}
}

func (p *Problem) checkBatches(f *faults) {
	seen := make(map[string]bool, len(p.Batches))
	for i := range p.Batches {
		b := &p.Batches[i]
		at := place{list: "batches", id: b.ID}
		f.needAt(b.ID != "" && !seen[b.ID], at, "", "each batch needs its own id")
		seen[b.ID] = true
		b.check(f, at)
		p.checkUses(f, at, b.Molds)
		p.checkHappened(f, at, b)
		p.checkDesignID(f, at, b.DesignID)
	}
	for _, s := range p.Stock {
		at := place{list: "stock", id: s.ID}
		f.needAt(s.ID != "" && !seen[s.ID], at, "", "stock needs an id of its own")
		seen[s.ID] = true
		f.needAt(s.Pieces >= 0, at, ".pieces", "there can not be fewer than none")
		p.checkDesignID(f, at, s.DesignID)
	}
}

func (b *Batch) check(f *faults, at place) {
	if !slices.Contains([]BatchState{Planned, Poured, Curing}, b.State) {
		f.add(at.String()+".state", "%q is not a state; use planned, poured or curing", b.State)
	}
	f.needAt(b.Pieces >= 0 && b.Pieces <= mostPieces, at, ".pieces", "use 0 to %d", mostPieces)
	if b.Sound < 0 || b.Sound > b.Pieces {
		f.add(at.String()+".sound", "there can be from none to all %d pieces sound", b.Pieces)
	}
	f.needAt(b.State == Planned || !b.Make.From.IsZero() && !b.Make.To.IsZero(), at, ".make", "a poured batch needs the times of its pour")
	f.needAt(b.State != Curing || !b.Cut.From.IsZero() && !b.Cut.To.IsZero(), at, ".cut", "a batch that cures needs the times of its cut")
	for _, i := range b.published() {
		f.needAt(!i.To.Before(i.From), at, "", "a step can not end before it begins")
	}
}

// checkUses checks the molds of a batch. One that the workshop no longer has may
// still hold a batch, and is then listed among the molds with a count of 0.
func (p *Problem) checkUses(f *faults, at place, uses []MoldUse) {
	seen := map[string]bool{}
	for _, use := range uses {
		at.inner, at.innerID = "molds", use.MoldID
		f.needAt(p.moldIndex(use.MoldID) >= 0, at, "", "there is no such mold; list it among the molds, with a count of 0 if it is gone")
		f.needAt(!seen[use.MoldID], at, "", "the mold is listed twice; add the two up")
		seen[use.MoldID] = true
		f.needAt(use.Units >= 1 && use.Units <= mostCount, at, ".units", "%d molds can not be filled; use 1 to %d", use.Units, mostCount)
		f.needAt(use.Pieces >= 0 && use.Pieces <= mostPieces, at, ".pieces", "use 0 to %d", mostPieces)
	}
}

// ClockSlack is how far ahead of Now what happened may lie: facts may have been
// written down by a clock that is not quite the same.
const ClockSlack = 24 * time.Hour

// checkHappened checks that what is said to have happened does not lie ahead.
func (p *Problem) checkHappened(f *faults, at place, b *Batch) {
	latest := p.Now.Add(ClockSlack)
	if b.State != Planned && b.Make.To.After(latest) {
		f.add(at.String()+".make", "a %s batch can not have been poured after now; correct the time, or make it planned", b.State)
	}
	f.needAt(b.State != Curing || !b.Cut.To.After(latest), at, ".cut", "a batch that cures can not have been cut after now; correct the time, or make it poured")
}
