package schedule

import (
	"slices"

	"ripeline/schedule/solve"
)

// book is the demand cut into lots.
type book struct {
	lots     []*lot
	dropped  []string
	problems []Reason
	shelf    map[string][]Share // who gets the stock, nil where that is as the problem says
}

// book nets the claims against stock, running and published batches, drops the
// published ones that are not needed, and makes new lots for the rest.
func (pl *planner) book(po policy) *book {
	b := &book{}
	open := pl.claims(po)
	sources := pl.stock(b, po)
	planned := pl.plannedLots(b, po)
	if !po.spare {
		planned = pl.dropUnneeded(b, planned, open)
	}
	for i := range pl.problem.Batches {
		if batch := &pl.problem.Batches[i]; batch.State != Planned {
			planned = append(planned, pl.lotOf(batch))
		}
	}
	byKey := map[string]*lot{}
	for _, l := range planned {
		byKey[l.key] = l
		sources = append(sources, pl.source(l, po))
	}
	a := newAllotment(open, sources)
	if !po.pool {
		a.keep()
	}
	a.share(false)
	for _, s := range sources {
		if l := byKey[s.key]; l != nil && !s.stock {
			l.serve(s.served)
		}
	}
	b.lots = append(planned, pl.newLots(b, open, po)...)
	return b
}

// serve notes whom a lot serves, which makes it due.
func (l *lot) serve(served []*claim) {
	for _, c := range served {
		l.served = append(l.served, c)
		if l.due.IsZero() || c.deadline.Before(l.due) {
			l.due = c.deadline
		}
	}
}

func (pl *planner) lotOf(b *Batch) *lot {
	return &lot{key: b.ID, design: pl.designs[b.DesignID], batch: b, pinned: b.Pinned, shares: b.For, expected: pl.expected(b)}
}

// plannedLots lists the published batches that may still be poured.
func (pl *planner) plannedLots(b *book, po policy) []*lot {
	out := make([]*lot, 0, len(pl.problem.Batches))
	for i := range pl.problem.Batches {
		batch := &pl.problem.Batches[i]
		if batch.State != Planned {
			continue
		}
		l := pl.lotOf(batch)
		l.mixes = pl.publishedMixes(l)
		recut := po.recut && pl.problem.moldsOut(batch)
		if why := pl.unplannable(l.design, pl.sizers[batch.DesignID]); recut || why != "" || len(l.mixes) == 0 {
			b.dropped = append(b.dropped, batch.ID)
			continue
		}
		out = append(out, l)
	}
	return out
}

// publishedMixes is the published molds of a batch where they still will do, and
// then other ways to get as many sound pieces.
func (pl *planner) publishedMixes(l *lot) []mix {
	published := mix{molds: l.batch.Molds, pieces: l.batch.Pieces, sound: l.batch.Sound}
	if published.sound == 0 {
		published.sound = l.design.sound(published.pieces)
	}
	others := pl.sizers[l.design.ID].mixesOf(published.sound)
	out := make([]mix, 0, 1+len(others))
	if !pl.problem.pourable(l.design, l.batch) {
		return append(out, others...)
	}
	out = append(out, published)
	for _, x := range others {
		if !slices.Equal(x.molds, published.molds) {
			out = append(out, x)
		}
	}
	return out
}

// pourable reports whether the design still fits the molds of a batch, and the
// workshop has that many.
func (p *Problem) pourable(d *Design, b *Batch) bool {
	sum := 0
	for _, use := range b.Molds {
		i := p.moldIndex(use.MoldID)
		fits := slices.ContainsFunc(d.Fits, func(f Fit) bool {
			return f.MoldID == use.MoldID && f.attainable(use.Units, use.Pieces)
		})
		if i < 0 || p.Molds[i].Count < use.Units || !fits {
			return false
		}
		sum += use.Pieces
	}
	return sum == b.Pieces && sum > 0
}

// source is the pieces of a lot, ready at a given minute.
func (pl *planner) source(l *lot, po policy) *source {
	s := &source{key: l.key, designID: l.design.ID, ready: l.expected, shares: l.shares, spare: po.spare && l.running()}
	if len(l.mixes) > 0 {
		s.left = l.mixes[0].sound
	} else {
		s.left = l.batch.Sound
	}
	return s
}

func (pl *planner) stock(b *book, po policy) []*source {
	var out []*source
	for _, s := range pl.problem.Stock {
		shares := s.For
		if b.shelf != nil {
			shares = b.shelf[s.ID]
		}
		out = append(out, &source{
			key: s.ID, stock: true, designID: s.DesignID, ready: -solve.Never, left: s.Pieces, shares: shares, spare: po.spare,
		})
	}
	return out
}

// expected is when a batch would be ready as published, or else after its cure
// from now.
func (pl *planner) expected(b *Batch) solve.Time {
	switch {
	case !b.Wrap.To.IsZero():
		return max(pl.tl.now, pl.tl.ceil(b.Wrap.To))
	case b.State == Curing:
		return pl.tl.dayStart(later(pl.tl.day(b.Cut.From).AddDays(pl.designs[b.DesignID].CureTarget), b.CureUntil))
	}
	return pl.tl.dayStart(pl.tl.today.AddDays(pl.designs[b.DesignID].CureTarget + 1))
}
