package schedule

import (
	"cmp"
	"slices"
	"time"

	"ripeline/schedule/civil"
)

// DiffPublished is how a plan differs from the one published in p.Batches. Only
// work that has not happened can move.
func DiffPublished(p *Problem, plan *Plan) Diff {
	return diffPublished(p, plan, p.publishedReady())
}

func diffPublished(p *Problem, plan *Plan, published map[string]civil.Date) Diff {
	var d Diff
	batches := plan.byKey()
	for i := range p.Batches {
		b := &p.Batches[i]
		if found := batches[b.ID]; found != nil {
			d.Moves = append(d.Moves, p.moves(b, found)...)
		} else {
			d.Dropped = append(d.Dropped, b.ID)
		}
	}
	for _, b := range plan.Batches {
		if b.New {
			d.Added = append(d.Added, b.Key)
		}
	}
	slices.Sort(d.Dropped)
	slices.Sort(d.Added)
	slices.SortStableFunc(d.Moves, func(a, b Move) int { return cmp.Compare(a.BatchKey, b.BatchKey) })
	d.Late = p.orderChanges(plan, published)
	return d
}

// moves lists the steps of a batch that are still to come and were published
// for another time, or in other molds.
func (p *Problem) moves(b *Batch, now *PlanBatch) []Move {
	var out []Move
	add := func(step Step, from, to Interval, other bool) {
		if !from.From.IsZero() && (other || !from.same(to)) {
			out = append(out, Move{BatchKey: b.ID, Step: step, From: from, To: to, Firm: p.firm(from.From)})
		}
	}
	if b.State == Planned {
		if !now.Trial.From.IsZero() {
			add(StepTrial, b.Trial, now.Trial, false)
		}
		add(StepMake, b.Make, now.Make, !slices.Equal(b.Molds, now.Molds))
	}
	if b.State != Curing {
		add(StepCut, b.Cut, now.Cut, false)
	}
	add(StepWrap, b.Wrap, now.Wrap, false)
	return out
}

// same compares instants, to the minute: published times may carry seconds.
func (i Interval) same(j Interval) bool {
	return i.From.Truncate(time.Minute).Equal(j.From.Truncate(time.Minute)) &&
		i.To.Truncate(time.Minute).Equal(j.To.Truncate(time.Minute))
}

// changes weighs the difference from the published plan.
func changes(p *Problem, plan *Plan, published map[string]civil.Date) int {
	sum, prices := 0, p.movePrices()
	batches, orders := plan.byKey(), p.ordersByID()
	for i := range p.Batches {
		if now := batches[p.Batches[i].ID]; now != nil {
			for _, m := range p.moves(&p.Batches[i], now) {
				sum += prices.of(m.From.From)
			}
		}
	}
	for i := range plan.Orders {
		sum += orders[plan.Orders[i].OrderID].brokenWord(&plan.Orders[i], published)
	}
	return sum
}

// orderChanges lists the orders that are ready on another day than the published
// batches gave them, or later than the customer was told. Where the published
// plan was later than that already, it is what counts.
func (p *Problem) orderChanges(plan *Plan, published map[string]civil.Date) []OrderChange {
	orders := p.ordersByID()
	var out []OrderChange
	for i := range plan.Orders {
		c := orders[plan.Orders[i].OrderID].change(&plan.Orders[i], published)
		if c.OldReady.IsZero() || c.OldReady == c.NewReady {
			continue
		}
		c.OldLate = max(0, c.OldReady.Sub(plan.Orders[i].Deadline))
		out = append(out, c)
	}
	return out
}

// change is what becomes of an order, and whether the customer was told.
func (o *Order) change(now *OrderOutcome, published map[string]civil.Date) OrderChange {
	c := OrderChange{OrderID: o.ID, OldReady: published[o.ID], NewReady: now.Ready, NewLate: now.LateDays}
	broken := now.Ready.IsZero() || now.Ready.After(o.Told)
	if !o.Told.IsZero() && broken && !c.OldReady.After(o.Told) {
		c.OldReady, c.Promised = o.Told, true
	}
	c.Promised = c.Promised || !o.Told.IsZero() && !c.OldReady.Before(o.Told)
	return c
}

// brokenWord is what it costs that an order is ready later than its customer was
// told.
func (o *Order) brokenWord(now *OrderOutcome, published map[string]civil.Date) int {
	c := o.change(now, published)
	if c.Promised && !c.OldReady.IsZero() && c.OldReady != c.NewReady && (c.NewReady.IsZero() || c.NewReady.After(c.OldReady)) {
		return changeTold
	}
	return 0
}

// publishedReady is the day each order would be ready by the published batches
// it has pieces of; orders that lack pieces there are left out.
func (p *Problem) publishedReady() map[string]civil.Date {
	got, ready := make(map[string]int, len(p.Orders)), make(map[string]civil.Date, len(p.Orders))
	for i := range p.Batches {
		b := &p.Batches[i]
		if b.Wrap.To.IsZero() || len(b.For) == 0 {
			continue
		}
		wrapped := civil.Of(b.Wrap.To.Add(-1).In(p.Zone))
		for _, s := range b.For {
			got[s.LineID] += s.Pieces
			ready[s.LineID] = later(ready[s.LineID], wrapped)
		}
	}
	for _, s := range p.Stock {
		for _, f := range s.For {
			got[f.LineID] += f.Pieces
		}
	}
	out := make(map[string]civil.Date, len(p.Orders))
	for _, o := range p.Orders {
		var last civil.Date
		full := true
		for _, l := range o.Lines {
			full = full && got[l.ID] >= l.Pieces
			last = later(last, ready[l.ID])
		}
		if full && !last.IsZero() {
			out[o.ID] = last
		}
	}
	return out
}

func (p *Problem) ordersByID() map[string]*Order {
	out := make(map[string]*Order, len(p.Orders))
	for i := range p.Orders {
		out[p.Orders[i].ID] = &p.Orders[i]
	}
	return out
}

func (p *Problem) order(id string) *Order {
	for i := range p.Orders {
		if p.Orders[i].ID == id {
			return &p.Orders[i]
		}
	}
	return nil
}
