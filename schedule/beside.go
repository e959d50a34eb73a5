package schedule

import (
	"context"
	"slices"

	"ripeline/schedule/solve"
)

// standing is where a lot is in a plan that other work is to be planned beside.
type standing struct {
	job   solve.Job        // as it was stated
	place *solve.Placement // where it went
	trial *solve.Placement // where the trial of its design went, nil for none
}

// beside plans the order named last next to a plan of all others, in which
// nothing moves and no piece changes hands: what is there stays there, and the
// order gets pieces that are free and new batches where there is room.
func (pl *planner) beside(ctx context.Context, stands *draft, po policy) (*draft, error) {
	b := &book{dropped: stands.book.dropped, problems: slices.Clone(stands.book.problems), shelf: stands.shares()}
	b.lots = stands.settled(b.shelf)
	var open []*claim
	for _, c := range pl.claims(po) {
		if c.order.ID == po.last {
			open = append(open, c)
		}
	}
	pl.takeFree(b, open)
	b.lots = append(b.lots, pl.newLots(b, open, po)...)
	po.budget = 1 // a search would move what stands
	return pl.place(ctx, b, po)
}

// shares is who gets what of each source in a plan.
func (d *draft) shares() map[string][]Share {
	out := map[string][]Share{}
	for _, a := range d.plan.Allocations {
		key := a.BatchKey + a.StockID
		out[key] = append(out[key], Share{LineID: a.LineID, Pieces: a.Pieces})
	}
	return out
}

// settled copies the lots of a plan and notes where each is, and for whom. One that found no
// place finds none beside the others either.
func (d *draft) settled(given map[string][]Share) []*lot {
	out := make([]*lot, 0, len(d.model.lots))
	for _, l := range d.model.lots {
		next := *l
		next.served, next.shares = slices.Clip(l.served), given[l.key]
		if place := d.schedule.Jobs[l.job]; place != nil {
			next.stands = &standing{job: d.model.core.Jobs[l.job], place: place}
			if t, ok := d.model.trials[l.design.ID]; ok {
				next.stands.trial = d.schedule.Jobs[t]
			}
		}
		out = append(out, &next)
	}
	return out
}

// takeFree gives the claims what nobody gets of stock and of the standing lots.
func (pl *planner) takeFree(b *book, open []*claim) {
	sources := pl.stock(b, policy{})
	byKey := map[string]*lot{}
	for _, l := range b.lots {
		if l.stands == nil {
			continue
		}
		byKey[l.key] = l
		sources = append(sources, &source{
			key: l.key, designID: l.design.ID, ready: l.stands.place.End(), left: l.sound(l.stands.place), shares: l.shares,
		})
	}
	for _, s := range sources {
		for _, share := range s.shares {
			s.left -= share.Pieces
		}
	}
	newAllotment(open, sources).share(false)
	for _, s := range sources {
		if l := byKey[s.key]; l != nil && !s.stock {
			l.serve(s.served)
		}
	}
}

// sound is the sound pieces of a lot where it was placed.
func (l *lot) sound(place *solve.Placement) int {
	if l.running() {
		return l.batch.Sound
	}
	return l.mixes[place.Mode].sound
}

// stay is the job of a lot that stands: it is where it was, whatever its date.
func (s *standing) stay() solve.Job {
	job := s.job
	job.Due, job.After = solve.Never, nil
	job.Base = fixedAt(s.place)
	return job
}

// fixedAt is a placement as a base that costs nothing and is not left.
func fixedAt(place *solve.Placement) *solve.Base {
	return &solve.Base{Mode: place.Mode, Starts: place.Starts, Moves: make([]int, len(place.Starts))}
}

// keepCauses tells of what stands why it came to be there, and not that it
// stayed.
func (m *model) keepCauses(s *solve.Schedule) {
	for _, l := range m.lots {
		if now := s.Jobs[l.job]; l.stands != nil && now != nil && slices.Equal(now.Starts, l.stands.place.Starts) {
			now.Causes = l.stands.place.Causes
		}
	}
}
